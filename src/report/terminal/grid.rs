//! A table in as many columns as the terminal has: how wide each is, and what gives way when there is no room.

use comfy_table::{Cell as Field, CellAlignment, LineStyle, Row, Table as Grid, TableStyle};

use super::super::table::{Align, Table};
use super::super::text::{columns, longest_word, wrap};
use super::look::{Look, hanging};

/// Tables are set in from the prose.
const INDENT: usize = 2;
/// Spaces between two columns.
const GAP: u16 = 2;
/// Text is not wrapped narrower than this while there is another way.
const COMFORTABLE: usize = 16;
/// Below this a broken word cannot be put together by eye.
const NARROWEST: usize = 8;

/// What a column would take and to what it can shrink.
#[derive(Clone, Copy)]
struct Measure {
    /// Everything on one line.
    natural: usize,
    /// The longest word.
    at_words: usize,
}

/// The lines of a table; none if it has no columns.
pub(super) fn lines(table: &Table, look: &Look) -> Vec<String> {
    if table.columns.is_empty() {
        return Vec::new();
    }
    let measures: Vec<Measure> = (0..table.columns.len())
        .map(|column| measure(table, column, look))
        .collect();
    let drawn = match fit(&measures, look.width - INDENT) {
        Some(widths) => side_by_side(table, &widths, look),
        None => one_below_another(table, look),
    };
    drawn
        .into_iter()
        .map(|line| format!("{:INDENT$}{line}", ""))
        .collect()
}

fn measure(table: &Table, column: usize, look: &Look) -> Measure {
    let cells = table.rows.iter().filter_map(|row| row.get(column));
    let texts = cells.map(|cell| look.text(&cell.text));
    let heading = look.text(&table.columns[column].heading);
    let all: Vec<String> = std::iter::once(heading).chain(texts).collect();
    let most = |measure: fn(&str) -> usize| all.iter().map(|text| measure(text)).max();
    Measure {
        natural: most(columns).unwrap_or(0).max(1),
        at_words: most(longest_word).unwrap_or(0).max(1),
    }
}

/// Widths of the columns. What gives way, in this order: the lines of text, the words; `None` if that is not enough.
fn fit(measures: &[Measure], room: usize) -> Option<Vec<usize>> {
    let comfortable = |it: &Measure| it.at_words.max(it.natural.min(COMFORTABLE));
    shrink(measures, room, comfortable)
        .or_else(|| shrink(measures, room, |it| it.at_words))
        .or_else(|| shrink(measures, room, |it| it.at_words.min(NARROWEST)))
}

/// Takes columns off the widest, one at a time, until the table fits or nothing can give way.
fn shrink(
    measures: &[Measure],
    room: usize,
    floor: impl Fn(&Measure) -> usize,
) -> Option<Vec<usize>> {
    let gaps = usize::from(GAP) * (measures.len() - 1);
    let mut widths: Vec<usize> = measures.iter().map(|it| it.natural).collect();
    while widths.iter().sum::<usize>() + gaps > room {
        let (widest, _) = widths
            .iter_mut()
            .zip(measures)
            .filter(|(width, it)| **width > floor(it))
            .max_by_key(|(width, _)| **width)?;
        *widest -= 1;
    }
    Some(widths)
}

fn side_by_side(table: &Table, widths: &[usize], look: &Look) -> Vec<String> {
    let mut grid = Grid::new();
    let rule = if look.ascii { '-' } else { '─' };
    grid.load_style(TableStyle::new().header_separator(LineStyle::none().fill(rule)));
    if table
        .columns
        .iter()
        .any(|column| !column.heading.is_empty())
    {
        grid.set_header(headings(table, widths, look));
    }
    for row in &table.rows {
        grid.add_row(widths.iter().enumerate().map(|(column, width)| {
            let Some(cell) = row.get(column) else {
                return String::new();
            };
            let lines = wrap(&look.text(&cell.text), *width).into_iter();
            let lines = lines.map(|line| match cell.strong {
                true => look.strong(&line),
                false => line,
            });
            lines.collect::<Vec<_>>().join("\n")
        }));
    }
    let last = widths.len() - 1;
    for (index, column) in grid.column_iter_mut().enumerate() {
        column.set_padding((0, if index == last { 0 } else { GAP }));
        column.set_cell_alignment(match table.columns[index].align {
            Align::Left => CellAlignment::Left,
            Align::Right => CellAlignment::Right,
        });
    }
    grid.lines().collect()
}

/// Headings on as many lines as the longest needs, the short ones standing on the rule.
fn headings(table: &Table, widths: &[usize], look: &Look) -> Row {
    let columns = table.columns.iter().zip(widths);
    let wrapped: Vec<Vec<String>> = columns
        .map(|(column, width)| wrap(&look.text(&column.heading), *width))
        .collect();
    let height = wrapped.iter().map(Vec::len).max().unwrap_or(0).max(1);
    let fields = wrapped.iter().map(|lines| {
        let strong: Vec<String> = lines.iter().map(|line| look.strong(line)).collect();
        Field::new_owned("\n".repeat(height - lines.len().max(1)) + &strong.join("\n"))
    });
    Row::from(fields.collect::<Vec<_>>())
}

/// The way out for a table with more columns than fit: each row as a block of "heading: text".
fn one_below_another(table: &Table, look: &Look) -> Vec<String> {
    let mut lines = Vec::new();
    for row in &table.rows {
        if !lines.is_empty() {
            lines.push(String::new());
        }
        for (column, cell) in table.columns.iter().zip(row) {
            let (heading, text) = (look.text(&column.heading), look.text(&cell.text));
            let line = if heading.is_empty() {
                text
            } else {
                format!("{heading}: {text}")
            };
            lines.extend(hanging("", 2, &line, look.width - INDENT));
        }
    }
    lines
}
