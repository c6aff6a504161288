//! `berthage calibrate`: what the guests of a running host really hold.

use std::io;
use std::path::Path;

use super::write::{spare_inputs, write_picture, write_whole};
use super::{Reply, add_given, both, calibrate_guests, inputs, one_host, rewritten};
use crate::calibrate::answer::answer;
use crate::calibrate::cautions::CalibrateCaution;
use crate::calibrate::estimate::estimate;
use crate::calibrate::guests::lines::are_guests;
use crate::calibrate::question::{Question, can_be_calibrated};
use crate::calibrate::{error, readings};
use crate::cli::CalibrateArgs;
use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind, suggest};
use crate::inventory::load;
use crate::lab::Lab;
use crate::lab::keys::Command;
use crate::model::footprint::Age;
use crate::pipe;
use crate::report::calibrate::Copy;
use crate::report::{self, chart};
use crate::sizing::answer::Outcome;
use crate::sizing::host::HostModel;

/// Largest file of readings `[B]`: two days of 20 guests every 10 s are 45 MiB.
const LARGEST_FILE: u64 = 128 * 1024 * 1024;

pub(super) fn run(args: &CalibrateArgs) -> Result<Reply, Diagnostics> {
    let lab = load(&args.lab, &args.common.sets)?;
    let text = text(&args.readings);
    if let Ok(text) = &text
        && are_guests(text)
    {
        return calibrate_guests::run(args, &lab, text);
    }
    // What is wrong with the call is told at once.
    let (host, guest) = (
        one_host(&lab, &args.common),
        guest(&lab, args.guest.as_deref()),
    );
    let ((host, guest), text) = both(both(host, guest), text)?;
    let visible = HostModel::new(&lab, host).visible;
    let name = args.readings.display().to_string();
    let mut readings = readings::read(&name, &text, visible)?;
    readings.beside(&lab, guest)?;
    let mut names = lab.hosts.iter().map(|one| &one.name);
    let question = Question {
        lab: &lab,
        // `hosts_asked` hands out hosts of this lab.
        host: names.position(|name| *name == host.name).unwrap_or(0),
        guest,
        age: if args.fresh { Age::Fresh } else { Age::LivedIn },
        readings: &readings.list,
        held_out: args.hold_out,
    };
    let found = estimate(&question).map_err(|error| error::report(&readings.sources, &[error]))?;
    let answer = answer(&question, &readings, &found);
    let chart = args.chart.as_ref();
    let chart = chart.map(|path| (chart::calibrate::chart(&question, &found, &answer), path));
    // Both files are made before either is written.
    let is_doubted = answer.cautions.iter().any(CalibrateCaution::doubts_numbers);
    let copy = args.write.as_ref().filter(|_| !is_doubted);
    let copy = copy.map(|path| rewritten::text(args, path, &question, &found, &answer));
    let copy = copy.transpose()?;
    let mut read = inputs(&lab, &args.lab);
    read.push(args.readings.clone());
    if let Some((chart, path)) = &chart {
        spare_inputs(path, &read)?;
        write_picture(path, chart)?;
    }
    let written = args.write.as_ref().zip(copy);
    if let Some((path, text)) = &written {
        write_whole(path, text.as_bytes())?;
    }
    let drawn = chart.map(|(chart, path)| (chart, path.display().to_string()));
    let written = args.write.as_ref().map(|path| Copy {
        path: path.display().to_string(),
        is_doubted,
    });
    let mut document = report::calibrate::document(&answer, drawn, written.as_ref());
    let common = &args.common;
    add_given(&mut document, common, &lab, &[host], Command::Calibrate);
    // A copy that was asked for and not made is not what was asked for.
    let outcome = if is_doubted && args.write.is_some() {
        Outcome::DoesNotFit
    } else {
        Outcome::Fits
    };
    Ok(Reply::new(&answer, document, outcome, read))
}

/// Place of the guest that is asked about; the only one where none is named.
fn guest(lab: &Lab, name: Option<&str>) -> Result<usize, Diagnostics> {
    let names = || lab.guests.iter().map(|guest| guest.name.as_str());
    let unknown = |message| Diagnostic::new(ErrorKind::UnknownGuest, message);
    let place = match name {
        Some(name) => names().position(|known| known == name),
        None => (lab.guests.len() == 1).then_some(0),
    };
    let Some(place) = place else {
        let message = match name {
            Some(name) => format!("--guest {name:?} names no guest of the lab"),
            None => "the lab has several guests, and the readings count one of them".to_owned(),
        };
        let known = suggest::list(names(), 20);
        return Err(unknown(message)
            .hint_near(name.unwrap_or_default(), names())
            .hint(format!("name one with --guest: {known}"))
            .into());
    };
    let guest = &lab.guests[place];
    if can_be_calibrated(guest) {
        return Ok(place);
    }
    let name = &guest.name;
    let message = format!("{name:?} is a container, pinned or from reserved huge pages");
    let hint = "what such a guest takes is given, or shared in another way; name a virtual machine";
    Err(unknown(message).hint(hint).into())
}

/// The text of the readings.
fn text(path: &Path) -> Result<String, Diagnostics> {
    let name = path.display();
    let error = |kind, message, hint: &str| Diagnostic::new(kind, message).hint(hint);
    let bytes = pipe::read(path, LARGEST_FILE).map_err(|why| {
        let message = match why.kind() {
            io::ErrorKind::NotFound => format!("there is no file of readings `{name}`"),
            io::ErrorKind::IsADirectory => {
                format!("the readings `{name}` are a directory, not a file")
            }
            io::ErrorKind::PermissionDenied => {
                format!("the readings `{name}` may not be read by you")
            }
            _ => format!("the readings `{name}` cannot be read: {why}"),
        };
        let hint =
            "give a file as `survey --reading --output FILE` writes it, or a table from a spreadsheet";
        error(ErrorKind::UnreadableFile, message, hint)
    })?;
    if bytes.len() as u64 > LARGEST_FILE {
        let message = format!("the readings `{name}` are larger than 128 MiB");
        let hint =
            "a few dozen readings of a host, or lines of guests taken less often, say as much";
        return Err(error(ErrorKind::FileTooLarge, message, hint).into());
    }
    let is_wide = bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]);
    let text = String::from_utf8(bytes).map_err(|why| {
        let what = match why.utf8_error().valid_up_to() {
            _ if is_wide => "it is UTF-16".to_owned(),
            at => format!("byte {at} is none of it"),
        };
        let message = format!("the readings `{name}` are no UTF-8 text: {what}");
        error(
            ErrorKind::NotUtf8,
            message,
            "save the sheet as CSV in UTF-8",
        )
    })?;
    Ok(text)
}
