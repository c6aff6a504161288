//! Readings: a table of figures of the running host → numbers in base units.

use self::columns::Columns;
pub use self::row::Reading;
use self::row::Row;
use super::error;
use crate::diagnose::source::{Medium, Sources};
use crate::diagnose::{Diagnostics, MOST_KEPT};

mod columns;
mod row;
mod table;

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
