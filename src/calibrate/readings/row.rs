//! One line of readings, cell by cell.

use super::columns::Columns;
use super::table::{Cell, Line};
use crate::calibrate::error;
use crate::diagnose::Diagnostic;
use crate::diagnose::source::Place;
use crate::survey::reading::{Settled, WRITTEN};
use crate::unit::parse::{Dimension, ParseFault, parse};
use crate::unit::{format, instant};

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

/// What a text says, or what is wrong with it.
type Read<T> = Result<T, Diagnostic>;

/// One line being read.
pub(super) struct Row<'a> {
    pub line: &'a Line,
    pub columns: &'a Columns,
    pub errors: &'a mut Vec<Diagnostic>,
}

impl<'a> Row<'a> {
    /// The reading, of a host that sees `visible` `[B]`.
    pub fn reading(&mut self, line: usize, visible: f64) -> Option<Reading> {
        let before = self.errors.len();
        let used = self.needed("memory_used", |text| used(text, visible));
        let (used, rounding) = used.unwrap_or_default();
        let [swap_in, swap_out, zero] =
            ["swap_in", "swap_out", "zero_pages"].map(|column| self.amount(column));
        let written = self.each(WRITTEN, amount);
        let beside = self.each(BESIDE, guests).into_iter();
        let reading = Reading {
            place: self.line.place,
            line,
            at: self.optional("time", time),
            guests: self.needed("guests", guests).unwrap_or_default(),
            used,
            rounding,
            settled: self.optional("settled", settled).unwrap_or_default(),
            sharing: self
                .amount("pages_sharing")
                .map(|pages| pages + zero.unwrap_or(0.0)),
            shared: self.amount("pages_shared"),
            beside: beside.map(Option::unwrap_or_default).collect(),
            total: self.size("memory_total"),
            swap_used: self.size("swap_used"),
            swap_rate: swap_in.zip(swap_out).map(|(read, write)| read + write),
            memory_pressure: self.amount("memory_pressure"),
            written: Some(written)
                .filter(|all| !all.is_empty())
                .and_then(|all| all.into_iter().sum()),
            highest: self.size(HIGHEST),
        };
        (self.errors.len() == before).then_some(reading)
    }

    /// What a cell holds, where it is filled.
    fn read<T>(&mut self, cell: Option<&'a Cell>, parse: impl Fn(&str) -> Read<T>) -> Option<T> {
        let cell = cell?;
        let value = parse(&cell.text).map_err(|error| error.at(cell.place, ""));
        value.map_err(|error| self.errors.push(error)).ok()
    }

    fn optional<T>(&mut self, column: &str, parse: impl Fn(&str) -> Read<T>) -> Option<T> {
        self.read(self.columns.cell(self.line, column), parse)
    }

    /// What a cell holds that has to be filled.
    fn needed<T>(&mut self, column: &str, parse: impl Fn(&str) -> Read<T>) -> Option<T> {
        let cell = self.line.filled(self.columns.at(column)?);
        if cell.is_none() {
            self.errors.push(error::empty_cell(column, self.line.place));
        }
        self.read(cell, parse)
    }

    /// What the columns hold that begin so.
    fn each<T>(&mut self, prefix: &str, parse: impl Fn(&str) -> Read<T>) -> Vec<Option<T>> {
        let columns = self.columns.with_prefix(prefix);
        columns
            .map(|(_, index)| self.read(self.line.filled(index), &parse))
            .collect()
    }

    /// A bare number.
    fn amount(&mut self, column: &str) -> Option<f64> {
        self.optional(column, amount)
    }

    /// A size with its unit, or in bytes.
    fn size(&mut self, column: &str) -> Option<f64> {
        self.optional(column, |text| number(text, Dimension::Bytes, column))
    }
}

/// Refuses a number with a comma, which may divide decimals or thousands.
fn without_comma(text: &str) -> Read<()> {
    let mut triples = text.as_bytes().windows(3);
    let is_comma = |triple: &[u8]| matches!(triple, [b'0'..=b'9', b',', b'0'..=b'9']);
    match triples.any(is_comma) {
        true => Err(error::comma(text)),
        false => Ok(()),
    }
}

fn guests(text: &str) -> Read<u64> {
    without_comma(text)?;
    // Spreadsheets like to write 10 as 10.0.
    let guests = text.strip_suffix(".0").unwrap_or(text).parse().ok();
    guests
        .filter(|guests| *guests <= MOST_GUESTS)
        .ok_or_else(|| {
            let wanted = "must be a whole number from 0 to 1,000,000";
            let message = format!("`guests` {wanted}, but is `{text}`");
            error::cell(message, "count the guests that run")
        })
}

/// Memory in use and one step of its last digit `[B]`.
fn used(text: &str, visible: f64) -> Read<(f64, f64)> {
    without_comma(text)?;
    let read = share_or_size(text, visible).or_else(|| match parse(text, Dimension::Bytes) {
        Err(error) if error.fault == ParseFault::TooLarge => Some((f64::INFINITY, 0.0)),
        _ => None,
    });
    let (used, step) = read.ok_or_else(|| {
        error::cell(
            format!("`memory_used` is `{text}`, which is neither a share nor a size"),
            "write 78 % or 0.78 for a share, 61.2 GiB for a size",
        )
    })?;
    if used <= 0.0 || used > visible * SLACK {
        let visible = format::bytes(visible);
        return Err(error::cell(
            format!("`memory_used` is `{text}`, but the host sees {visible}"),
            "a running host uses more than nothing and less than it sees; check --host and its memory",
        ));
    }
    Ok((used, step))
}

fn settled(text: &str) -> Read<Settled> {
    match text.to_lowercase().as_str() {
        "yes" | "y" | "true" | "1" => Ok(Settled::Yes),
        "no" | "n" | "false" | "0" => Ok(Settled::No),
        "unknown" | "?" => Ok(Settled::Unknown),
        _ => Err(error::cell(
            format!("`settled` must be yes, no or unknown, but is `{text}`"),
            "no means: guests have just started",
        )),
    }
}

/// A time `[s]`, as a moment or in seconds.
pub(in crate::calibrate) fn time(text: &str) -> Read<f64> {
    let seconds = instant::seconds(text).or_else(|| text.parse().ok());
    seconds.filter(|time| time.is_finite()).ok_or_else(|| {
        let message = format!("`time` is `{text}`, which is no time");
        error::cell(message, "write 2026-11-25T07:25:00Z, or seconds")
    })
}

fn amount(text: &str) -> Read<f64> {
    number(text, Dimension::Share, "this column")
}

/// A bare number, or one with a unit.
fn number(text: &str, dimension: Dimension, column: &str) -> Read<f64> {
    without_comma(text)?;
    let number = text.parse().ok().or_else(|| parse(text, dimension).ok());
    within_limits(number).ok_or_else(|| error::no_number(text, column))
}

/// A number that a column can hold.
pub(in crate::calibrate) fn within_limits(number: Option<f64>) -> Option<f64> {
    number.filter(|number| (0.0..=LARGEST).contains(number))
}

/// A share or a size, and one step of its last digit `[B]`.
fn share_or_size(text: &str, visible: f64) -> Option<(f64, f64)> {
    let is_unit = |letter: char| !matches!(letter, '0'..='9' | '.' | '+' | '-');
    let (number, unit) = text.split_at(text.find(is_unit).unwrap_or(text.len()));
    let decimals = number.split_once('.').map_or("", |(_, decimals)| decimals);
    let step = 10f64.powi(-i32::try_from(decimals.len().min(300)).unwrap_or(300));
    if unit.trim().is_empty() {
        return match number.parse().ok()? {
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
