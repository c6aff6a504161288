//! Readings: a table of figures of the running host → numbers in base units.

use self::row::Row;
use super::cells::{self, Table};
use crate::diagnose::ErrorKind;
use crate::diagnose::source::{Medium, Place, Sources};
use crate::diagnose::{Diagnostic, Diagnostics, MOST_KEPT, suggest};
use crate::survey::reading::{Settled, WRITTEN, headings};

mod row;

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
    let table =
        cells::table(text, source).map_err(|errors| Diagnostics::new(sources.clone(), errors))?;
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
        Err(Diagnostics::new(sources, errors))
    }
}

/// Which column holds what.
struct Columns {
    named: Vec<(&'static str, usize)>,
    written: Vec<usize>,
    unused: Vec<String>,
}

impl Columns {
    fn find(table: &Table, errors: &mut Vec<Diagnostic>) -> Columns {
        let mut columns = Columns {
            named: Vec::new(),
            written: Vec::new(),
            unused: Vec::new(),
        };
        let known = || headings().into_iter().chain([HIGHEST]);
        for (index, cell) in table.header.iter().enumerate() {
            let name = cell.text.to_lowercase().replace([' ', '-'], "_");
            if name.starts_with(WRITTEN) {
                columns.written.push(index);
                continue;
            }
            match known().find(|column| *column == name) {
                Some(column) if columns.at(column).is_some() => {
                    let error = Diagnostic::new(
                        ErrorKind::InvalidHeading,
                        format!("there are two columns `{column}`"),
                    );
                    errors.push(
                        error
                            .at(cell.place, "said again")
                            .hint("take one of them out"),
                    );
                }
                Some(column) => columns.named.push((column, index)),
                None => match suggest::closest(&name, known()) {
                    Some(near) => {
                        let error = Diagnostic::new(
                            ErrorKind::InvalidHeading,
                            format!("there is no column `{}`", cell.text),
                        );
                        errors.push(
                            error
                                .at(cell.place, "")
                                .hint(format!("did you mean `{near}`?")),
                        );
                    }
                    None if name.is_empty() => {}
                    None => columns.unused.push(cell.text.clone()),
                },
            }
        }
        for needed in ["guests", "memory_used"] {
            if columns.at(needed).is_none() && errors.is_empty() {
                let place = table.header.first().map(|cell| cell.place);
                let error = Diagnostic::new(
                    ErrorKind::InvalidHeading,
                    format!("a column `{needed}` has to be there"),
                )
                .at_any(place, "the headings")
                .hint("readings need at least guests,memory_used,settled");
                errors.push(error);
            }
        }
        columns
    }

    fn at(&self, name: &str) -> Option<usize> {
        self.named
            .iter()
            .find(|(column, _)| *column == name)
            .map(|(_, index)| *index)
    }
}
