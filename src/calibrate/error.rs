//! What is wrong with readings: errors as data, and the one place of their texts.

use super::usage::{NoPair, Use};
use crate::diagnose::source::{Place, Sources};
use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind};
use crate::lab::Guest;
use crate::unit::format;

/// Why a table of readings cannot be read, or gives no answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Error {
    /// What is wrong.
    pub fault: Fault,
    /// Where, with how a reading is used where that matters.
    pub places: Vec<(Place, Option<Use>)>,
}

/// What is wrong with readings.
#[derive(Debug, Clone, PartialEq)]
pub enum Fault {
    /// The file is empty.
    EmptyTable,
    /// No line holds a guest.
    NoGuests,
    /// A line has more cells than the table has headings.
    ExtraCell {
        /// Cells of the line.
        cells: usize,
        /// Headings of the table.
        headings: usize,
        /// Whether cells are divided by commas.
        by_comma: bool,
    },
    /// A column is there twice.
    SecondColumn(&'static str),
    /// A heading, and the column that it resembles.
    UnknownColumn(String, &'static str),
    /// A column counts guests of a kind that the lab does not have beside the one that is read; those that it has.
    UnknownKind(String, Vec<String>),
    /// Guests of this kind run beside those that are read, by the lab, and this column, which would count them, is not there.
    NotCounted(String, String),
    /// A column that is needed is not there.
    MissingColumn(&'static str),
    /// A cell of this column is needed and empty.
    EmptyCell(&'static str),
    /// A cell with this text cannot be read.
    Cell(String, CellFault),
    /// The readings determine nothing.
    TooFew {
        /// Readings in all.
        readings: usize,
        /// Readings that are left out of the fit.
        held_out: usize,
        /// Settled, unknown and just started ones among those that are fitted.
        states: [usize; 3],
        /// Line of the first reading after a start that has none right before it, and why.
        no_pair: Option<(usize, NoPair)>,
    },
    /// A bound is exceeded by more than the error of the readings explains.
    Contradiction(Box<Contradiction>),
    /// The readings scatter more than any error explains: by this relative error.
    Scatter(f64),
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
    /// The guest by the lab.
    pub guest: Guest,
}

/// All errors as one report on the text that they were found in.
#[must_use]
pub fn report(sources: &Sources, errors: &[Error]) -> Diagnostics {
    let list = errors.iter().map(Error::diagnostic);
    Diagnostics::new(sources.clone(), list.collect())
}

impl Error {
    fn diagnostic(&self) -> Diagnostic {
        let (message, hint) = self.fault.words();
        let mut error = Diagnostic::new(self.fault.kind(), message).hint(hint);
        if matches!(self.fault, Fault::TooFew { readings, held_out, .. } if readings > held_out || held_out == 0)
        {
            error = error.hint("where readings have no column `settled` they count as unknown");
        }
        if let Fault::TooFew {
            no_pair: Some((line, why)),
            ..
        } = &self.fault
        {
            error = error.hint(no_pair(*line, *why));
        }
        let places = self.places.iter();
        places.fold(error, |error, (place, usage)| {
            error.at(*place, usage.map_or(self.fault.mark(), Use::name))
        })
    }
}

impl Fault {
    /// The error at a place, where there is one.
    pub(super) fn at(self, place: impl Into<Option<Place>>) -> Error {
        let places = place.into().into_iter();
        Error {
            fault: self,
            places: places.map(|place| (place, None)).collect(),
        }
    }

    fn kind(&self) -> ErrorKind {
        match self {
            Fault::EmptyTable | Fault::NoGuests | Fault::ExtraCell { .. } => ErrorKind::NotATable,
            Fault::SecondColumn(_)
            | Fault::UnknownColumn(..)
            | Fault::UnknownKind(..)
            | Fault::NotCounted(..)
            | Fault::MissingColumn(_) => ErrorKind::InvalidHeading,
            Fault::Cell(_, CellFault::Comma) => ErrorKind::DecimalComma,
            Fault::TooFew { .. } => ErrorKind::TooFewReadings,
            Fault::Contradiction(_) | Fault::Scatter(_) => ErrorKind::ContradictoryReadings,
            _ => ErrorKind::InvalidCell,
        }
    }

    /// What is to be seen at its place.
    fn mark(&self) -> &'static str {
        match self {
            Fault::ExtraCell { .. } => "one cell too many",
            Fault::SecondColumn(_) => "said again",
            Fault::MissingColumn(_) | Fault::NotCounted(..) => "the headings",
            Fault::EmptyCell(_) => "this reading",
            Fault::TooFew { .. } => "the first of them",
            Fault::Scatter(_) => "farthest off",
            _ => "",
        }
    }

    /// The message and the hint.
    fn words(&self) -> (String, String) {
        let (message, hint) = match self {
            Fault::EmptyTable => (
                "there are no readings: the file is empty".to_owned(),
                "begin with a line of headings, guests,memory_used,settled, and give each reading a line",
            ),
            Fault::NoGuests => (
                "there are no guests below the headings".to_owned(),
                "watch guests with survey --each --every 10s --output guests.csv",
            ),
            Fault::ExtraCell {
                cells,
                headings,
                by_comma,
            } => return extra_cell(*cells, *headings, *by_comma),
            Fault::SecondColumn(column) => (
                format!("there are two columns `{column}`"),
                "take one of them out",
            ),
            Fault::UnknownColumn(name, near) => {
                return (
                    format!("there is no column `{name}`"),
                    format!("did you mean `{near}`?"),
                );
            }
            Fault::UnknownKind(name, known) => return unknown_kind(name, known),
            Fault::NotCounted(kind, column) => return not_counted(kind, column),
            Fault::MissingColumn(column) => (
                format!("a column `{column}` has to be there"),
                "readings need at least guests,memory_used,settled",
            ),
            Fault::EmptyCell(column) => (
                format!("`{column}` is empty"),
                "fill it in, or take the line out",
            ),
            Fault::Cell(text, fault) => return fault.words(text),
            Fault::TooFew {
                readings,
                held_out,
                states,
                ..
            } => return too_few(*readings, *held_out, *states),
            Fault::Contradiction(contradiction) => return contradiction.words(),
            Fault::Scatter(error) => {
                let error = format::share(*error);
                (
                    format!(
                        "the readings scatter by {error} about the best fit, so they are not of one host in one state"
                    ),
                    "look at `settled` and `guests` of this line, and whether other things ran beside the guests",
                )
            }
        };
        (message, hint.to_owned())
    }
}

/// The message and the hint where a line is longer than the headings.
fn extra_cell(cells: usize, headings: usize, by_comma: bool) -> (String, String) {
    let cells = format::plural(cells as u64, "cell", "cells");
    let headings = format::plural(headings as u64, "heading", "headings");
    let hint = if by_comma {
        "if a comma stands in a number here, write the decimal point as a point: 78.5 %"
    } else {
        "take it out, or give its column a heading"
    };
    let message = format!("a line has {cells}, but the table has {headings}");
    (message, hint.to_owned())
}

/// The message and the hint where no column counts guests that run too.
fn not_counted(kind: &str, column: &str) -> (String, String) {
    (
        format!("by the lab guests of {kind:?} run too, and no column counts them"),
        format!("add a column `{column}`: how many ran at each reading, 0 where none did"),
    )
}

/// The message and the hint where a column counts guests that the lab does not have.
fn unknown_kind(name: &str, known: &[String]) -> (String, String) {
    let hint = if known.is_empty() {
        "the lab has no guest beside the one that `guests` counts".to_owned()
    } else {
        format!("guests that may run beside it: {}", known.join(", "))
    };
    (
        format!("`guests_{name}` counts no other guest of the lab"),
        hint,
    )
}

impl CellFault {
    /// The message and the hint for a cell with this text.
    fn words(self, text: &str) -> (String, String) {
        let (message, hint) = match self {
            CellFault::Comma => {
                let point = text.replace(',', ".");
                return (
                    format!("`{text}` has a comma in a number"),
                    format!(
                        "write {point} if it is a decimal comma, or leave out a mark between thousands"
                    ),
                );
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
        (message, hint.to_owned())
    }
}

/// The message and the hint where the readings that are left determine nothing.
fn too_few(
    readings: usize,
    held_out: usize,
    [settled, unknown, started]: [usize; 3],
) -> (String, String) {
    let count = format::plural(readings as u64, "reading", "readings");
    let message = match readings {
        _ if readings <= held_out && held_out > 0 => {
            let most = readings.saturating_sub(1);
            return (
                format!("nothing is left of {count} with --hold-out {held_out}"),
                format!("hold out at most {most}, fewer is better; or take more readings"),
            );
        }
        0 => "there are no readings below the headings".to_owned(),
        _ if settled > 0 => "no settled reading was taken with guests running".to_owned(),
        _ => format!(
            "no reading is settled and none was taken right after a start: {unknown} in an unknown state, {started} just \
             started"
        ),
    };
    let hint = "let the host settle, read it, and say settled = yes; take another at about twice as many guests";
    (message, hint.to_owned())
}

/// Why a reading right after a start says nothing of it.
#[must_use]
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

impl Contradiction {
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
