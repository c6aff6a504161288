//! Readings: a table of figures of the running host → numbers in base units.

use self::columns::Columns;
pub use self::row::Reading;
use self::row::Row;
use super::error;
use crate::diagnose::source::{Medium, Place, Sources};
use crate::diagnose::{Diagnostics, MOST_KEPT};
use crate::lab::Lab;
use crate::survey::reading::{WRITTEN, headings};

pub(super) mod columns;
pub(super) mod row;
pub(super) mod table;

/// All readings of a file, in its order.
#[derive(Debug, Clone)]
pub struct Readings {
    /// The text of the file.
    pub sources: Sources,
    /// The readings.
    pub list: Vec<Reading>,
    /// Headings that were not used.
    pub unused: Vec<String>,
    /// Kinds of guests that are counted in columns of their own, each with its heading.
    pub beside: Vec<(String, Place)>,
    /// Where the headings begin.
    headings: Option<Place>,
}

impl Readings {
    /// Puts the counts of other kinds, which columns name, in the order of the lab's guests; `read` is the kind that
    /// `guests` counts.
    ///
    /// # Errors
    /// Where a column counts a kind that the lab does not have, or the one that is read, and where none counts a kind that
    /// runs by the lab.
    pub fn beside(&mut self, lab: &Lab, read: usize) -> Result<(), Diagnostics> {
        let failed = |errors| Err(Diagnostics::new(self.sources.clone(), errors));
        let others = lab.guests.iter().enumerate();
        let others: Vec<_> = others.filter(|(index, _)| *index != read).collect();
        let mut columns = Vec::new();
        for (kind, place) in &self.beside {
            let mut found = others.iter();
            let found = found.find(|(_, guest)| columns::heading(&guest.name) == *kind);
            let Some((index, _)) = found else {
                let known: Vec<&str> = others.iter().map(|(_, guest)| &*guest.name).collect();
                return failed(vec![error::unknown_kind(kind, &known, *place)]);
            };
            columns.push(*index);
        }
        let mut uncounted = Vec::new();
        for (index, guest) in others {
            if guest.count > 0 && !columns.contains(&index) {
                let column = format!("{}{}", row::BESIDE, columns::heading(&guest.name));
                uncounted.push(error::not_counted(&guest.name, &column, self.headings));
            }
        }
        if !uncounted.is_empty() {
            return failed(uncounted);
        }
        for reading in &mut self.list {
            let mut counts = vec![0; lab.guests.len()];
            for (guest, count) in columns.iter().zip(&reading.beside) {
                counts[*guest] += count;
            }
            reading.beside = counts;
        }
        Ok(())
    }
}

/// Reads the text of the file called `name`; shares are of `visible` `[B]`.
///
/// # Errors
/// Everything that is wrong with the table, at once.
pub fn read(name: &str, text: &str, visible: f64) -> Result<Readings, Diagnostics> {
    let mut sources = Sources::default();
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let source = sources.add(name, text, Medium::File);
    let failed = |errors| Diagnostics::new(sources.clone(), errors);
    let (header, lines) = table::table(text, source).map_err(failed)?;
    let mut errors = Vec::new();
    let known: Vec<&str> = headings().into_iter().chain([row::HIGHEST]).collect();
    let prefixes = [WRITTEN, row::BESIDE];
    let needed = ["guests", "memory_used"];
    let columns = Columns::find(&header, &known, &prefixes, &needed, &mut errors);
    let mut list = Vec::new();
    for line in &lines {
        if errors.len() >= MOST_KEPT {
            break;
        }
        let mut row = Row {
            line,
            columns: &columns,
            errors: &mut errors,
        };
        list.extend(row.reading(sources.line(line.place), visible));
    }
    if !errors.is_empty() {
        return Err(failed(errors));
    }
    let beside = columns.with_prefix(row::BESIDE);
    let beside = beside.map(|(kind, index)| (kind.to_owned(), header[index].place));
    Ok(Readings {
        list,
        beside: beside.collect(),
        headings: header.first().map(|cell| cell.place),
        unused: columns.unused,
        sources,
    })
}
