//! Texts of files and names of the system as they may be shown: on a screen, on a page, in a picture.
//!
//! Somebody else may have written them. Control characters could move the cursor or recolour a screen, direction marks
//! could show a name in another order than it is typed, and no XML may hold a noncharacter.

/// What takes the place of a character that must not be shown.
pub const REPLACEMENT: char = '\u{FFFD}';

/// Whether a character draws something and changes nothing around it.
///
/// No control character (U+0000–U+001F, U+007F–U+009F), no mark that turns the direction of text, no tag, no separator
/// of lines, no noncharacter. The joiners and selectors that emoji and some scripts need are printable.
pub fn is_printable(letter: char) -> bool {
    let is_noncharacter =
        u32::from(letter) & 0xFFFE == 0xFFFE || matches!(letter, '\u{FDD0}'..='\u{FDEF}');
    let changes_others = matches!(
        letter,
        '\u{00AD}'
            | '\u{061C}'
            | '\u{180E}'
            | '\u{200B}'
            | '\u{200E}'
            | '\u{200F}'
            | '\u{2028}'..='\u{202E}'
            | '\u{2060}'..='\u{206F}'
            | '\u{FEFF}'
            | '\u{FFF9}'..='\u{FFFB}'
            | '\u{E0000}'..='\u{E007F}'
    );
    !(letter.is_control() || is_noncharacter || changes_others)
}

/// The text in one line: tabs and line breaks become spaces, what must not be shown becomes [`REPLACEMENT`].
///
/// # Example
/// ```
/// use berthage::unit::printable::printable;
/// assert_eq!(printable("a\tb\u{9b}31m\u{202e}\u{fffe}"), "a b\u{fffd}31m\u{fffd}\u{fffd}");
/// ```
pub fn printable(text: &str) -> String {
    let shown = |letter| match letter {
        '\t' | '\n' | '\r' | '\u{2028}' | '\u{2029}' => ' ',
        _ if is_printable(letter) => letter,
        _ => REPLACEMENT,
    };
    text.chars().map(shown).collect()
}

#[cfg(test)]
mod tests {
    use super::is_printable;

    #[test]
    fn what_moves_turns_or_hides_is_not_printable() {
        // Unicode Standard, chapter 23: control codes, bidirectional marks, tags, noncharacters.
        for letter in ['\0', '\u{1b}', '\u{7f}', '\u{80}', '\u{9b}', '\u{9f}'] {
            assert!(!is_printable(letter), "{letter:?}");
        }
        for letter in "\u{61c}\u{200e}\u{202a}\u{202e}\u{2066}\u{2069}".chars() {
            assert!(!is_printable(letter), "{letter:?}");
        }
        for letter in
            "\u{e0001}\u{e0041}\u{e007f}\u{fffe}\u{ffff}\u{1fffe}\u{10ffff}\u{fdd0}".chars()
        {
            assert!(!is_printable(letter), "{letter:?}");
        }
        for letter in "a ä中\u{a0}\u{200d}\u{fe0f}\u{fffd}".chars() {
            assert!(is_printable(letter), "{letter:?}");
        }
    }
}
