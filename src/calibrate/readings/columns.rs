//! Which column of a table holds what.

use super::table::Table;
use crate::calibrate::error::{Error, Fault};
use crate::diagnose::suggest;
use crate::survey::reading::{WRITTEN, headings};

/// The highest memory that any guest has been seen to touch; people add it by hand.
pub(super) const HIGHEST: &str = "guest_highest";

/// How the columns begin that count the guests of another kind, which run beside those that are read.
pub(super) const BESIDE: &str = "guests_";

/// Which column holds what.
#[derive(Default)]
pub(super) struct Columns {
    named: Vec<(&'static str, usize)>,
    pub written: Vec<usize>,
    /// Kinds that run beside the one that is read.
    pub beside: Vec<(String, usize)>,
    pub unused: Vec<String>,
}

/// A name as headings write it.
pub(super) fn heading(name: &str) -> String {
    name.to_lowercase().replace([' ', '-'], "_")
}

impl Columns {
    pub fn find(table: &Table, errors: &mut Vec<Error>) -> Columns {
        let mut columns = Columns::default();
        let known = || headings().into_iter().chain([HIGHEST]);
        for (index, cell) in table.header.iter().enumerate() {
            let name = heading(&cell.text);
            if name.starts_with(WRITTEN) {
                columns.written.push(index);
            } else if let Some(kind) = name.strip_prefix(BESIDE) {
                columns.beside.push((kind.to_owned(), index));
            } else if let Some(column) = known().find(|column| *column == name) {
                if columns.at(column).is_some() {
                    errors.push(Fault::SecondColumn(column).at(cell.place));
                } else {
                    columns.named.push((column, index));
                }
            } else if let Some(near) = suggest::closest(&name, known()) {
                errors.push(Fault::UnknownColumn(cell.text.clone(), near).at(cell.place));
            } else if !name.is_empty() {
                columns.unused.push(cell.text.clone());
            }
        }
        for needed in ["guests", "memory_used"] {
            if columns.at(needed).is_none() && errors.is_empty() {
                let place = table.header.first().map(|cell| cell.place);
                errors.push(Fault::MissingColumn(needed).at(place));
            }
        }
        columns
    }

    pub fn at(&self, name: &str) -> Option<usize> {
        let mut named = self.named.iter();
        named
            .find(|(column, _)| *column == name)
            .map(|(_, index)| *index)
    }
}
