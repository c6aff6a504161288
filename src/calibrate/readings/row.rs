//! One line of readings, cell by cell.

use super::columns::{Columns, HIGHEST};
use super::reading::Reading;
use super::table::{Cell, Line};
use crate::calibrate::error::{CellError, Error};
use crate::survey::reading::Settled;
use crate::unit::instant;
use crate::unit::parse::{Dimension, ParseFault, parse};

/// Bare numbers from here on are bytes: no share and no count of anything else is that large.
const SURELY_BYTES: f64 = 16_777_216.0;
/// Room for rounding above all the memory there is.
const SLACK: f64 = 1.005;
/// Most guests that are believed.
const MOST_GUESTS: u64 = 1_000_000;
/// Largest number of any other column.
const LARGEST: f64 = 1e18;

/// One line being read.
pub(super) struct Row<'a> {
    pub line: &'a Line,
    pub columns: &'a Columns,
    pub visible: f64,
    pub errors: &'a mut Vec<Error>,
}

impl<'a> Row<'a> {
    pub fn reading(&mut self, line: usize) -> Option<Reading> {
        let before = self.errors.len();
        let visible = self.visible;
        let guests = self.needed("guests", guests);
        let used = self.needed("memory_used", |text| used(text, visible));
        let settled = self.optional("settled", settled);
        let swap_in = self.amount("swap_in");
        let swap_out = self.amount("swap_out");
        let columns = self.columns;
        let written: Vec<f64> = columns
            .written
            .iter()
            .filter_map(|index| self.read(self.cell(*index)?, amount))
            .collect();
        let zero = self.amount("zero_pages");
        let (used, rounding) = used.unwrap_or_default();
        let reading = Reading {
            place: self.line.place,
            line,
            at: self.optional("time", time),
            guests: guests.unwrap_or_default(),
            used,
            rounding,
            settled: settled.unwrap_or_default(),
            sharing: self
                .amount("pages_sharing")
                .map(|pages| pages + zero.unwrap_or(0.0)),
            total: self.size("memory_total"),
            swap_used: self.size("swap_used"),
            swap_rate: swap_in.zip(swap_out).map(|(read, write)| read + write),
            memory_pressure: self.amount("memory_pressure"),
            written: (!written.is_empty() && written.len() == columns.written.len())
                .then(|| written.iter().sum()),
            highest: self.size(HIGHEST),
        };
        (self.errors.len() == before).then_some(reading)
    }

    /// A cell that is filled.
    fn cell(&self, index: usize) -> Option<&'a Cell> {
        let cell = self.line.cells.get(index);
        cell.filter(|cell| !cell.text.is_empty())
    }

    fn read<T>(&mut self, cell: &Cell, parse: impl Fn(&str) -> Result<T, CellError>) -> Option<T> {
        let value = parse(&cell.text);
        value
            .map_err(|wrong| {
                self.errors.push(Error::Cell {
                    text: cell.text.clone(),
                    place: cell.place,
                    wrong,
                });
            })
            .ok()
    }

    fn optional<T>(
        &mut self,
        column: &str,
        parse: impl Fn(&str) -> Result<T, CellError>,
    ) -> Option<T> {
        let cell = self.cell(self.columns.at(column)?)?;
        self.read(cell, parse)
    }

    /// What a cell holds that has to be filled.
    fn needed<T>(
        &mut self,
        column: &'static str,
        parse: impl Fn(&str) -> Result<T, CellError>,
    ) -> Option<T> {
        let index = self.columns.at(column)?;
        if self.cell(index).is_none() {
            let error = Error::EmptyCell(column, self.line.place);
            self.errors.push(error);
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
fn without_comma(text: &str) -> Result<(), CellError> {
    let mut triples = text.as_bytes().windows(3);
    let is_comma = |triple: &[u8]| matches!(triple, [b'0'..=b'9', b',', b'0'..=b'9']);
    if triples.any(is_comma) {
        Err(CellError::Comma)
    } else {
        Ok(())
    }
}

fn guests(text: &str) -> Result<u64, CellError> {
    without_comma(text)?;
    // Spreadsheets like to write 10 as 10.0.
    let whole = text.strip_suffix(".0").unwrap_or(text);
    let guests = whole.parse().ok();
    guests
        .filter(|guests| *guests <= MOST_GUESTS)
        .ok_or(CellError::Guests)
}

/// Memory in use and one step of its last digit `[B]`.
fn used(text: &str, visible: f64) -> Result<(f64, f64), CellError> {
    without_comma(text)?;
    let read = share_or_size(text, visible).or_else(|| match parse(text, Dimension::Bytes) {
        Err(error) if error.fault == ParseFault::TooLarge => Some((f64::INFINITY, 0.0)),
        _ => None,
    });
    let (used, step) = read.ok_or(CellError::Used)?;
    if used <= 0.0 || used > visible * SLACK {
        return Err(CellError::UsedRange(visible));
    }
    Ok((used, step))
}

fn settled(text: &str) -> Result<Settled, CellError> {
    match text.to_lowercase().as_str() {
        "yes" | "y" | "true" | "1" => Ok(Settled::Yes),
        "no" | "n" | "false" | "0" => Ok(Settled::No),
        "unknown" | "?" => Ok(Settled::Unknown),
        _ => Err(CellError::Settled),
    }
}

fn time(text: &str) -> Result<f64, CellError> {
    let seconds = instant::seconds(text).or_else(|| text.parse().ok());
    seconds
        .filter(|time| time.is_finite())
        .ok_or(CellError::Time)
}

fn amount(text: &str) -> Result<f64, CellError> {
    number(text, Dimension::Share, "this column")
}

/// A bare number, or one with a unit.
fn number(text: &str, dimension: Dimension, column: &'static str) -> Result<f64, CellError> {
    without_comma(text)?;
    let number = text.parse().ok().or_else(|| parse(text, dimension).ok());
    number
        .filter(|number| (0.0..=LARGEST).contains(number))
        .ok_or(CellError::Number(column))
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
