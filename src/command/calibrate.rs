//! `berthage calibrate`: what the guests of a running host really hold.

use std::io;
use std::path::Path;

use super::options::one_host;
use super::picture::apart;
use super::write::{can_write, write_picture, write_whole};
use super::{Reply, add_given, inputs, rewritten, together};
use crate::calibrate::answer::answer;
use crate::calibrate::estimate::estimate;
use crate::calibrate::question::{Question, can_be_calibrated};
use crate::calibrate::{error, readings};
use crate::cli::CalibrateArgs;
use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind, source::Sources, suggest};
use crate::inventory::load;
use crate::lab::Lab;
use crate::lab::keys::Command;
use crate::model::footprint::Age;
use crate::pipe;
use crate::report;
use crate::sizing::answer::Outcome;
use crate::sizing::host::HostModel;

/// Largest file of readings `[B]`.
const LARGEST_FILE: u64 = 16 * 1024 * 1024;

pub(super) fn run(args: &CalibrateArgs) -> Result<Reply, Diagnostics> {
    let lab = load(&args.lab, &args.common.sets)?;
    // What is wrong with the call is told at once.
    let (host, guest, text) = (
        one_host(&lab, &args.common),
        guest(&lab, args.guest.as_deref()),
        text(&args.readings),
    );
    let (host, guest, text) = match (host, guest, text) {
        (Ok(host), Ok(guest), Ok(text)) => (host, guest, text),
        (host, guest, text) => return Err(together([host.err(), guest.err(), text.err()])),
    };
    let visible = HostModel::new(&lab, host).visible;
    let name = args.readings.display().to_string();
    let readings = readings::read(&name, &text, visible)?;
    let question = Question {
        lab: &lab,
        // `hosts_asked` hands out hosts of this lab.
        host: lab
            .hosts
            .iter()
            .position(|one| one.name == host.name)
            .unwrap_or(0),
        guest,
        age: if args.fresh { Age::Fresh } else { Age::LivedIn },
        readings: &readings.list,
        held_out: args.hold_out,
    };
    let found = estimate(&question).map_err(|error| error::report(&readings.sources, &[error]))?;
    let answer = answer(&question, &readings, &found);
    let chart = args.chart.as_ref().map(|path| {
        (
            path,
            report::calibrate_chart::chart(&question, &found, &answer),
        )
    });
    // Both files are made before either is written.
    let new = match &args.write {
        Some(path) => Some((
            path,
            rewritten::text(args, path, &question, &found, &answer)?,
        )),
        None => None,
    };
    let mut read = inputs(&lab, &args.lab);
    read.push(args.readings.clone());
    if let Some((path, chart)) = &chart {
        apart(path, &args.common.output)?;
        can_write(path, &read)?;
        write_picture(path, chart)?;
    }
    if let Some((path, text)) = &new {
        write_whole(path, text.as_bytes())?;
    }
    let drawn = chart.map(|(path, chart)| (chart, path.display().to_string()));
    let written = new.map(|(path, _)| path.display().to_string());
    let mut document = report::calibrate::document(&answer, drawn, written.as_deref());
    add_given(
        &mut document,
        &args.common.output,
        &lab,
        &[host],
        Command::Calibrate,
    );
    Ok(Reply::new(&answer, document, Outcome::Fits, read))
}

fn alone(error: Diagnostic) -> Diagnostics {
    Diagnostics::new(Sources::default(), vec![error])
}

/// Place of the guest that is asked about; the only one where none is named.
fn guest(lab: &Lab, name: Option<&str>) -> Result<usize, Diagnostics> {
    let names = || lab.guests.iter().map(|guest| guest.name.as_str());
    let place = match name {
        Some(name) => names().position(|known| known == name),
        None => (lab.guests.len() == 1).then_some(0),
    };
    let Some(place) = place else {
        let message = match name {
            Some(name) => format!("--guest {name:?} names no guest of the lab"),
            None => "the lab has several guests, and the readings count one of them".to_owned(),
        };
        let near = name.and_then(|name| suggest::closest(name, names()));
        return Err(alone(
            Diagnostic::new(ErrorKind::UnknownGuest, message)
                .hint(near.map_or_else(String::new, |near| format!("did you mean {near:?}?")))
                .hint(format!(
                    "name one with --guest: {}",
                    suggest::list(names(), 20)
                )),
        ));
    };
    if !can_be_calibrated(&lab.guests[place]) {
        let message = format!(
            "{:?} is a container, pinned or from reserved huge pages",
            lab.guests[place].name
        );
        return Err(alone(Diagnostic::new(ErrorKind::UnknownGuest, message).hint(
            "what such a guest takes is given, or shared in another way; name a virtual machine",
        )));
    }
    Ok(place)
}

/// The text of the readings.
fn text(path: &Path) -> Result<String, Diagnostics> {
    let name = path.display();
    let bytes = match pipe::read(path, LARGEST_FILE) {
        Ok(bytes) => bytes,
        Err(error) => {
            let message = match error.kind() {
                io::ErrorKind::NotFound => format!("there is no file of readings `{name}`"),
                io::ErrorKind::IsADirectory => {
                    format!("the readings `{name}` are a directory, not a file")
                }
                io::ErrorKind::PermissionDenied => {
                    format!("the readings `{name}` may not be read by you")
                }
                _ => format!("the readings `{name}` cannot be read: {error}"),
            };
            return Err(alone(Diagnostic::new(ErrorKind::UnreadableFile, message).hint(
                "give a file as `survey --reading --output FILE` writes it, or a table from a spreadsheet",
            )));
        }
    };
    if bytes.len() as u64 > LARGEST_FILE {
        return Err(alone(
            Diagnostic::new(
                ErrorKind::FileTooLarge,
                format!("the readings `{name}` are larger than 16 MiB"),
            )
            .hint("a few dozen readings say as much"),
        ));
    }
    let wide = bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]);
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let what = if wide {
            "it is UTF-16".to_owned()
        } else {
            format!("byte {at} is none of it")
        };
        alone(
            Diagnostic::new(
                ErrorKind::NotUtf8,
                format!("the readings `{name}` are no UTF-8 text: {what}"),
            )
            .hint("save the sheet as CSV in UTF-8"),
        )
    })
}
