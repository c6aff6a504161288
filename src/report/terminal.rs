//! A document for a terminal, or for a plain text file: prose wrapped at words, tables in columns, bars in blocks.
//!
//! The layout has no frames: headings are underlined, a light rule stands under the headings of a table, tables and
//! cautions are set in from the left. Weight repeats what the words say, so nothing is lost where there is no colour.

mod bar;
mod grid;
pub(super) mod plot;

use super::document::{Block, Document};
use super::text::{clean, columns, in_ascii, verbatim, wrap};

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

/// The narrowest terminal that is served.
const NARROWEST: usize = 20;
/// The widest; no screen is wider, and the arithmetic of columns stays small.
const WIDEST: usize = 1_000;
/// Lines of prose longer than this are hard to follow back to their beginning.
const LONGEST_PROSE: usize = 96;

/// Around bold text while lines are put together: both have no width, and cleaned text holds neither.
const BOLD: char = '\u{2061}';
const END_OF_BOLD: char = '\u{2062}';

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

/// A paragraph whose first line begins with a mark, and whose other lines are set in by `indent` columns.
fn hanging(mark: &str, indent: usize, text: &str, width: usize) -> Vec<String> {
    wrap(text, width - indent)
        .iter()
        .enumerate()
        .map(|(index, line)| match index {
            0 => format!("{mark}{line}"),
            _ => format!("{:indent$}{line}", ""),
        })
        .collect()
}

/// The line with its weight as the escape sequences of a terminal.
fn painted(line: &str) -> String {
    line.replace(BOLD, "\u{1b}[1m")
        .replace(END_OF_BOLD, "\u{1b}[0m")
}

impl Look {
    /// Text that may be printed: cleaned, and where only ASCII is drawn, with ASCII for the signs of this program.
    fn text(&self, text: &str) -> String {
        let text = clean(text);
        if self.ascii { in_ascii(&text) } else { text }
    }

    /// One line of text with weight, where the terminal has it.
    fn strong(&self, line: &str) -> String {
        if self.color && !line.is_empty() {
            format!("{BOLD}{line}{END_OF_BOLD}")
        } else {
            line.to_owned()
        }
    }
}

#[cfg(test)]
mod tests;
