//! What is wrong at the top of files that are put together.

use crate::diagnose::source::{Place, Sources};
use crate::diagnose::{Diagnostic, ErrorKind};
use crate::inventory::tree::Node;

use super::text::Problem;

/// How many hosts, images or guests one inventory may have, each.
pub(in crate::inventory) const MOST_TABLES: usize = 20_000;

/// Something wrong at the top of a file.
#[derive(Debug)]
pub(in crate::inventory) enum TopProblem<'t> {
    /// `lab` or `policy` is no table.
    NotATable(&'t str, &'t Node),
    /// A key that an earlier file gives: its name, the second place and the first.
    Twice(&'t str, [Place; 2]),
    /// `host`, `image` or `guest` is no list of tables, or holds what is none.
    NotTables(&'t str, &'static str, &'t Node),
    /// Too many of one of them.
    TooMany(&'t str, Place),
    /// `include` is no list of names, or holds what is none.
    NotIncludes(&'static str, &'t Node),
}

impl Problem for TopProblem<'_> {
    fn diagnostic(&self, _: &Sources) -> Diagnostic {
        match self {
            TopProblem::NotATable(key, node) => {
                let message = format!("`{key}` must be a table, but is {}", node.noun());
                Diagnostic::new(ErrorKind::WrongType, message)
                    .at(node.place, "not a table")
                    .hint(format!("open it with [{key}] on a line of its own"))
            }
            TopProblem::Twice(key, [second, first]) => {
                let message = format!("`{key}` is given twice");
                Diagnostic::new(ErrorKind::Duplicate, message)
                    .at(*second, "given again here")
                    .at(*first, "first given here")
                    .hint("keep one of the two; --set changes a value for one run")
            }
            TopProblem::NotTables(key, what, node) => {
                let noun = node.noun();
                let message = format!("`{key}` must be a list of tables, but {what} {noun}");
                Diagnostic::new(ErrorKind::WrongType, message)
                    .at(node.place, "not a list of tables")
                    .hint(format!("open each {key} with [[{key}]], in two brackets"))
            }
            TopProblem::TooMany(key, place) => {
                let message = format!("there are more than {MOST_TABLES} tables [[{key}]]");
                Diagnostic::new(ErrorKind::OutOfRange, message)
                    .at(*place, "the first of them")
                    .hint("split the inventory")
            }
            TopProblem::NotIncludes(what, node) => {
                let noun = node.noun();
                let message = format!("`include` must be a list of file names, but {what} {noun}");
                Diagnostic::new(ErrorKind::WrongType, message)
                    .at(node.place, "not a list of file names")
                    .hint("write include = [\"guests.toml\"]")
            }
        }
    }
}
