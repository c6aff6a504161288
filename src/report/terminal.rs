//! A document for a terminal, or for a plain text file: prose wrapped at words, tables in columns.
//!
//! The layout has no frames: a light rule is under the headings of a table, tables and cautions are set in from the
//! left. Weight repeats what the words say, so nothing is lost where there is no colour.

mod grid;
mod look;
pub(super) mod plot;

use super::document::{Block, Document, Rank};
use super::text::{verbatim, wrap};
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
    let mut last: Option<(&Block, Rank)> = None;
    for section in &document.sections {
        for block in &section.blocks {
            let lines = lines_of(block, &look);
            if lines.is_empty() {
                continue;
            }
            if last.is_some_and(|last| !is_close(last, (block, section.rank))) {
                out.push('\n');
            }
            last = Some((block, section.rank));
            for line in lines {
                out.push_str(&painted(line.trim_end()));
                out.push('\n');
            }
        }
    }
    out
}

/// Whether there is no blank line between two blocks: cautions, and the prose of a short screen.
fn is_close((block, rank): (&Block, Rank), (next, next_rank): (&Block, Rank)) -> bool {
    let is_prose = |block: &Block| {
        matches!(
            block,
            Block::Lead(_) | Block::Paragraph(_) | Block::Caution { .. } | Block::List(_)
        )
    };
    let is_caution = |block: &Block| matches!(block, Block::Caution { .. });
    let is_short = rank != Rank::Full && next_rank != Rank::Full;
    is_caution(block) && is_caution(next) || is_short && is_prose(block) && is_prose(next)
}

fn lines_of(block: &Block, look: &Look) -> Vec<String> {
    let prose = look.width.min(LONGEST_PROSE);
    match block {
        Block::Heading { text, .. } => weighty(text, look.width, look),
        Block::Lead(text) => weighty(text, prose, look),
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

/// Lines of text with weight.
fn weighty(text: &str, width: usize, look: &Look) -> Vec<String> {
    let lines = wrap(&look.text(text), width).into_iter();
    lines.map(|line| look.strong(&line)).collect()
}

/// The name, the sides below one another, and the source.
fn equation(name: &str, sides: &[String], source: &str, look: &Look) -> Vec<String> {
    let prose = look.width.min(LONGEST_PROSE);
    let mut lines = weighty(name, prose, look);
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
