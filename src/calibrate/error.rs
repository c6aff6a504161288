//! What is wrong with readings: errors as data, and the one place of their texts.

use super::usage::Use;
use crate::diagnose::source::{Place, Sources};
use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind};
use crate::unit::format;

/// Why a table of readings cannot be read, or gives no answer.
#[derive(Debug, Clone, PartialEq)]
pub enum Error {
    /// The file is empty.
    EmptyTable,
    /// A line has more cells than the table has headings.
    ExtraCell {
        /// Cells of the line.
        cells: usize,
        /// Headings of the table.
        headings: usize,
        /// Whether cells are divided by commas.
        by_comma: bool,
        /// The first cell too many.
        place: Place,
    },
    /// A column is there twice.
    SecondColumn(&'static str, Place),
    /// A heading is nearly the name of a column.
    UnknownColumn {
        /// The heading.
        name: String,
        /// The column that it resembles.
        near: &'static str,
        /// The heading's place.
        place: Place,
    },
    /// A column that is needed is not there.
    MissingColumn(&'static str, Option<Place>),
    /// A cell that is needed is empty; the place is its line.
    EmptyCell(&'static str, Place),
    /// A cell cannot be read.
    Cell {
        /// Its text.
        text: String,
        /// Its place.
        place: Place,
        /// What it should be.
        wrong: CellError,
    },
    /// The readings determine nothing.
    TooFew {
        /// Readings in all.
        readings: usize,
        /// Readings that are left out of the fit.
        held_out: usize,
        /// Settled, unknown and just started ones among those that are fitted.
        states: [usize; 3],
        /// The first reading.
        place: Option<Place>,
    },
    /// A bound is exceeded by more than the error of the readings explains.
    Contradiction(Box<Contradiction>),
    /// The readings scatter more than any error explains: relative error, and the reading that is farthest off.
    Scatter(f64, Option<Place>),
}

/// What a cell should be and is not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CellError {
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

/// A bound that is exceeded, and what its message needs. Sizes `[B]`.
#[derive(Debug, Clone, PartialEq)]
pub struct Contradiction {
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
    /// Overhead of the guest.
    pub overhead: f64,
    /// Memory of the guest.
    pub memory: f64,
    /// The first and the last reading that are used.
    pub readings: Vec<(Place, Use)>,
}

/// All errors as one report on the text that they were found in.
#[must_use]
pub fn report(sources: &Sources, errors: &[Error]) -> Diagnostics {
    Diagnostics::new(
        sources.clone(),
        errors.iter().map(Error::diagnostic).collect(),
    )
}

impl Error {
    /// The message, the marks and the hint.
    fn diagnostic(&self) -> Diagnostic {
        match self {
            Error::EmptyTable => Diagnostic::new(ErrorKind::NotATable, "there are no readings: the file is empty")
                .hint("begin with a line of headings, guests,memory_used,settled, and give each reading a line"),
            Error::ExtraCell {
                cells,
                headings,
                by_comma,
                place,
            } => {
                let message = format!(
                    "a line has {}, but the table has {}",
                    format::plural(*cells as u64, "cell", "cells"),
                    format::plural(*headings as u64, "heading", "headings")
                );
                Diagnostic::new(ErrorKind::NotATable, message)
                    .at(*place, "one cell too many")
                    .hint(if *by_comma {
                        "if a comma stands in a number here, write the decimal point as a point: 78.5 %"
                    } else {
                        "take it out, or give its column a heading"
                    })
            }
            Error::SecondColumn(column, place) => {
                Diagnostic::new(ErrorKind::InvalidHeading, format!("there are two columns `{column}`"))
                    .at(*place, "said again")
                    .hint("take one of them out")
            }
            Error::UnknownColumn { name, near, place } => {
                Diagnostic::new(ErrorKind::InvalidHeading, format!("there is no column `{name}`"))
                    .at(*place, "")
                    .hint(format!("did you mean `{near}`?"))
            }
            Error::MissingColumn(column, place) => {
                Diagnostic::new(ErrorKind::InvalidHeading, format!("a column `{column}` has to be there"))
                    .at_any(*place, "the headings")
                    .hint("readings need at least guests,memory_used,settled")
            }
            Error::EmptyCell(column, line) => {
                Diagnostic::new(ErrorKind::InvalidCell, format!("`{column}` is empty"))
                    .at(*line, "this reading")
                    .hint("fill it in, or take the line out")
            }
            Error::Cell { text, place, wrong } => wrong.diagnostic(text).at(*place, ""),
            Error::TooFew {
                readings,
                held_out,
                states,
                place,
            } => too_few(*readings, *held_out, *states, *place),
            Error::Contradiction(contradiction) => contradiction.diagnostic(),
            Error::Scatter(error, place) => scatter(*error, *place),
        }
    }
}

impl CellError {
    /// The message and the hint for a cell with this text.
    fn diagnostic(self, text: &str) -> Diagnostic {
        let (message, hint) = match self {
            CellError::Comma => {
                let point = text.replace(',', ".");
                let hint = format!(
                    "write {point} if it is a decimal comma, or leave out a mark between thousands"
                );
                let message = format!("`{text}` has a comma in a number");
                return Diagnostic::new(ErrorKind::DecimalComma, message).hint(hint);
            }
            CellError::Guests => (
                format!("`guests` must be a whole number from 0 to 1,000,000, but is `{text}`"),
                "count the guests that run",
            ),
            CellError::Used => (
                format!("`memory_used` is `{text}`, which is neither a share nor a size"),
                "write 78 % or 0.78 for a share, 61.2 GiB for a size",
            ),
            CellError::UsedRange(visible) => (
                format!(
                    "`memory_used` is `{text}`, but the host sees {}",
                    format::bytes(visible)
                ),
                "a running host uses more than nothing and less than it sees; check --host and its memory",
            ),
            CellError::Settled => (
                format!("`settled` must be yes, no or unknown, but is `{text}`"),
                "no means: guests have just started",
            ),
            CellError::Time => (
                format!("`time` is `{text}`, which is no time"),
                "write 2026-11-25T07:25:00Z, or seconds",
            ),
            CellError::Number(column) => (
                format!("`{text}` is no number that {column} can hold"),
                "leave the cell empty where nothing was read",
            ),
        };
        Diagnostic::new(ErrorKind::InvalidCell, message).hint(hint)
    }
}

fn scatter(error: f64, place: Option<Place>) -> Diagnostic {
    let message = format!(
        "the readings scatter by {} about the best fit, so they are not of one host in one state",
        format::share(error)
    );
    Diagnostic::new(ErrorKind::ContradictoryReadings, message)
        .at_any(place, "farthest off")
        .hint("look at `settled` and `guests` of this line, and whether other things ran beside the guests")
}

fn too_few(
    readings: usize,
    held_out: usize,
    [settled, unknown, started]: [usize; 3],
    place: Option<Place>,
) -> Diagnostic {
    let left = readings.saturating_sub(held_out);
    let message = if left == 0 && held_out > 0 {
        let readings = format::plural(readings as u64, "reading", "readings");
        format!("nothing is left of {readings} with --hold-out {held_out}")
    } else if left == 0 {
        "there are no readings below the headings".to_owned()
    } else if settled > 0 {
        "no settled reading was taken with guests running".to_owned()
    } else {
        format!(
            "no reading is settled and none was taken right after a start: {unknown} in an unknown state, {started} just \
             started"
        )
    };
    let error =
        Diagnostic::new(ErrorKind::TooFewReadings, message).at_any(place, "the first of them");
    if left == 0 && held_out > 0 {
        let most = readings.saturating_sub(1);
        return error.hint(format!(
            "hold out at most {most}, fewer is better; or take more readings"
        ));
    }
    error
        .hint("let the host settle, read it, and say settled = yes; take another at about twice as many guests")
        .hint("where readings have no column `settled` they count as unknown")
}

impl Contradiction {
    fn diagnostic(&self) -> Diagnostic {
        let (message, hint) = self.texts();
        let error = Diagnostic::new(ErrorKind::ContradictoryReadings, message).hint(hint);
        let readings = self.readings.iter();
        readings.fold(error, |error, (place, usage)| {
            error.at(*place, usage.name())
        })
    }

    fn age_hint(&self) -> &'static str {
        if self.maybe_fresh {
            "if the guests were never busy since they started, say --fresh; else look at `keeps` and `touched_busy`"
        } else {
            "look at `settled`: a reading taken while sharing was still at work is not settled"
        }
    }

    /// The message and the hint.
    fn texts(&self) -> (String, String) {
        let [size, base, overhead, memory] =
            [self.by, self.base, self.overhead, self.memory].map(format::bytes);
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
            PhysicalBound::Slope => {
                let hint = format!(
                    "more guests must hold more; check the counts, and `overhead` ({overhead})"
                );
                return (
                    format!(
                        "one more guest takes {size} less than its own process and page tables"
                    ),
                    hint,
                );
            }
            PhysicalBound::Shared => (
                format!("a fresh guest is {size} smaller than what a settled one keeps for itself"),
                self.age_hint(),
            ),
            PhysicalBound::Touched => {
                let hint = format!(
                    "a step must raise memory by more than the process takes; check `overhead` ({overhead})"
                );
                return (
                    format!("a fresh guest touches {size} less than nothing"),
                    hint,
                );
            }
            PhysicalBound::TouchedShared => (
                format!("a guest would have to share {size} more than it touches when fresh"),
                self.age_hint(),
            ),
            PhysicalBound::Idle => (
                format!(
                    "a settled guest holds {size} less than a fresh one, though nothing is merged"
                ),
                self.age_hint(),
            ),
            PhysicalBound::Memory => (
                format!("a guest would hold {size} more than its memory ({memory})"),
                "check the counts, `memory` and `overhead`, and whether other things ran beside the guests",
            ),
        };
        (message, hint.to_owned())
    }
}
