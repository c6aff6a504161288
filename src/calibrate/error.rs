//! What is wrong with readings: the one place of these errors' texts.

use super::usage::{NoPair, Usage};
use crate::diagnose::source::Place;
use crate::diagnose::{Diagnostic, ErrorKind};
use crate::lab::Guest;
use crate::unit::format;

/// The file is empty.
pub(super) fn empty_table() -> Diagnostic {
    Diagnostic::new(
        ErrorKind::NotATable,
        "there are no readings: the file is empty",
    )
    .hint("begin with a line of headings, guests,memory_used,settled, and give each reading a line")
}

/// No line holds a guest.
pub(super) fn no_guests(place: Option<Place>) -> Diagnostic {
    Diagnostic::new(
        ErrorKind::NotATable,
        "there are no guests below the headings",
    )
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

/// A column is there twice.
pub(super) fn second_column(column: &str, place: Place) -> Diagnostic {
    let message = format!("there are two columns `{column}`");
    Diagnostic::new(ErrorKind::InvalidHeading, message)
        .at(place, "said again")
        .hint("take one of them out")
}

/// A heading, and the column that it resembles.
pub(super) fn unknown_column(name: &str, near: &str, place: Place) -> Diagnostic {
    let message = format!("there is no column `{name}`");
    Diagnostic::new(ErrorKind::InvalidHeading, message)
        .at(place, "")
        .hint(format!("did you mean `{near}`?"))
}

/// A column counts guests of a kind that the lab does not have beside the one that is read; `known` are those that it has.
pub(super) fn unknown_kind(name: &str, known: &[&str], place: Place) -> Diagnostic {
    let hint = if known.is_empty() {
        "the lab has no guest beside the one that `guests` counts".to_owned()
    } else {
        format!("guests that may run beside it: {}", known.join(", "))
    };
    let message = format!("`guests_{name}` counts no other guest of the lab");
    Diagnostic::new(ErrorKind::InvalidHeading, message)
        .at(place, "")
        .hint(hint)
}

/// By the lab guests of this kind run beside those that are read, and the column that would count them is missing.
pub(super) fn not_counted(kind: &str, column: &str, place: Option<Place>) -> Diagnostic {
    let message = format!("by the lab guests of {kind:?} run too, and no column counts them");
    Diagnostic::new(ErrorKind::InvalidHeading, message)
        .at_any(place, "the headings")
        .hint(format!(
            "add a column `{column}`: how many ran at each reading, 0 where none did"
        ))
}

/// A column that is needed is missing.
pub(super) fn missing_column(column: &str, place: Option<Place>) -> Diagnostic {
    let message = format!("a column `{column}` has to be there");
    Diagnostic::new(ErrorKind::InvalidHeading, message)
        .at_any(place, "the headings")
        .hint("readings need at least guests,memory_used,settled")
}

/// A cell of this column is needed and empty.
pub(super) fn empty_cell(column: &str, place: Place) -> Diagnostic {
    Diagnostic::new(ErrorKind::InvalidCell, format!("`{column}` is empty"))
        .at(place, "this reading")
        .hint("fill it in, or take the line out")
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

/// What a cell should be and is not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CellFault {
    /// A number without a comma.
    Comma,
    /// A number of guests.
    Guests,
    /// A share or a size.
    Used,
    /// Memory between nothing and what the host sees `[B]`.
    UsedRange(f64),
    /// A state.
    Settled,
    /// A time.
    Time,
    /// A number that this column can hold.
    Number(&'static str),
}

/// A bound that sound readings keep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PhysicalBound {
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

/// A bound that is exceeded by more than the error of the readings explains, and what its message needs. Sizes `[B]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Contradiction<'a> {
    /// Which bound.
    pub bound: PhysicalBound,
    /// By how much.
    pub by: f64,
    /// Whether settled readings at two counts determine the host's own memory.
    pub determines_base: bool,
    /// Whether the guests may have been fresh although they were taken as lived-in.
    pub maybe_fresh: bool,
    /// The host's own memory by the lab.
    pub base: f64,
    /// The guest by the lab.
    pub guest: &'a Guest,
}

impl CellFault {
    /// The error for a cell with this text.
    pub(super) fn at(self, text: &str, place: Place) -> Diagnostic {
        let (message, hint) = match self {
            CellFault::Comma => {
                let point = text.replace(',', ".");
                let message = format!("`{text}` has a comma in a number");
                return Diagnostic::new(ErrorKind::DecimalComma, message)
                    .at(place, "")
                    .hint(format!(
                        "write {point} if it is a decimal comma, or leave out a mark between thousands"
                    ));
            }
            CellFault::Guests => (
                format!("`guests` must be a whole number from 0 to 1,000,000, but is `{text}`"),
                "count the guests that run",
            ),
            CellFault::Used => (
                format!("`memory_used` is `{text}`, which is neither a share nor a size"),
                "write 78 % or 0.78 for a share, 61.2 GiB for a size",
            ),
            CellFault::UsedRange(visible) => {
                let visible = format::bytes(visible);
                (
                    format!("`memory_used` is `{text}`, but the host sees {visible}"),
                    "a running host uses more than nothing and less than it sees; check --host and its memory",
                )
            }
            CellFault::Settled => (
                format!("`settled` must be yes, no or unknown, but is `{text}`"),
                "no means: guests have just started",
            ),
            CellFault::Time => (
                format!("`time` is `{text}`, which is no time"),
                "write 2026-11-25T07:25:00Z, or seconds",
            ),
            CellFault::Number(column) => (
                format!("`{text}` is no number that {column} can hold"),
                "leave the cell empty where nothing was read",
            ),
        };
        Diagnostic::new(ErrorKind::InvalidCell, message)
            .at(place, "")
            .hint(hint)
    }
}

/// The readings determine nothing: how many there are in all and how many are left out of the fit, how many of those that are
/// fitted are settled, unknown and just started, and the line of the first reading after a start that has none right before
/// it, and why.
pub(super) fn too_few(
    [readings, held_out]: [usize; 2],
    [settled, unknown, started]: [usize; 3],
    unpaired: Option<(usize, NoPair)>,
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
    hints.extend(unpaired.map(|(line, why)| no_pair(line, why)));
    let error = Diagnostic::new(ErrorKind::TooFewReadings, message);
    let error = error.at_any(place, "the first of them");
    hints.into_iter().fold(error, Diagnostic::hint)
}

/// Why a reading right after a start says nothing of it.
pub fn no_pair(line: usize, why: NoPair) -> String {
    let why = match why {
        NoPair::First => "no reading stands above it".to_owned(),
        NoPair::NotFewer(before) => {
            format!("the one above it, line {before}, has as many guests or more")
        }
        NoPair::AlsoStarted(before) => {
            format!("the one above it, line {before}, was itself taken right after a start")
        }
    };
    format!(
        "line {line} (settled = no) says nothing of a fresh guest, because {why}: put the reading from right before the \
         start, with fewer guests, on the line above it"
    )
}

impl Contradiction<'_> {
    /// The error, with places of readings and how these are used.
    pub(super) fn at(self, readings: impl Iterator<Item = (Place, Usage)>) -> Diagnostic {
        let (message, hint) = self.words();
        let error = Diagnostic::new(ErrorKind::ContradictoryReadings, message).hint(hint);
        readings.fold(error, |error, (place, usage)| error.at(place, usage.name()))
    }

    /// The message and the hint.
    fn words(&self) -> (String, String) {
        let [size, base, overhead, memory] =
            [self.by, self.base, self.guest.overhead, self.guest.memory].map(format::bytes);
        let age = if self.maybe_fresh {
            "if the guests were never busy since they started, say --fresh; else look at `keeps` and `touched_busy`"
        } else {
            "look at `settled`: a reading taken while sharing was still at work is not settled"
        };
        let check_counts =
            format!("more guests must hold more; check the counts, and `overhead` ({overhead})");
        let check_overhead = format!(
            "a step must raise memory by more than the process takes; check `overhead` ({overhead})"
        );
        let (message, hint) = match self.bound {
            PhysicalBound::Slope if !self.determines_base => (
                format!(
                    "what the lab gives the host itself ({base} of `base` beside its cache) leaves its guests {size} less \
                     than they must take"
                ),
                "correct `base`, or take a settled reading at a second count, which tells it",
            ),
            PhysicalBound::Base => (
                format!("the readings leave the host itself {size} less than nothing"),
                "a reading with few guests is too low or one with many too high, beyond what their scatter explains",
            ),
            PhysicalBound::Slope => (
                format!("one more guest takes {size} less than its own process and page tables"),
                &*check_counts,
            ),
            PhysicalBound::Shared => (
                format!("a fresh guest is {size} smaller than what a settled one keeps for itself"),
                age,
            ),
            PhysicalBound::Touched => (
                format!("a fresh guest touches {size} less than nothing"),
                &*check_overhead,
            ),
            PhysicalBound::TouchedShared => (
                format!("a guest would have to share {size} more than it touches when fresh"),
                age,
            ),
            PhysicalBound::Idle => (
                format!(
                    "a settled guest holds {size} less than a fresh one, though nothing is merged"
                ),
                age,
            ),
            PhysicalBound::Memory => (
                format!("a guest would hold {size} more than its memory ({memory})"),
                "check the counts, `memory` and `overhead`, and whether other things ran beside the guests",
            ),
        };
        (message, hint.to_owned())
    }
}
