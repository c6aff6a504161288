//! One line of readings, cell by cell.

use super::columns::Columns;
use super::table::{Cell, Line};
use crate::calibrate::error::{CellFault, empty_cell};
use crate::diagnose::Diagnostic;
use crate::diagnose::source::Place;
use crate::survey::reading::{Settled, WRITTEN};
use crate::unit::instant;
use crate::unit::parse::{Dimension, ParseFault, parse};

/// One reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Its line.
    pub place: Place,
    /// Number of its line, from 1.
    pub line: usize,
    /// When `[s]` since 1970, or since any other moment.
    pub at: Option<f64>,
    /// Guests that run.
    pub guests: u64,
    /// Memory in use `[B]`.
    pub used: f64,
    /// One step of the last digit that was written `[B]`.
    pub rounding: f64,
    /// Whether sharing has found what it will find.
    pub settled: Settled,
    /// Pages saved by sharing.
    pub sharing: Option<f64>,
    /// Merged copies kept, in pages.
    pub shared: Option<f64>,
    /// Guests of other kinds that run beside them: by column, then in the order of the lab's guests.
    pub beside: Vec<u64>,
    /// Memory that the kernel sees, as it reports it `[B]`.
    pub total: Option<f64>,
    /// Swap in use `[B]`.
    pub swap_used: Option<f64>,
    /// Swapped in and out `[B/s]`.
    pub swap_rate: Option<f64>,
    /// Share of the time that some task waited for memory.
    pub memory_pressure: Option<f64>,
    /// Bytes written to all disks since boot `[B]`.
    pub written: Option<f64>,
    /// The most that any guest has touched `[B]`.
    pub highest: Option<f64>,
}

/// Bare numbers from here on are bytes: no share and no count of anything else is that large.
const SURELY_BYTES: f64 = 16_777_216.0;
/// Room for rounding above all the memory there is.
const SLACK: f64 = 1.005;
/// More guests than this are taken for an error.
const MOST_GUESTS: u64 = 1_000_000;
/// Largest number of any other column.
const LARGEST: f64 = 1e18;

/// The highest memory that any guest has been seen to touch; people add it by hand.
pub(super) const HIGHEST: &str = "guest_highest";
/// How the columns begin that count the guests of another kind, which run beside those that are read.
pub(super) const BESIDE: &str = "guests_";

/// One line being read.
pub(super) struct Row<'a> {
    pub line: &'a Line,
    pub columns: &'a Columns,
    pub visible: f64,
    pub errors: &'a mut Vec<Diagnostic>,
}

impl<'a> Row<'a> {
    pub fn reading(&mut self, line: usize) -> Option<Reading> {
        let before = self.errors.len();
        let visible = self.visible;
        let count = self.needed("guests", guests);
        let used = self.needed("memory_used", |text| used(text, visible));
        let settled = self.optional("settled", settled);
        let swap_in = self.amount("swap_in");
        let swap_out = self.amount("swap_out");
        let columns = self.columns;
        let disks = columns.with_prefix(WRITTEN);
        let written = disks.map(|(_, index)| self.read(self.cell(index)?, amount));
        let written: Vec<Option<f64>> = written.collect();
        let written = Some(written).filter(|all| !all.is_empty());
        let zero = self.amount("zero_pages");
        let beside = columns.with_prefix(BESIDE);
        let beside = beside.map(|(_, index)| self.read(self.cell(index)?, guests));
        let beside = beside.map(Option::unwrap_or_default).collect();
        let (used, rounding) = used.unwrap_or_default();
        let reading = Reading {
            place: self.line.place,
            line,
            at: self.optional("time", time),
            guests: count.unwrap_or_default(),
            used,
            rounding,
            settled: settled.unwrap_or_default(),
            sharing: self
                .amount("pages_sharing")
                .map(|pages| pages + zero.unwrap_or(0.0)),
            shared: self.amount("pages_shared"),
            beside,
            total: self.size("memory_total"),
            swap_used: self.size("swap_used"),
            swap_rate: swap_in.zip(swap_out).map(|(read, write)| read + write),
            memory_pressure: self.amount("memory_pressure"),
            written: written.and_then(|all| all.into_iter().sum()),
            highest: self.size(HIGHEST),
        };
        (self.errors.len() == before).then_some(reading)
    }

