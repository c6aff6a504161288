//! A document in Markdown: CommonMark with pipe tables, for a build log or a wiki.
//!
//! Every text is written so that it shows as it is: names may hold any character, and none may end a cell, start a
//! heading or smuggle in a link.

use super::chart::Chart;
use super::document::{Block, Document};
use super::table::{Align, Cell, Table};
use super::terminal::{Look, plot};
use super::text::{clean, columns, in_ascii, verbatim};

/// How a picture in characters looks.
const PICTURE: Look = Look {
    width: 76,
    color: false,
    ascii: false,
};

/// Writes a document as Markdown, blocks apart by a blank line.
pub fn render(document: &Document) -> String {
    written(document, &PICTURE)
}

/// The same in ASCII but for names, which stay as they were typed, and text that is to be copied.
pub fn render_ascii(document: &Document) -> String {
    let mut document = document.clone();
    document.respell(in_ascii);
    let look = Look {
        ascii: true,
        ..PICTURE
    };
    written(&document, &look)
}

fn written(document: &Document, look: &Look) -> String {
    let mut out = String::new();
    let mut last_bullet = None;
    for block in document.blocks() {
        let is_list = matches!(block, Block::List(_));
        // Two lists in a row are only two lists if their bullets differ.
        let bullet = if last_bullet == Some('-') { '*' } else { '-' };
        let written = match block {
            Block::Heading { level, text } => {
                let mark = "#".repeat(usize::from((*level).clamp(1, 6))) + " ";
                marked(&mark, &inline(text))
            }
            Block::Lead(text) => strong(text),
            Block::Paragraph(text) => line_start(&inline(text)),
            Block::Equation {
                name,
                sides,
                source,
            } => equation(name, sides, source),
            Block::Table(table) => pipes(table),
            Block::List(notes) => list(notes, bullet),
            Block::Code(text) => fenced(text),
            Block::Chart { chart, file } => picture(chart, file.as_deref(), look),
            Block::Caution { text, .. } => marked("> **Caution.** ", &inline(text)),
        };
        if written.is_empty() {
            continue;
        }
        if !out.is_empty() {
            out.push('\n');
        }
        out.push_str(&written);
        out.push('\n');
        last_bullet = is_list.then_some(bullet);
    }
    out
}

/// The text after its mark; without text there is nothing to mark.
fn marked(mark: &str, text: &str) -> String {
    if text.is_empty() {
        String::new()
    } else {
        format!("{mark}{text}")
    }
}

/// The name, the sides below one another with hard line breaks, and the source.
fn equation(name: &str, sides: &[String], source: &str) -> String {
    let last = sides.len().saturating_sub(1);
    let mut lines = vec![line_start(&strong(name))];
    lines.extend(sides.iter().enumerate().map(|(index, side)| {
        let side = if index == last {
            strong(side)
        } else {
            inline(side)
        };
        format!("\\= {side}")
    }));
    lines.push(format!("source: {}", inline(source)));
    lines.join("\\\n")
}

/// The picture that was drawn to a file, or the same in characters where none was.
fn picture(chart: &Chart, file: Option<&str>, look: &Look) -> String {
    match file {
        Some(file) => format!("![{}](<{}>)", inline(&chart.alt), destination(file)),
        None => {
            let lines = plot::lines(chart, look);
            format!("~~~~text\n{}\n~~~~", lines.join("\n"))
        }
    }
}

/// Text between fences that are longer than any in it.
fn fenced(text: &str) -> String {
    let lines = verbatim(text);
    if lines.is_empty() {
        return String::new();
    }
    let longest = lines
        .iter()
        .map(|line| line.len() - line.trim_start_matches([' ', '~']).len())
        .max();
    let fence = "~".repeat(longest.unwrap_or(0).max(2) + 1);
    format!("{fence}text\n{}\n{fence}", lines.join("\n"))
}

/// A file name between the angle brackets of a link.
fn destination(file: &str) -> String {
    let mut out = String::with_capacity(file.len());
    for letter in clean(file).chars() {
        if matches!(letter, '<' | '>' | '\\') {
            out.push('\\');
        }
        out.push(letter);
    }
    out
}

fn list(notes: &[String], bullet: char) -> String {
    let mark = format!("{bullet} ");
    let items = notes
        .iter()
        .map(|note| marked(&mark, &line_start(&inline(note))));
    items
        .filter(|item| !item.is_empty())
        .collect::<Vec<_>>()
        .join("\n")
}

fn strong(text: &str) -> String {
    let text = inline(text);
    if text.is_empty() {
        text
    } else {
        format!("**{text}**")
    }
}

/// Text with a backslash before each character that could mean something within a line.
fn inline(text: &str) -> String {
    let clean = clean(text);
    // The marks of strong text do not count beside a space of any kind.
    let text = clean.trim();
    let mut out = String::with_capacity(text.len() + 8);
    for (at, letter) in text.char_indices() {
        match letter {
            // How a backslash before it is read differs between engines, an entity's meaning does not.
            '|' => out.push_str("&#124;"),
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '&' | '#' | '~' | '$' | '^' | '{'
            | '}' | '@' => {
                out.push('\\');
                out.push(letter);
            }
            // Addresses become links on some engines; a name must not.
            ':' if text[at..].starts_with("://") => out.push_str("\\:"),
            '.' if out
                .get(out.len().saturating_sub(3)..)
                .is_some_and(|end| end.eq_ignore_ascii_case("www")) =>
            {
                out.push_str("\\.");
            }
            _ => out.push(letter),
        }
    }
    out
}

/// The same where it begins a line: no list, no rule, no underline of a heading.
fn line_start(text: &str) -> String {
    let digits = text.len()
        - text
            .trim_start_matches(|letter: char| letter.is_ascii_digit())
            .len();
    if digits > 0 && text[digits..].starts_with(['.', ')']) {
        format!("{}\\{}", &text[..digits], &text[digits..])
    } else if text.starts_with(['+', '-', '=', ':']) {
        format!("\\{text}")
    } else {
        text.to_owned()
    }
}

/// A pipe table, its source set in columns too.
fn pipes(table: &Table) -> String {
    if table.columns.is_empty() {
        return String::new();
    }
    let cell = |cell: &Cell| match cell.strong {
        true => strong(&cell.text),
        false => inline(&cell.text),
    };
    let mut rows: Vec<Vec<String>> = vec![
        table
            .columns
            .iter()
            .map(|one| inline(&one.heading))
            .collect(),
    ];
    rows.extend(table.rows.iter().map(|row| {
        let mut cells: Vec<String> = row.iter().map(cell).collect();
        cells.resize(table.columns.len(), String::new());
        cells
    }));
    let mut lines = vec![String::from("|"); rows.len() + 1];
    for (index, column) in table.columns.iter().enumerate() {
        let widths = rows.iter().map(|row| columns(&row[index]));
        let width = widths.max().unwrap_or(0).max(3);
        let dashes = "-".repeat(width - 1);
        let rule = match column.align {
            Align::Left => format!(":{dashes}"),
            Align::Right => format!("{dashes}:"),
        };
        let mut cells: Vec<&str> = rows.iter().map(|row| row[index].as_str()).collect();
        cells.insert(1, &rule);
        for (line, cell) in lines.iter_mut().zip(cells) {
            let space = " ".repeat(width - columns(cell));
            line.push_str(&match column.align {
                Align::Left => format!(" {cell}{space} |"),
                Align::Right => format!(" {space}{cell} |"),
            });
        }
    }
    lines.join("\n")
}

#[cfg(test)]
mod tests;
