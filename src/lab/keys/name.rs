//! What a name may be.

use crate::unit::printable::is_printable;

/// Longest name that an inventory takes `[characters]`.
pub const LONGEST_NAME: usize = 64;

/// Whether an inventory takes a text as a name: 1 to 64 characters, not all blank, none that changes how the text
/// around it is shown.
///
/// # Example
/// ```
/// use berthage::lab::is_name;
/// assert!(is_name("shelf-a") && !is_name(" ") && !is_name("a\u{feff}") && !is_name(&"a".repeat(65)));
/// ```
pub fn is_name(text: &str) -> bool {
    text.chars().count() <= LONGEST_NAME
        && !text.trim().is_empty()
        && text.chars().all(is_printable)
}
