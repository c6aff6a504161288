//! The copy of an inventory with the calibrated values in it.

use std::fs;
use std::path::{Path, PathBuf};

use crate::calibrate::answer::CalibrateAnswer;
use crate::calibrate::apply::{self, Change, STEP};
use crate::calibrate::estimate::Estimate;
use crate::calibrate::estimates::Provenance;
use crate::calibrate::question::Question;
use crate::cli::CalibrateArgs;
use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind, source::Sources};
use crate::inventory::load_text;
use crate::inventory::rewrite::{Edit, rewrite};
use crate::lab::{Guest, key_path};
use crate::pipe;
use crate::unit::format;

/// Bytes written are put into the lab only after so long: shorter looks miss the nightly jobs `[s]` (assumption).
const LONG_ENOUGH: f64 = 3600.0;

/// The text for `path`.
pub(super) fn text(
    args: &CalibrateArgs,
    path: &Path,
    question: &Question,
    found: &Estimate,
    answer: &CalibrateAnswer,
) -> Result<String, Diagnostics> {
    let same = |other: &Path| match (fs::canonicalize(path), fs::canonicalize(other)) {
        (Ok(path), Ok(other)) => path == other,
        _ => false,
    };
    if same(&args.readings) {
        return refuse(
            ErrorKind::WouldOverwrite,
            format!("{} holds the readings", path.display()),
            "choose another name for --write; nothing was written",
        );
    }
    if path.exists() && !args.force {
        return refuse(
            ErrorKind::WouldOverwrite,
            format!("{} is there already", path.display()),
            "choose another name, or say --force",
        );
    }
    if !pipe::is_plain(&args.lab) {
        return refuse(
            ErrorKind::UnreadableFile,
            format!(
                "{} can be read only once, and --write copies it",
                args.lab.display()
            ),
            "give --write a lab that is a plain file; nothing was written",
        );
    }
    let old = fs::read_to_string(&args.lab).or_else(|error| {
        refuse(
            ErrorKind::UnreadableFile,
            format!("{} cannot be read again: {error}", args.lab.display()),
            "give --write a lab that is a file",
        )
    })?;
    let edits = edits(args, question, found, answer);
    let wanted = &found.fit.calibrated.lab.guests[question.guest];
    // What the readings do not tell stays as it stands, unless it would then say something else than was counted with.
    let mut kept: Vec<&'static str> = undetermined(question, found, answer);
    loop {
        let put: Vec<Edit> = edits
            .iter()
            .filter(|edit| !kept.contains(&edit.key()))
            .cloned()
            .collect();
        let new = rewrite(&old, &put).or_else(|why| {
            no_place(&format!(
                "{} cannot take the values: {why}",
                args.lab.display()
            ))
        })?;
        // Relative includes are read from where the copy lies, so that is where it is tried.
        let lab =
            load_text(&path.display().to_string(), &new, &args.common.sets).or_else(|errors| {
                no_place(&format!(
                    "the copy would be no valid inventory: {}",
                    errors.list().first().map_or("", |error| &error.message)
                ))
            });
        let lab = match lab {
            Err(_) if !kept.is_empty() => {
                kept.clear();
                continue;
            }
            lab => lab?,
        };
        let guest = lab.guests.iter().find(|guest| guest.name == wanted.name);
        if guest.is_some_and(|guest| says(guest, wanted)) {
            return Ok(new);
        }
        if kept.is_empty() {
            return no_place(
                "the copy would not say what was calibrated; `--set` changes one of the values",
            );
        }
        kept.clear();
    }
}

/// Whether a guest of the copy holds what was counted with, to the last digit that is written.
fn says(guest: &Guest, wanted: &Guest) -> bool {
    let sizes = |guest: &Guest| {
        [
            guest.touched,
            guest.touched_busy,
            guest.common,
            guest.repeats,
        ]
    };
    sizes(guest)
        .into_iter()
        .zip(sizes(wanted))
        .all(|(one, other)| (one - other).abs() <= STEP)
}

