//! One line of readings, cell by cell.

use super::{Columns, HIGHEST, Reading};
use crate::calibrate::cells::{Cell, Line};
use crate::diagnose::Diagnostic;
use crate::diagnose::ErrorKind;
use crate::survey::reading::Settled;
use crate::unit::instant;
use crate::unit::parse::{Dimension, ParseError, parse};

/// Bare numbers from here on are bytes: no share and no count of anything else is that large.
const SURELY_BYTES: f64 = 16_777_216.0;
/// Room for rounding above all the memory there is.
const SLACK: f64 = 1.005;
/// Most guests that are believed.
const MOST_GUESTS: u64 = 1_000_000;

/// One line being read.
pub(super) struct Row<'a> {
    pub line: &'a Line,
    pub columns: &'a Columns,
    pub visible: f64,
    pub errors: &'a mut Vec<Diagnostic>,
}

impl Row<'_> {
    pub fn reading(&mut self, line: usize) -> Option<Reading> {
        let before = self.errors.len();
        let guests = self.guests();
        let used = self.needed("memory_used").and_then(|cell| self.used(&cell));
        let settled = self.settled();
        let swap = [self.amount("swap_in"), self.amount("swap_out")];
        let written: Vec<f64> = self
            .columns
            .written
            .clone()
            .into_iter()
            .filter_map(|index| self.amount_at(index))
            .collect();
        let zero = self.amount("zero_pages");
        let reading = Reading {
            place: self.line.place,
            line,
            at: self.time(),
            guests: guests.unwrap_or(0),
            used: used.map_or(0.0, |used| used.0),
            rounding: used.map_or(0.0, |used| used.1),
            settled: settled.unwrap_or_default(),
            sharing: self
                .amount("pages_sharing")
                .map(|pages| pages + zero.unwrap_or(0.0)),
            total: self.size("memory_total"),
            swap_used: self.size("swap_used"),
            swap_rate: swap[0].zip(swap[1]).map(|(one, other)| one + other),
            memory_pressure: self.amount("memory_pressure"),
            written: (!written.is_empty() && written.len() == self.columns.written.len())
                .then(|| written.iter().sum()),
            highest: self.size(HIGHEST),
        };
        (self.errors.len() == before).then_some(reading)
    }

    fn cell(&self, name: &str) -> Option<Cell> {
        let cell = self.line.cells.get(self.columns.at(name)?)?;
        (!cell.text.is_empty()).then(|| cell.clone())
    }

    /// A cell that has to be filled.
    fn needed(&mut self, name: &str) -> Option<Cell> {
        let cell = self.cell(name);
        if cell.is_none() && self.columns.at(name).is_some() {
            let error = Diagnostic::new(ErrorKind::InvalidCell, format!("`{name}` is empty"));
            self.errors.push(
                error
                    .at(self.line.place, "this reading")
                    .hint("fill it in, or take the line out"),
            );
        }
        cell
    }

    fn report(&mut self, kind: ErrorKind, message: String, cell: &Cell, hint: &str) {
        self.errors
            .push(Diagnostic::new(kind, message).at(cell.place, "").hint(hint));
    }

    /// Whether a number may be read; one with a comma has two readings.
    fn is_plain(&mut self, cell: &Cell) -> bool {
        let mut letters = cell.text.chars().peekable();
        let mut last = ' ';
        while let Some(letter) = letters.next() {
            if letter == ','
                && last.is_ascii_digit()
                && letters.peek().is_some_and(char::is_ascii_digit)
            {
                let point = cell.text.replace(',', ".");
                let hint = format!(
                    "write {point} if it is a decimal comma, or leave out a mark between thousands"
                );
                self.report(
                    ErrorKind::DecimalComma,
                    format!("`{}` has a comma in a number", cell.text),
                    cell,
                    &hint,
                );
                return false;
            }
            last = letter;
        }
        true
    }

    fn guests(&mut self) -> Option<u64> {
        let cell = self.needed("guests")?;
        if !self.is_plain(&cell) {
            return None;
        }
        // Spreadsheets like to write 10 as 10.0.
        let whole = cell.text.strip_suffix(".0").unwrap_or(&cell.text);
        match whole.parse::<u64>() {
            Ok(guests) if guests <= MOST_GUESTS => Some(guests),
            _ => {
                let message = format!(
                    "`guests` must be a whole number from 0 to 1,000,000, but is `{}`",
                    cell.text
                );
                self.report(
                    ErrorKind::InvalidCell,
                    message,
                    &cell,
                    "count the guests that run",
                );
                None
            }
        }
    }

    /// Memory in use and one step of its last digit `[B]`.
    fn used(&mut self, cell: &Cell) -> Option<(f64, f64)> {
        if !self.is_plain(cell) {
            return None;
        }
        let read = amount(&cell.text, self.visible);
        let is_too_large = |error| matches!(error, ParseError::TooLarge { .. });
        let read = read.or_else(|| {
            let size = parse(&cell.text, Dimension::Bytes);
            size.is_err_and(is_too_large)
                .then_some((f64::INFINITY, 0.0))
        });
        let Some((used, step)) = read else {
            let message = format!(
                "`memory_used` is `{}`, which is neither a share nor a size",
                cell.text
            );
            self.report(
                ErrorKind::InvalidCell,
                message,
                cell,
                "write 78 % or 0.78 for a share, 61.2 GiB for a size",
            );
            return None;
        };
        if used <= 0.0 || used > self.visible * SLACK {
            let message = format!(
                "`memory_used` is `{}`, but the host sees {}",
                cell.text,
                crate::unit::format::bytes(self.visible)
            );
            self.report(ErrorKind::InvalidCell, message, cell, "a running host uses more than nothing and less than it sees; check --host and its memory");
            return None;
        }
        Some((used, step))
    }

    fn settled(&mut self) -> Option<Settled> {
        let Some(cell) = self.cell("settled") else {
            return Some(Settled::Unknown);
        };
        match cell.text.to_lowercase().as_str() {
            "yes" | "y" | "true" | "1" => Some(Settled::Yes),
            "no" | "n" | "false" | "0" => Some(Settled::No),
            "unknown" | "?" => Some(Settled::Unknown),
            _ => {
                let message = format!(
                    "`settled` must be yes, no or unknown, but is `{}`",
                    cell.text
                );
                self.report(
                    ErrorKind::InvalidCell,
                    message,
                    &cell,
                    "no means: guests have just started",
                );
                None
            }
        }
    }

    fn time(&mut self) -> Option<f64> {
        let cell = self.cell("time")?;
        let seconds = instant::seconds(&cell.text)
            .or_else(|| cell.text.parse().ok())
            .filter(|time: &f64| time.is_finite());
        if seconds.is_none() {
            let message = format!("`time` is `{}`, which is no time", cell.text);
            self.report(
                ErrorKind::InvalidCell,
                message,
                &cell,
                "write 2026-11-25T07:25:00Z, or seconds",
            );
        }
        seconds
    }

    /// A size with its unit, or in bytes.
    fn size(&mut self, name: &str) -> Option<f64> {
        let cell = self.cell(name)?;
        if !self.is_plain(&cell) {
            return None;
        }
        let bytes = cell
            .text
            .parse::<f64>()
            .ok()
            .or_else(|| parse(&cell.text, Dimension::Bytes).ok());
        self.judged(name, bytes, &cell)
    }

    /// A bare number.
    fn amount(&mut self, name: &str) -> Option<f64> {
        let index = self.columns.at(name)?;
        self.amount_at(index)
    }

    fn amount_at(&mut self, index: usize) -> Option<f64> {
        let cell = self
            .line
            .cells
            .get(index)
            .filter(|cell| !cell.text.is_empty())?
            .clone();
        if !self.is_plain(&cell) {
            return None;
        }
        let number = cell
            .text
            .parse()
            .ok()
            .or_else(|| parse(&cell.text, Dimension::Share).ok());
        self.judged("this column", number, &cell)
    }

    fn judged(&mut self, name: &str, number: Option<f64>, cell: &Cell) -> Option<f64> {
        let good = number.filter(|number| (0.0..=1e18).contains(number));
        if good.is_none() {
            let message = format!("`{}` is no number that {name} can hold", cell.text);
            self.report(
                ErrorKind::InvalidCell,
                message,
                cell,
                "leave the cell empty where nothing was read",
            );
        }
        good
    }
}

/// A share or a size, and one step of its last digit `[B]`.
fn amount(text: &str, visible: f64) -> Option<(f64, f64)> {
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
