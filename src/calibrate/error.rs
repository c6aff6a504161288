//! What is wrong with readings: the one place of these errors' texts.

use crate::diagnose::source::Place;
use crate::diagnose::{Diagnostic, ErrorKind};
use crate::lab::Guest;
use crate::unit::format;

/// The file is empty.
pub(super) fn empty_table() -> Diagnostic {
    let message = "there are no readings: the file is empty";
    Diagnostic::new(ErrorKind::NotATable, message).hint(
        "begin with a line of headings, guests,memory_used,settled, and give each reading a line",
    )
}

/// No line holds a guest.
pub(super) fn no_guests(place: Option<Place>) -> Diagnostic {
    let message = "there are no guests below the headings";
    Diagnostic::new(ErrorKind::NotATable, message)
        .at_any(place, "")
        .hint("watch guests with survey --each --every 10s --output guests.csv")
}

/// A line has more cells than the table has headings; `by_comma`: cells are divided by commas.
pub(super) fn extra_cell(
    [cells, headings]: [usize; 2],
    by_comma: bool,
    place: Place,
) -> Diagnostic {
    let cells = format::plural(cells as u64, "cell", "cells");
    let headings = format::plural(headings as u64, "heading", "headings");
    let message = format!("a line has {cells}, but the table has {headings}");
    let hint = if by_comma {
        "if a comma stands in a number here, write the decimal point as a point: 78.5 %"
    } else {
        "take it out, or give its column a heading"
    };
    Diagnostic::new(ErrorKind::NotATable, message)
        .at(place, "one cell too many")
        .hint(hint)
}

/// What is wrong with the headings.
fn heading(message: String, place: Option<Place>, label: &str, hint: String) -> Diagnostic {
    Diagnostic::new(ErrorKind::InvalidHeading, message)
        .at_any(place, label)
        .hint(hint)
}

/// A column is there twice.
pub(super) fn second_column(column: &str, place: Place) -> Diagnostic {
    let message = format!("there are two columns `{column}`");
    let hint = "take one of them out".to_owned();
    heading(message, Some(place), "said again", hint)
}

/// A heading, and the column that it resembles.
pub(super) fn unknown_column(name: &str, near: &str, place: Place) -> Diagnostic {
    let message = format!("there is no column `{name}`");
    heading(message, Some(place), "", format!("did you mean `{near}`?"))
}

/// A column counts guests of a kind that the lab does not have beside the one that is read; `known` are those that it has.
pub(super) fn unknown_kind(name: &str, known: &[&str], place: Place) -> Diagnostic {
    let hint = match known {
        [] => "the lab has no guest beside the one that `guests` counts".to_owned(),
        known => format!("guests that may run beside it: {}", known.join(", ")),
    };
    let message = format!("`guests_{name}` counts no other guest of the lab");
    heading(message, Some(place), "", hint)
}

/// By the lab guests of this kind run beside those that are read, and the column that would count them is missing.
pub(super) fn not_counted(kind: &str, column: &str, place: Option<Place>) -> Diagnostic {
    let message = format!("by the lab guests of {kind:?} run too, and no column counts them");
    let hint = format!("add a column `{column}`: how many ran at each reading, 0 where none did");
    heading(message, place, "the headings", hint)
}

/// A column that is needed is missing.
pub(super) fn missing_column(column: &str, place: Option<Place>) -> Diagnostic {
    let message = format!("a column `{column}` has to be there");
    let hint = "readings need at least guests,memory_used,settled".to_owned();
    heading(message, place, "the headings", hint)
}

/// What is wrong with a cell.
pub(super) fn cell(message: String, hint: &str) -> Diagnostic {
    Diagnostic::new(ErrorKind::InvalidCell, message).hint(hint)
}

/// A cell of this column is needed and empty.
pub(super) fn empty_cell(column: &str, place: Place) -> Diagnostic {
    let hint = "fill it in, or take the line out";
    cell(format!("`{column}` is empty"), hint).at(place, "this reading")
}

/// A cell holds no number that its column can hold.
pub(super) fn no_number(text: &str, column: &str) -> Diagnostic {
    let hint = "leave the cell empty where nothing was read";
    cell(
        format!("`{text}` is no number that {column} can hold"),
        hint,
    )
}

/// A number has a comma, which may divide decimals or thousands.
pub(super) fn comma(text: &str) -> Diagnostic {
    let point = text.replace(',', ".");
    let message = format!("`{text}` has a comma in a number");
    Diagnostic::new(ErrorKind::DecimalComma, message).hint(format!(
        "write {point} if it is a decimal comma, or leave out a mark between thousands"
    ))
}

/// The readings scatter more than any error explains: by this relative error.
pub(super) fn scatter(error: f64, place: Option<Place>) -> Diagnostic {
    let error = format::share(error);
    let message = format!(
        "the readings scatter by {error} about the best fit, so they are not of one host in one state"
    );
    Diagnostic::new(ErrorKind::ContradictoryReadings, message)
        .at_any(place, "farthest off")
        .hint("look at `settled` and `guests` of this line, and whether other things ran beside the guests")
}

