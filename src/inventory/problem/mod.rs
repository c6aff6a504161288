//! What can be wrong with the values of an inventory: enums that carry the data, and the text for each.

mod keys;
mod merge;
mod relations;
mod values;

use crate::diagnose::Diagnostic;
use crate::diagnose::source::Sources;

pub(super) use self::keys::{KeyProblem, NameProblem};
pub(super) use self::merge::{MOST_TABLES, TopProblem};
pub(super) use self::relations::Relation;
pub(super) use self::values::{Fault, LONGEST_LIST, ValueProblem};

/// Something wrong with the values of an inventory.
pub(super) trait Problem {
    /// The text, with its places and what to do about it.
    fn diagnostic(&self, sources: &Sources) -> Diagnostic;
}
