//! A document for a terminal, or for a plain text file: prose wrapped at words, tables in columns, bars in blocks.
//!
//! The layout has no frames: headings are underlined, a light rule stands under the headings of a table, tables and
//! cautions are set in from the left. Weight repeats what the words say, so nothing is lost where there is no colour.

mod bar;
mod grid;
mod look;
pub(super) mod plot;

use super::document::{Block, Document};
use super::text::{columns, verbatim, wrap};
pub use look::Look;
use look::{BOLD, END_OF_BOLD, hanging};

/// The narrowest terminal that is served.
const NARROWEST: usize = 20;
/// The widest; no screen is wider, and the arithmetic of columns stays small.
const WIDEST: usize = 1_000;
/// Lines of prose longer than this are hard to follow back to their beginning.
const LONGEST_PROSE: usize = 96;

/// Writes a document as lines that end in a newline, without trailing spaces.
pub fn render(document: &Document, look: &Look) -> String {
    let look = Look {
        width: look.width.clamp(NARROWEST, WIDEST),
        ..*look
    };
    let mut out = String::new();
    let mut last_was_caution = false;
    for block in document.blocks() {
        let lines = lines_of(block, &look);
        if lines.is_empty() {
            continue;
        }
        let is_caution = matches!(block, Block::Caution { .. });
        let is_next_caution = last_was_caution && is_caution;
        if !out.is_empty() && !is_next_caution {
            out.push('\n');
        }
        last_was_caution = is_caution;
        for line in lines {
            out.push_str(&painted(line.trim_end()));
            out.push('\n');
        }
    }
    out
}

fn lines_of(block: &Block, look: &Look) -> Vec<String> {
    let prose = look.width.min(LONGEST_PROSE);
    match block {
        Block::Heading { level, text } => heading(*level, text, look),
        Block::Lead(text) => wrap(&look.text(text), prose)
            .into_iter()
            .map(|line| look.strong(&line))
            .collect(),
        Block::Paragraph(text) => wrap(&look.text(text), prose),
        Block::Equation {
            name,
            sides,
            source,
        } => equation(name, sides, source, look),
        Block::Table(table) => grid::lines(table, look),
        Block::List(notes) => notes
            .iter()
            .flat_map(|note| hanging("- ", 2, &look.text(note), prose))
            .collect(),
        // Neither wrapped nor respelled: it is to be copied.
        Block::Code(text) => verbatim(text)
            .iter()
            .map(|line| format!("    {line}"))
            .collect(),
        Block::Chart { chart, file } => {
            let mut lines = plot::lines(chart, look);
            if let Some(file) = file {
                lines.extend(wrap(&look.text(&format!("Drawn to {file}.")), prose));
            }
            lines
        }
        Block::Caution { text, .. } => hanging("! ", 2, &look.text(text), prose),
    }
}

fn heading(level: u8, text: &str, look: &Look) -> Vec<String> {
    let lines = wrap(&look.text(text), look.width);
    let rule = match (level, look.ascii) {
        (0 | 1, false) => "━",
        (0 | 1, true) => "=",
        (2, false) => "─",
        (2, true) => "-",
        (_, false) => "┄",
        (_, true) => "~",
    };
    let longest = lines.iter().map(|line| columns(line)).max();
    let mut lines: Vec<String> = lines.iter().map(|line| look.strong(line)).collect();
    lines.extend(longest.map(|longest| rule.repeat(longest)));
    lines
}

/// The name, the sides below one another, and the source.
fn equation(name: &str, sides: &[String], source: &str, look: &Look) -> Vec<String> {
    let prose = look.width.min(LONGEST_PROSE);
    let mut lines: Vec<String> = wrap(&look.text(name), prose)
        .iter()
        .map(|line| look.strong(line))
        .collect();
    for side in sides {
        lines.extend(hanging("  = ", 4, &look.text(side), prose));
    }
    let source = format!("source: {source}");
    lines.extend(hanging("  ", 2, &look.text(&source), prose));
    lines
}

/// The line with its weight as the escape sequences of a terminal.
fn painted(line: &str) -> String {
    line.replace(BOLD, "\u{1b}[1m")
        .replace(END_OF_BOLD, "\u{1b}[0m")
}

#[cfg(test)]
mod tests;
