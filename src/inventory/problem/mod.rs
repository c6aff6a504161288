//! What can be wrong with the values of an inventory: enums that carry the data, and the text for each.

mod keys;
mod merge;
mod relations;
mod set;
mod text;
mod values;

pub(super) use self::keys::{KeyProblem, NameProblem};
pub(super) use self::merge::{MOST_TABLES, TopProblem};
pub(super) use self::relations::Relation;
pub(super) use self::set::{SetFault, SetProblem};
pub(super) use self::text::Problem;
pub(super) use self::values::{Fault, LONGEST_LIST, ValueProblem};
