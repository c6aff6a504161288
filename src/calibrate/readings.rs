//! Readings: a table of figures of the running host → numbers in base units.

use self::row::Row;
use self::table::Table;
use super::error::{self, Error};
use crate::diagnose::source::{Medium, Place, Sources};
use crate::diagnose::{Diagnostics, MOST_KEPT, suggest};
use crate::survey::reading::{Settled, WRITTEN, headings};

mod row;
mod table;

/// The highest memory that any guest has been seen to touch; people add it by hand.
const HIGHEST: &str = "guest_highest";

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
    /// Memory that the kernel says it sees `[B]`.
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

/// All readings of a file, in its order.
#[derive(Debug, Clone)]
pub struct Readings {
    /// The text they stand in.
    pub sources: Sources,
    /// The readings.
    pub list: Vec<Reading>,
    /// Headings that were not used.
    pub unused: Vec<String>,
}

/// Reads the text of the file called `name`; shares are of `visible` `[B]`.
///
/// # Errors
/// Everything that is wrong with the table, at once.
pub fn read(name: &str, text: &str, visible: f64) -> Result<Readings, Diagnostics> {
    let mut sources = Sources::default();
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let source = sources.add(name, text, Medium::File);
    let table = table::table(text, source).map_err(|errors| error::report(&sources, &errors))?;
    let mut errors = Vec::new();
    let columns = Columns::find(&table, &mut errors);
    let mut list = Vec::new();
    for line in &table.lines {
        if errors.len() >= MOST_KEPT {
            break;
        }
        let mut row = Row {
            line,
            columns: &columns,
            visible,
            errors: &mut errors,
        };
        list.extend(row.reading(sources.line(line.place)));
    }
    if errors.is_empty() {
        Ok(Readings {
            sources,
            list,
            unused: columns.unused,
        })
    } else {
        Err(error::report(&sources, &errors))
    }
}

/// Which column holds what.
#[derive(Default)]
struct Columns {
    named: Vec<(&'static str, usize)>,
    written: Vec<usize>,
    unused: Vec<String>,
}

impl Columns {
    fn find(table: &Table, errors: &mut Vec<Error>) -> Columns {
        let mut columns = Columns::default();
        let known = || headings().into_iter().chain([HIGHEST]);
        for (index, cell) in table.header.iter().enumerate() {
            let name = cell.text.to_lowercase().replace([' ', '-'], "_");
            if name.starts_with(WRITTEN) {
                columns.written.push(index);
            } else if let Some(column) = known().find(|column| *column == name) {
                if columns.at(column).is_some() {
                    errors.push(Error::SecondColumn(column, cell.place));
                } else {
                    columns.named.push((column, index));
                }
            } else if let Some(near) = suggest::closest(&name, known()) {
                errors.push(Error::UnknownColumn {
                    name: cell.text.clone(),
                    near,
                    place: cell.place,
                });
            } else if !name.is_empty() {
                columns.unused.push(cell.text.clone());
            }
        }
        for needed in ["guests", "memory_used"] {
            if columns.at(needed).is_none() && errors.is_empty() {
                let place = table.header.first().map(|cell| cell.place);
                errors.push(Error::MissingColumn(needed, place));
            }
        }
        columns
    }

    fn at(&self, name: &str) -> Option<usize> {
        let mut named = self.named.iter();
        named
            .find(|(column, _)| *column == name)
            .map(|(_, index)| *index)
    }
}
