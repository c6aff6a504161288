//! What a name may be.

/// Longest name that an inventory takes `[characters]`.
pub const LONGEST_NAME: usize = 64;

/// Line separators and marks that turn the direction of text would change the report around a name.
pub fn is_unprintable(letter: char) -> bool {
    letter.is_control()
        || matches!(letter, '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{206F}' | '\u{FEFF}')
}

/// Whether an inventory takes a text as a name: 1 to 64 characters, not all blank, none that changes what stands around
/// it.
///
/// # Example
/// ```
/// use berthage::lab::is_name;
/// assert!(is_name("shelf-a") && !is_name(" ") && !is_name("a\u{feff}") && !is_name(&"a".repeat(65)));
/// ```
#[must_use]
pub fn is_name(text: &str) -> bool {
    text.chars().count() <= LONGEST_NAME
        && !text.trim().is_empty()
        && !text.contains(is_unprintable)
}
