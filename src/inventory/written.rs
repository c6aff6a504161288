//! Values as they were written, for sentences.

use crate::diagnose::source::Sources;

use super::tree::{Node, Value};

/// What was written, on one line and without quotes; no value that a person typed is cut.
pub(super) fn source_text(node: &Node, sources: &Sources) -> String {
    const LONGEST: usize = 2_000;
    let text = match &node.value {
        Value::Text(text) => text.trim().to_owned(),
        // A list may go over several lines; a sentence does not.
        _ => {
            let words: Vec<&str> = sources.text(node.place).split_whitespace().collect();
            words.join(" ")
        }
    };
    cut(&text, LONGEST)
}

/// The start of a text that may be long.
pub(super) fn shorten(text: &str) -> String {
    const LONGEST: usize = 60;
    cut(text, LONGEST)
}

fn cut(text: &str, longest: usize) -> String {
    match text.char_indices().nth(longest) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}
