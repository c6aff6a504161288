//! `berthage calibrate`: what the guests of a running host really hold.

use super::write::{Outputs, Replace};
use super::{Reply, add_given, both, calibrate_guests, call_error, inputs, one_host, rewritten};
use crate::calibrate::answer::answer;
use crate::calibrate::cautions::CalibrateCaution;
use crate::calibrate::estimate::estimate;
use crate::calibrate::guests::lines::are_guests;
use crate::calibrate::question::{Question, can_be_calibrated};
use crate::calibrate::readings;
use crate::cli::CalibrateArgs;
use crate::diagnose::Diagnostics;
use crate::inventory::load;
use crate::lab::Lab;
use crate::lab::keys::Command;
use crate::model::footprint::Age;
use crate::report::calibrate::Copy;
use crate::report::{self, chart};
use crate::sizing::answer::Outcome;
use crate::sizing::host::HostModel;

pub(super) fn run(args: &CalibrateArgs) -> Result<Reply, Diagnostics> {
    let lab = load(&args.lab, &args.common.sets)?;
    let text = super::readings::text(&args.readings).map_err(Diagnostics::from);
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
    let failed = |error| Diagnostics::new(readings.sources.clone(), vec![error]);
    let found = estimate(&question).map_err(failed)?;
    let answer = answer(&question, &readings, &found, args.draws.asked());
    let chart = args.chart.as_ref();
    let chart = chart.map(|path| (chart::calibrate::chart(&question, &found, &answer), path));
    // Both files are made before either is written.
    let is_doubted = answer.cautions.iter().any(CalibrateCaution::doubts_numbers);
    let copy = args.write.as_ref().filter(|_| !is_doubted);
    let copy = copy.map(|path| rewritten::text(args, path, &question, &found, &answer));
    let copy = copy.transpose()?;
    let mut read = inputs(&lab, &args.lab);
    read.push(args.readings.clone());
    let mut files = Outputs::default();
    if let Some((chart, path)) = &chart {
        files = files.picture(path, chart);
    }
    if let Some((path, text)) = args.write.as_ref().zip(copy) {
        files = files.with(path, text, Replace::Anything);
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
    let outcome = Outcome::of(!is_doubted || args.write.is_none());
    Ok(Reply::new(&answer, document, outcome, read).with(files))
}

/// Place of the guest that is asked about; the only one where none is named.
fn guest(lab: &Lab, name: Option<&str>) -> Result<usize, Diagnostics> {
    let place = match name {
        Some(name) => lab.guests.iter().position(|guest| guest.name == name),
        None => (lab.guests.len() == 1).then_some(0),
    };
    let place = place.ok_or_else(|| call_error::unknown_guest(name, lab))?;
    let guest = &lab.guests[place];
    if can_be_calibrated(guest) {
        return Ok(place);
    }
    Err(call_error::fixed_guest(guest).into())
}
