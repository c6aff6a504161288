//! What a terminal can show, and text as it shows it.

use crate::report::text::{clean, in_ascii, wrap};

/// What the terminal can show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// Columns of a line. Less than 20 is taken as 20: nothing can be read below that.
    pub width: usize,
    /// Whether bold may be used.
    pub color: bool,
    /// Whether only ASCII may be drawn; names stay as they were typed.
    pub ascii: bool,
}

/// Around bold text while lines are put together: both have no width, and cleaned text holds neither.
pub(super) const BOLD: char = '\u{2061}';
pub(super) const END_OF_BOLD: char = '\u{2062}';

impl Look {
    /// Text that may be printed: cleaned, and where only ASCII is drawn, with ASCII for the signs of this program.
    pub(super) fn text(&self, text: &str) -> String {
        let text = clean(text);
        if self.ascii { in_ascii(&text) } else { text }
    }

    /// One line of text with weight, where the terminal has it.
    pub(super) fn strong(&self, line: &str) -> String {
        if self.color && !line.is_empty() {
            format!("{BOLD}{line}{END_OF_BOLD}")
        } else {
            line.to_owned()
        }
    }
}

/// A paragraph whose first line begins with a mark, and whose other lines are set in by `indent` columns.
pub(super) fn hanging(mark: &str, indent: usize, text: &str, width: usize) -> Vec<String> {
    wrap(text, width - indent)
        .iter()
        .enumerate()
        .map(|(index, line)| match index {
            0 => format!("{mark}{line}"),
            _ => format!("{:indent$}{line}", ""),
        })
        .collect()
}
