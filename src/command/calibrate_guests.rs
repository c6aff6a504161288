//! `berthage calibrate` with lines of guests: a profile of each kind.

use std::path::Path;

use super::rewritten::original;
use super::write::{Outputs, Replace};
use super::{Reply, add_given, call_error, file_error, inputs, one_host, readings};
use crate::calibrate::guests::answer::{GuestsAnswer, answer, correlation_alone};
use crate::calibrate::guests::estimates::Estimated;
use crate::calibrate::guests::lines::{Record, are_guests, read};
use crate::calibrate::guests::table;
use crate::cli::CalibrateArgs;
use crate::diagnose::{Diagnostic, Diagnostics};
use crate::inventory::load_text;
use crate::inventory::rewrite::{Edit, has_table, rewrite};
use crate::lab::keys::Command;
use crate::lab::{Guest, Lab, key_path};
use crate::report;
use crate::report::calibrate::Copy;
use crate::sizing::answer::Outcome;
use crate::unit::format;
use crate::unit::printable::printable;

pub(super) fn run(args: &CalibrateArgs, lab: &Lab, text: &str) -> Result<Reply, Diagnostics> {
    refuse_options(args)?;
    let host = one_host(lab, &args.common)?;
    let mut names = lab.hosts.iter().map(|one| &one.name);
    // `one_host` hands out a host of this lab.
    let place = names.position(|name| *name == host.name).unwrap_or(0);
    let record = record(&args.readings, text, &lab.guests)?;
    let (answer, changed) = answer(lab, place, record, args.draws.asked());
    let copy = args.write.as_ref();
    let copy =
        copy.map(|path| Ok::<_, Diagnostics>((path, copied(args, path, lab, &answer, &changed)?)));
    let files = copy
        .transpose()?
        .map(|(path, text)| Outputs::default().with(path, text, Replace::Anything));
    let written = args.write.as_ref().map(|path| Copy {
        path: path.display().to_string(),
        is_doubted: false,
    });
    let mut document = report::guests::document(&answer, written.as_ref());
    add_given(
        &mut document,
        &args.common,
        lab,
        &[host],
        Command::Calibrate,
    );
    let mut read = inputs(lab, &args.lab);
    read.push(args.readings.clone());
    let reply = Reply::new(&answer, document, Outcome::Fits, read);
    Ok(reply.with(files.unwrap_or_default()))
}

/// The text of a file that has to hold lines of guests.
pub(super) fn lines(file: &Path) -> Result<String, Diagnostics> {
    let text = readings::text(file)?;
    if are_guests(&text) {
        return Ok(text);
    }
    Err(call_error::no_lines(file).into())
}

/// The lines of guests in a file; a kind that neither the lines nor the lab give any memory is refused.
pub(super) fn record(file: &Path, text: &str, known: &[Guest]) -> Result<Record, Diagnostics> {
    let record = read(&file.display().to_string(), text)?.by_names(known);
    let without = record.guests.iter().find(|guest| {
        let mut alike = record
            .guests
            .iter()
            .filter(|other| other.kind == guest.kind);
        let is_known = known.iter().any(|known| known.name == guest.kind);
        !is_known && alike.all(|other| other.memory.is_none())
    });
    match without {
        None => Ok(record),
        Some(guest) => Err(call_error::no_memory(&guest.kind).into()),
    }
}

/// Options that are about readings of the host say nothing about lines of guests.
fn refuse_options(args: &CalibrateArgs) -> Result<(), Diagnostic> {
    let given = [
        ("--guest", args.guest.is_some()),
        ("--fresh", args.fresh),
        ("--hold-out", args.hold_out > 0),
        ("--chart", args.chart.is_some()),
    ];
    match given.into_iter().find(|(_, given)| *given) {
        None => Ok(()),
        Some((option, _)) => Err(call_error::for_host_readings(option, &args.readings)),
    }
}

/// How a number is known, as a comment.
pub(super) fn comment(one: &Estimated) -> String {
    let lab = match one.from {
        crate::calibrate::estimates::Provenance::Both => ", as far as the rest of the lab is right",
        _ => "",
    };
    format!("{}{lab}", one.how)
}

/// The edit that puts a correlation into the policy.
fn policy_edit(one: &Estimated, file: &str) -> Edit {
    let [low, value, high] = [one.low, one.value, one.high].map(format::number);
    Edit {
        path: key_path(&["policy", "correlation"]),
        comment: format!("correlation: calibrated from {file}, {}", comment(one)),
        value: value.clone(),
        range: (low != high).then_some([low, value, high]),
    }
}

/// What all guests have in common in time: an edit, or tables for the end of the file.
fn common(
    lab: &Lab,
    answer: &GuestsAnswer,
    old: &str,
    file: &str,
    edits: &mut Vec<Edit>,
) -> String {
    let periods = match lab.periods.is_empty() {
        true => table::periods(&answer.periods, file),
        false => String::new(),
    };
    let Some(one) = correlation_alone(lab, &answer.periods, answer.correlation) else {
        return periods;
    };
    let edit = policy_edit(&one, file);
    if has_table(old, "policy") {
        edits.push(edit);
        return periods;
    }
    let (comment, given) = (&edit.comment, edit.given());
    format!("{periods}\n[policy]\n# {comment}\n{given}\n")
}

/// The copy of the lab: known kinds get their values in place, new ones a table at the end.
fn copied(
    args: &CalibrateArgs,
    path: &Path,
    lab: &Lab,
    answer: &GuestsAnswer,
    changed: &Lab,
) -> Result<String, Diagnostics> {
    let old = original(args, path)?;
    let file = args
        .readings
        .file_name()
        .unwrap_or(args.readings.as_os_str());
    let file = printable(&file.to_string_lossy());
    let (mut edits, mut added) = (Vec::new(), String::new());
    for profile in &answer.profiles {
        let guest = changed
            .guests
            .iter()
            .find(|guest| guest.name == profile.guest);
        let Some(guest) = guest else { continue };
        if profile.added {
            added.push('\n');
            added.push_str(&table::profile(profile, guest, &file, comment));
            continue;
        }
        let how = |one: &Estimated| format!("calibrated from {file}, {}", comment(one));
        edits.extend(table::edits(profile, guest, how));
    }
    let first = common(lab, answer, &old, &file, &mut edits);
    added.insert_str(0, &first);
    let new = rewrite(&old, &edits).map_err(|why| file_error::no_place(&args.lab, &why))?;
    let end = if new.ends_with('\n') || new.is_empty() {
        ""
    } else {
        "\n"
    };
    let added = if new.contains("\r\n") {
        added.replace('\n', "\r\n")
    } else {
        added
    };
    let new = format!("{new}{end}{added}");
    load_text(&path.display().to_string(), &new, &args.common.sets)
        .map_err(|errors| file_error::invalid_copy(&errors))?;
    Ok(new)
}
