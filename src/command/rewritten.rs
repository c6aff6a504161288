//! The copy of an inventory with the calibrated values in it.

use std::fs;
use std::path::Path;

use super::file_error;
use super::place::is_same;
use crate::calibrate::answer::CalibrateAnswer;
use crate::calibrate::apply::{self, Change, STEP};
use crate::calibrate::estimate::Estimate;
use crate::calibrate::estimates::{EstimateAnswer, Provenance};
use crate::calibrate::question::Question;
use crate::cli::CalibrateArgs;
use crate::diagnose::Diagnostic;
use crate::inventory::load_text;
use crate::inventory::rewrite::{Edit, rewrite};
use crate::lab::{Guest, key_path};
use crate::pipe;
use crate::unit::format;
use crate::unit::printable::printable;

/// Bytes written are put into the lab only after so long: shorter ones miss the nightly jobs `[s]` (assumption).
const LONG_ENOUGH: f64 = 3600.0;

/// The text for `path`.
pub(super) fn text(
    args: &CalibrateArgs,
    path: &Path,
    question: &Question,
    found: &Estimate,
    answer: &CalibrateAnswer,
) -> Result<String, Diagnostic> {
    let old = original(args, path)?;
    let edits = edits(args, question, found, answer);
    let wanted = &found.fit.calibrated.lab.guests[question.guest];
    let mut wrong = file_error::other_values();
    // What the readings do not determine is left as written, unless its value would then differ from the one used.
    for kept in [undetermined(question, found, answer), Vec::new()] {
        let put = edits.iter().filter(|edit| !kept.contains(&edit.key()));
        let new = rewrite(&old, &put.cloned().collect::<Vec<Edit>>())
            .map_err(|why| file_error::no_place(&args.lab, &why))?;
        // Relative includes are read from where the copy lies, so that is where it is tried.
        match load_text(&path.display().to_string(), &new, &args.common.sets) {
            Ok(lab) if lab.guests.iter().any(|guest| has_values(guest, wanted)) => return Ok(new),
            Ok(_) => wrong = file_error::other_values(),
            Err(errors) => wrong = file_error::invalid_copy(&errors),
        }
    }
    Err(wrong)
}

/// The text of the lab, if a copy of it can be written to `path`.
pub(super) fn original(args: &CalibrateArgs, path: &Path) -> Result<String, Diagnostic> {
    if is_same(path, &args.readings) {
        return Err(file_error::is_input(path));
    }
    if path.exists() && !args.force {
        return Err(file_error::exists(path));
    }
    if !pipe::is_plain(&args.lab) {
        return Err(file_error::read_once(&args.lab));
    }
    fs::read_to_string(&args.lab).map_err(|error| file_error::unreadable_lab(&args.lab, &error))
}

/// A size of a guest `[B]`.
type Size = fn(&Guest) -> f64;

/// Keys of a guest that an estimate may change.
const KEYS: [(&str, Size); 4] = [
    ("touched", |guest| guest.touched),
    ("touched_busy", |guest| guest.touched_busy),
    ("common", |guest| guest.common),
    ("repeats", |guest| guest.repeats),
];

/// Whether two guests have the same size by a key, to the last digit that is written.
fn is_equal(size: Size, one: &Guest, other: &Guest) -> bool {
    (size(one) - size(other)).abs() <= STEP
}

/// Whether a guest of the copy holds what was counted with.
fn has_values(guest: &Guest, wanted: &Guest) -> bool {
    let mut sizes = KEYS.iter().map(|(_, size)| *size);
    guest.name == wanted.name && sizes.all(|size| is_equal(size, guest, wanted))
}

/// Keys that the readings say nothing about and that stay as they are.
fn undetermined(
    question: &Question,
    found: &Estimate,
    answer: &CalibrateAnswer,
) -> Vec<&'static str> {
    let (old, calibrated) = (question.guest(), &found.fit.calibrated);
    let new = &calibrated.lab.guests[question.guest];
    let kept = KEYS.into_iter().filter(|(key, size)| {
        let estimate = answer.estimates.get(key);
        let is_from_lab = estimate.is_some_and(|estimate| estimate.from == Provenance::Lab);
        is_from_lab && is_equal(*size, old, new)
    });
    kept.map(|(key, _)| key).collect()
}

/// The values to put into the copy.
fn edits(
    args: &CalibrateArgs,
    question: &Question,
    found: &Estimate,
    answer: &CalibrateAnswer,
) -> Vec<Edit> {
    let guest = ["guest", &question.guest().name];
    let memory = ["host", &question.host().name, "memory"];
    let file = args.readings.file_name();
    let file = file.unwrap_or(args.readings.as_os_str()).to_string_lossy();
    let file = printable(&file);
    let readings = format::plural(question.readings.len() as u64, "reading", "readings");
    let edit = |change: &Change| {
        let (key, text) = (change.key, &change.text);
        let table: &[&str] = if key == "base" { &memory } else { &guest };
        let estimate = answer.estimates.get(key);
        let estimate = estimate.filter(|estimate| estimate.from != Provenance::Lab);
        let interval = estimate.map_or_else(|| "follows from the others".to_owned(), interval);
        Edit {
            path: key_path(&[table, &[key]].concat()),
            value: format!("\"{text}\""),
            range: estimate.map(|estimate| range(change, estimate)),
            comment: format!("{key}: calibrated from {file}, {readings}; {interval}"),
        }
    };
    let sizes = found.fit.calibrated.changes.iter().map(edit);
    let written = answer.written.iter();
    let written = written.filter(|written| written.seconds >= LONG_ENOUGH);
    let written = written.map(|written| {
        let daily = |rate: f64| format!("\"{:.3} GB/day\"", rate / 1e9);
        let (high, seconds) = (written.high, format::seconds(written.seconds));
        Edit {
            path: key_path(&[guest[0], guest[1], "written"]),
            value: daily(written.value),
            // One stretch of time alone gives no upper end.
            range: high.map(|high| [written.low, written.value, high].map(daily)),
            comment: format!("written: calibrated from {file}, over {seconds}"),
        }
    });
    sizes.chain(written).collect()
}

/// The interval of an estimate, in words.
fn interval(estimate: &EstimateAnswer) -> String {
    let condition = match estimate.from {
        Provenance::Both => " as far as the other numbers of the lab are right",
        _ => "",
    };
    let (low, high) = (format::bytes(estimate.low), format::bytes(estimate.high));
    format!("between {low} and {high} nine times of ten{condition}")
}

/// Low, likely and high as they are written: outwards, so that nothing of the interval is lost, but never past the value
/// itself.
fn range(change: &Change, estimate: &EstimateAnswer) -> [String; 3] {
    let low = (estimate.low.min(change.value) / STEP).floor();
    let high = (estimate.high.max(change.value) / STEP).floor();
    let most = (change.value / STEP).round();
    let ends = [low.min(most), high.max(most)].map(apply::written);
    [&ends[0], &change.text, &ends[1]].map(|text| format!("\"{text}\""))
}
