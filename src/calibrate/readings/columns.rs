//! Which column of a table holds what.

use super::table::{Cell, Line};
use crate::calibrate::error;
use crate::diagnose::{Diagnostic, suggest};

/// Which column holds what.
#[derive(Default)]
pub(in crate::calibrate) struct Columns {
    named: Vec<(&'static str, usize)>,
    /// Columns whose headings begin alike: with what, the rest of the heading, and the index.
    prefixed: Vec<(&'static str, String, usize)>,
    /// Headings that are not used.
    pub unused: Vec<String>,
}

/// A name as headings write it.
pub(in crate::calibrate) fn heading(name: &str) -> String {
    name.to_lowercase().replace([' ', '-'], "_")
}

impl Columns {
    /// Finds the columns that are known by name or by how they begin; those that are `needed` have to be there.
    pub fn find(
        header: &[Cell],
        known: &[&'static str],
        prefixes: &[&'static str],
        needed: &[&str],
        errors: &mut Vec<Diagnostic>,
    ) -> Columns {
        let mut columns = Columns::default();
        let known = || known.iter().copied();
        for (index, cell) in header.iter().enumerate() {
            let name = heading(&cell.text);
            let mut prefixes = prefixes.iter();
            let prefixed = prefixes.find_map(|prefix| Some((*prefix, name.strip_prefix(prefix)?)));
            if let Some((prefix, rest)) = prefixed {
                columns.prefixed.push((prefix, rest.to_owned(), index));
            } else if columns.at(&name).is_some() {
                errors.push(error::second_column(&name, cell.place));
            } else if let Some(column) = known().find(|column| *column == name) {
                columns.named.push((column, index));
            } else if let Some(near) = suggest::closest(&name, known()) {
                errors.push(error::unknown_column(&cell.text, near, cell.place));
            } else if !name.is_empty() {
                columns.unused.push(cell.text.clone());
            }
        }
        let missing = needed.iter().find(|needed| columns.at(needed).is_none());
        if let Some(missing) = missing.filter(|_| errors.is_empty()) {
            let place = header.first().map(|cell| cell.place);
            errors.push(error::missing_column(missing, place));
        }
        columns
    }

    /// Index of the column of that name.
    pub fn at(&self, name: &str) -> Option<usize> {
        let mut named = self.named.iter();
        Some(named.find(|(column, _)| *column == name)?.1)
    }

    /// The cell of the column of that name, where there is one and it is filled.
    pub fn cell<'a>(&self, line: &'a Line, name: &str) -> Option<&'a Cell> {
        line.filled(self.at(name)?)
    }

    /// The columns that begin so: the rest of each heading, and its index.
    pub fn with_prefix(&self, prefix: &str) -> impl Iterator<Item = (&str, usize)> {
        let prefixed = self.prefixed.iter();
        prefixed.filter_map(move |(own, rest, index)| (*own == prefix).then_some((&**rest, *index)))
    }
}