/// Keys that the readings say nothing about and that stay as they are.
fn undetermined(
    question: &Question,
    found: &Estimate,
    answer: &CalibrateAnswer,
) -> Vec<&'static str> {
    let guest = &question.lab.guests[question.guest];
    found
        .fit
        .calibrated
        .guest
        .iter()
        .filter(|change| {
            let now = match change.key {
                "touched" => guest.touched,
                "touched_busy" => guest.touched_busy,
                "common" => guest.common,
                _ => guest.repeats,
            };
            answer
                .estimates
                .get(change.key)
                .is_some_and(|estimate| estimate.from == Provenance::Lab)
                && (now - change.value).abs() <= STEP
        })
        .map(|change| change.key)
        .collect()
}

fn no_place<T>(message: &str) -> Result<T, Diagnostics> {
    refuse(
        ErrorKind::NotInThisFile,
        message.to_owned(),
        "put the values of the report into the file by hand, or write the copy beside the lab",
    )
}

fn refuse<T>(kind: ErrorKind, message: String, hint: &str) -> Result<T, Diagnostics> {
    Err(Diagnostics::new(
        Sources::default(),
        vec![Diagnostic::new(kind, message).hint(hint)],
    ))
}

fn edits(
    args: &CalibrateArgs,
    question: &Question,
    found: &Estimate,
    answer: &CalibrateAnswer,
) -> Vec<Edit> {
    let lab = question.lab;
    let guest = ["guest", &lab.guests[question.guest].name];
    let memory = ["host", &lab.hosts[question.host].name, "memory"];
    let file = PathBuf::from(&args.readings);
    let file = file
        .file_name()
        .unwrap_or(file.as_os_str())
        .to_string_lossy();
    let file: String = file
        .chars()
        .map(|letter| if letter.is_control() { '?' } else { letter })
        .collect();
    let edit = |table: &[&str], change: &Change| {
        let interval = answer
            .estimates
            .get(change.key)
            .filter(|estimate| estimate.from != Provenance::Lab)
            .map_or_else(
                || "follows from the others".to_owned(),
                |estimate| {
                    let told = match estimate.from {
                        Provenance::Both => " as far as the other numbers of the lab are right",
                        _ => "",
                    };
                    format!(
                        "between {} and {} nine times of ten{told}",
                        format::bytes(estimate.low),
                        format::bytes(estimate.high)
                    )
                },
            );
        let range = answer
            .estimates
            .get(change.key)
            .filter(|estimate| estimate.from != Provenance::Lab)
            .map(|estimate| {
                // Outwards, so that nothing of the interval is lost, but never past the value itself.
                let low = (estimate.low.min(change.value) / STEP).floor();
                let high = (estimate.high.max(change.value) / STEP).floor();
                let most = (change.value / STEP).round();
                [
                    apply::written(low.min(most)),
                    change.text.clone(),
                    apply::written(high.max(most)),
                ]
                .map(|text| format!("\"{text}\""))
            });
        Edit {
            path: key_path(&[table, &[change.key]].concat()),
            value: format!("\"{}\"", change.text),
            range,
            comment: format!(
                "{}: calibrated from {file}, {}; {interval}",
                change.key,
                format::plural(question.readings.len() as u64, "reading", "readings")
            ),
        }
    };
    let mut edits: Vec<Edit> = found
        .fit
        .calibrated
        .guest
        .iter()
        .map(|change| edit(&guest, change))
        .collect();
    edits.extend(
        found
            .fit
            .calibrated
            .memory
            .iter()
            .map(|change| edit(&memory, change)),
    );
    if let Some(written) = answer
        .written
        .filter(|written| written.seconds >= LONG_ENOUGH)
    {
        let daily = |rate: f64| format!("\"{:.3} GB/day\"", rate / 1e9);
        edits.push(Edit {
            path: key_path(&[guest[0], guest[1], "written"]),
            value: daily(written.value),
            // One stretch of time alone tells no upper end.
            range: written
                .high
                .map(|high| [written.low, written.value, high].map(daily)),
            comment: format!(
                "written: calibrated from {file}, over {}",
                format::seconds(written.seconds)
            ),
        });
    }
    edits
}
