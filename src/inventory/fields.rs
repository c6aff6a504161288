//! One table of the file, its keys sorted into those of its section.

use crate::diagnose::source::Place;
use crate::diagnose::{Diagnostic, ErrorKind};

use super::tree::{Entry, Node, Table};
use crate::lab::keys::Section;

/// In the place of a key: the table itself.
pub(super) const TABLE: &str = "";

/// The keys of a section that a table gives.
#[derive(Debug)]
pub(super) struct Fields<'t> {
    /// The section.
    pub section: Section,
    /// Key path of the table.
    pub path: String,
    /// Where the table starts; where there is none, where the one around it does.
    pub header: Option<Place>,
    /// The table itself; none if it is left out.
    table: Option<&'t Table>,
}

impl<'t> Fields<'t> {
    /// Sorts the keys of `node`, which is a table or left out.
    pub fn new(
        section: Section,
        path: String,
        node: Option<&'t Node>,
        around: Option<Place>,
    ) -> Fields<'t> {
        let header = node.map_or(around, |node| Some(node.place));
        Fields {
            section,
            path,
            header,
            table: node.and_then(Node::table),
        }
    }

    /// Whether the file has the table.
    pub fn is_present(&self) -> bool {
        self.table.is_some()
    }

    /// What the file says under that key.
    pub fn node(&self, name: &str) -> Option<&'t Node> {
        self.table?.node(name)
    }

    /// Keys that the section does not have.
    pub fn unknown(&self) -> impl Iterator<Item = &'t Entry> {
        let section = self.section;
        let entries = self.table.map_or(&[][..], |table| &table.entries);
        entries
            .iter()
            .filter(move |entry| section.key(&entry.key).is_none())
    }
    /// An error, with what is to be seen at the keys that are given.
    pub fn error(
        &self,
        kind: ErrorKind,
        message: impl Into<String>,
        labels: &[(&str, &str)],
        hint: impl Into<String>,
    ) -> Diagnostic {
        let error = Diagnostic::new(kind, message).hint(hint);
        labels.iter().fold(error, |error, (key, words)| {
            let place = self.node(key).map(|node| node.place);
            let place = match *key {
                TABLE => self.header,
                "devices" => place.or(self.header),
                _ => place,
            };
            error.at_any(place, *words)
        })
    }
}