    /// A cell that is filled.
    fn cell(&self, index: usize) -> Option<&'a Cell> {
        let cell = self.line.cells.get(index);
        cell.filter(|cell| !cell.text.is_empty())
    }

    fn read<T>(&mut self, cell: &Cell, parse: impl Fn(&str) -> Result<T, CellFault>) -> Option<T> {
        let value = parse(&cell.text).map_err(|fault| fault.at(&cell.text, cell.place));
        value.map_err(|error| self.errors.push(error)).ok()
    }

    fn optional<T>(
        &mut self,
        column: &str,
        parse: impl Fn(&str) -> Result<T, CellFault>,
    ) -> Option<T> {
        let cell = self.cell(self.columns.at(column)?)?;
        self.read(cell, parse)
    }

    /// What a cell holds that has to be filled.
    fn needed<T>(
        &mut self,
        column: &'static str,
        parse: impl Fn(&str) -> Result<T, CellFault>,
    ) -> Option<T> {
        let index = self.columns.at(column)?;
        if self.cell(index).is_none() {
            self.errors.push(empty_cell(column, self.line.place));
        }
        self.optional(column, parse)
    }

    /// A bare number.
    fn amount(&mut self, column: &str) -> Option<f64> {
        self.optional(column, amount)
    }

    /// A size with its unit, or in bytes.
    fn size(&mut self, column: &'static str) -> Option<f64> {
        self.optional(column, |text| number(text, Dimension::Bytes, column))
    }
}

/// Refuses a number with a comma, which may divide decimals or thousands.
fn without_comma(text: &str) -> Result<(), CellFault> {
    let mut triples = text.as_bytes().windows(3);
    let is_comma = |triple: &[u8]| matches!(triple, [b'0'..=b'9', b',', b'0'..=b'9']);
    if triples.any(is_comma) {
        Err(CellFault::Comma)
    } else {
        Ok(())
    }
}

fn guests(text: &str) -> Result<u64, CellFault> {
    without_comma(text)?;
    // Spreadsheets like to write 10 as 10.0.
    let whole = text.strip_suffix(".0").unwrap_or(text);
    let guests = whole.parse().ok();
    guests
        .filter(|guests| *guests <= MOST_GUESTS)
        .ok_or(CellFault::Guests)
}

/// Memory in use and one step of its last digit `[B]`.
fn used(text: &str, visible: f64) -> Result<(f64, f64), CellFault> {
    without_comma(text)?;
    let read = share_or_size(text, visible).or_else(|| match parse(text, Dimension::Bytes) {
        Err(error) if error.fault == ParseFault::TooLarge => Some((f64::INFINITY, 0.0)),
        _ => None,
    });
    let (used, step) = read.ok_or(CellFault::Used)?;
    if used <= 0.0 || used > visible * SLACK {
        return Err(CellFault::UsedRange(visible));
    }
    Ok((used, step))
}

fn settled(text: &str) -> Result<Settled, CellFault> {
    match text.to_lowercase().as_str() {
        "yes" | "y" | "true" | "1" => Ok(Settled::Yes),
        "no" | "n" | "false" | "0" => Ok(Settled::No),
        "unknown" | "?" => Ok(Settled::Unknown),
        _ => Err(CellFault::Settled),
    }
}

/// A time `[s]`, as a moment or in seconds.
pub(in crate::calibrate) fn time(text: &str) -> Result<f64, CellFault> {
    let seconds = instant::seconds(text).or_else(|| text.parse().ok());
    seconds
        .filter(|time| time.is_finite())
        .ok_or(CellFault::Time)
}

fn amount(text: &str) -> Result<f64, CellFault> {
    number(text, Dimension::Share, "this column")
}

/// A bare number, or one with a unit.
fn number(text: &str, dimension: Dimension, column: &'static str) -> Result<f64, CellFault> {
    without_comma(text)?;
    let number = text.parse().ok().or_else(|| parse(text, dimension).ok());
    number
        .filter(|number| (0.0..=LARGEST).contains(number))
        .ok_or(CellFault::Number(column))
}

/// A share or a size, and one step of its last digit `[B]`.
fn share_or_size(text: &str, visible: f64) -> Option<(f64, f64)> {
    let number_end = text
        .find(|letter: char| !matches!(letter, '0'..='9' | '.' | '+' | '-'))
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(number_end);
    let decimals = number
        .split_once('.')
        .map_or(0, |(_, decimals)| decimals.len());
    let step = 10f64.powi(-i32::try_from(decimals.min(300)).unwrap_or(300));
    if unit.trim().is_empty() {
        let bare: f64 = number.parse().ok()?;
        return match bare {
            share if (0.0..=SLACK).contains(&share) => Some((share * visible, step * visible)),
            bytes if bytes >= SURELY_BYTES => Some((bytes, step)),
            _ => None,
        };
    }
    let one = |dimension| parse(&format!("1{unit}"), dimension).ok();
    if let Ok(share) = parse(text, Dimension::Share) {
        return Some((share * visible, step * one(Dimension::Share)? * visible));
    }
    let size = parse(text, Dimension::Bytes).ok()?;
    Some((size, step * one(Dimension::Bytes)?))
}
