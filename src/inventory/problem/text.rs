//! What every problem has: a text.

use crate::diagnose::Diagnostic;
use crate::diagnose::source::Sources;

/// Something wrong with the values of an inventory.
pub(in crate::inventory) trait Problem {
    /// The text, with its places and what to do about it.
    fn diagnostic(&self, sources: &Sources) -> Diagnostic;
}