/// The readings determine nothing: how many there are in all and how many are left out of the fit, how many of those that are
/// fitted are settled, unknown and just started, and what is said of the first reading after a start that has none right
/// before it.
pub(super) fn too_few(
    [readings, held_out]: [usize; 2],
    [settled, unknown, started]: [usize; 3],
    unpaired: Option<String>,
    place: Option<Place>,
) -> Diagnostic {
    let count = format::plural(readings as u64, "reading", "readings");
    let mut hints = vec![
        "let the host settle, read it, and say settled = yes; take another at about twice as many guests".to_owned(),
        "where readings have no column `settled` they count as unknown".to_owned(),
    ];
    let message = match readings {
        _ if readings <= held_out && held_out > 0 => {
            let most = readings.saturating_sub(1);
            hints = vec![format!(
                "hold out at most {most}, fewer is better; or take more readings"
            )];
            format!("nothing is left of {count} with --hold-out {held_out}")
        }
        0 => "there are no readings below the headings".to_owned(),
        _ if settled > 0 => "no settled reading was taken with guests running".to_owned(),
        _ => format!(
            "no reading is settled and none was taken right after a start: {unknown} in an unknown state, {started} just \
             started"
        ),
    };
    let error = Diagnostic::new(ErrorKind::TooFewReadings, message);
    let error = error.at_any(place, "the first of them");
    hints
        .into_iter()
        .chain(unpaired)
        .fold(error, Diagnostic::hint)
}

/// Why a reading right after a start says nothing of it.
pub(super) fn no_pair(line: usize, why: &str) -> String {
    format!(
        "line {line} (settled = no) says nothing of a fresh guest, because {why}: put the reading from right before the \
         start, with fewer guests, on the line above it"
    )
}

/// A bound that sound readings keep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum PhysicalBound {
    /// The host's own memory is not below 0.
    Base,
    /// One more guest takes at least its process.
    Slope,
    /// Guests do not share less than 0.
    Shared,
    /// A fresh guest does not touch less than 0.
    Touched,
    /// A guest does not share more than it touches.
    TouchedShared,
    /// A settled guest does not hold less than a fresh one.
    Idle,
    /// A guest does not hold more than its memory.
    Memory,
}

/// A bound is exceeded by so much `[B]`, which is more than the error of the readings explains.
///
/// - `maybe_fresh` whether the guests may have been fresh although they were taken as lived-in
/// - `base` the host's own memory by the lab, where that was taken
pub(super) fn contradiction(
    bound: PhysicalBound,
    by: f64,
    guest: &Guest,
    maybe_fresh: bool,
    base: Option<f64>,
) -> Diagnostic {
    let [size, overhead, memory] = [by, guest.overhead, guest.memory].map(format::bytes);
    let age = if maybe_fresh {
        "if the guests were never busy since they started, say --fresh; else look at `keeps` and `touched_busy`"
    } else {
        "look at `settled`: a reading taken while sharing was still at work is not settled"
    };
    let counts =
        format!("more guests must hold more; check the counts, and `overhead` ({overhead})");
    let step = format!(
        "a step must raise memory by more than the process takes; check `overhead` ({overhead})"
    );
    let (message, hint) = match (bound, base.map(format::bytes)) {
        (PhysicalBound::Slope, Some(base)) => (
            format!(
                "what the lab gives the host itself ({base} of `base` beside its cache) leaves its guests {size} less \
                 than they must take"
            ),
            "correct `base`, or take a settled reading at a second count, which tells it",
        ),
        (PhysicalBound::Base, _) => (
            format!("the readings leave the host itself {size} less than nothing"),
            "a reading with few guests is too low or one with many too high, beyond what their scatter explains",
        ),
        (PhysicalBound::Slope, None) => (
            format!("one more guest takes {size} less than its own process and page tables"),
            &*counts,
        ),
        (PhysicalBound::Shared, _) => (
            format!("a fresh guest is {size} smaller than what a settled one keeps for itself"),
            age,
        ),
        (PhysicalBound::Touched, _) => (
            format!("a fresh guest touches {size} less than nothing"),
            &*step,
        ),
        (PhysicalBound::TouchedShared, _) => (
            format!("a guest would have to share {size} more than it touches when fresh"),
            age,
        ),
        (PhysicalBound::Idle, _) => (
            format!("a settled guest holds {size} less than a fresh one, though nothing is merged"),
            age,
        ),
        (PhysicalBound::Memory, _) => (
            format!("a guest would hold {size} more than its memory ({memory})"),
            "check the counts, `memory` and `overhead`, and whether other things ran beside the guests",
        ),
    };
    Diagnostic::new(ErrorKind::ContradictoryReadings, message).hint(hint)
}
