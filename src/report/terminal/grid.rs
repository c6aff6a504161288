//! A table in as many columns as the terminal has: how wide each is, and what gives way when there is no room.

use comfy_table::{Cell as Field, CellAlignment, LineStyle, Row, Table as Grid, TableStyle};

use super::super::table::{Align, Cell, Table};
use super::super::text::{columns, longest_word, wrap};
use super::bar::bar;
use super::look::{Look, hanging};

/// Tables are set in from the prose.
const INDENT: usize = 2;
/// Spaces between two columns.
const GAP: u16 = 2;
/// A bar with room to spare, and the shortest that still tells anything.
const BAR: (usize, usize) = (24, 8);
/// Text is not wrapped narrower than this only to keep a bar.
const COMFORTABLE: usize = 16;
/// Below this a broken word cannot be put together by eye.
const NARROWEST: usize = 8;

/// What a column would take and to what it can shrink.
#[derive(Clone, Copy)]
struct Measure {
    column: usize,
    is_bar: bool,
    /// Everything on one line.
    natural: usize,
    /// The longest word.
    at_words: usize,
}

/// A column's place in the table that is drawn.
#[derive(Clone, Copy)]
struct Place {
    column: usize,
    width: usize,
    floor: usize,
}

/// The lines of a table; none if it has no columns.
pub(super) fn lines(table: &Table, look: &Look) -> Vec<String> {
    let measures: Vec<Measure> = (0..table.columns.len())
        .map(|column| measure(table, column, look))
        .collect();
    let drawn = match fit(&measures, look.width - INDENT) {
        Some(places) if places.is_empty() => return Vec::new(),
        Some(places) => side_by_side(table, &places, look),
        None => one_below_another(table, &measures, look),
    };
    drawn
        .into_iter()
        .map(|line| format!("{:INDENT$}{line}", ""))
        .collect()
}

fn measure(table: &Table, column: usize, look: &Look) -> Measure {
    let is_bar = table.is_only_bars(column);
    let heading = look.text(&table.columns[column].heading);
    let mut measure = Measure {
        column,
        is_bar,
        natural: columns(&heading).max(1),
        at_words: longest_word(&heading).max(1),
    };
    for cell in table.rows.iter().filter_map(|row| row.get(column)) {
        let (natural, at_words) = match cell_text(cell, look) {
            Some(text) => (columns(&text), longest_word(&text)),
            None => (BAR.1, BAR.1),
        };
        measure.natural = measure.natural.max(natural);
        measure.at_words = measure.at_words.max(at_words);
    }
    measure
}

fn cell_text(cell: &Cell, look: &Look) -> Option<String> {
    match cell {
        Cell::Text(text) | Cell::Strong(text) => Some(look.text(text)),
        Cell::Bar(_) => None,
    }
}

/// What gives way, in this order: the length of bars, the lines of text, the bars, the words. `None` if all that is
/// not enough.
fn fit(measures: &[Measure], room: usize) -> Option<Vec<Place>> {
    let place = |measure: &Measure, width: usize, floor: usize| Place {
        column: measure.column,
        width: width.max(floor).min(room),
        floor: floor.min(room),
    };
    let long_bars = measures.iter().map(|it| match it.is_bar {
        true => place(it, BAR.0.max(it.at_words), BAR.1.max(it.at_words)),
        false => place(it, it.natural, it.natural),
    });
    let short_bars = measures.iter().map(|it| match it.is_bar {
        true => place(it, BAR.1.max(it.at_words), BAR.1.max(it.at_words)),
        false => place(it, it.natural, it.at_words.max(it.natural.min(COMFORTABLE))),
    });
    let no_bars = || measures.iter().filter(|it| !it.is_bar);
    let at_words = no_bars().map(|it| place(it, it.natural, it.at_words));
    let within_words = no_bars().map(|it| place(it, it.natural, it.at_words.min(NARROWEST)));
    shrink(long_bars.collect(), room)
        .or_else(|| shrink(short_bars.collect(), room))
        .or_else(|| shrink(at_words.collect(), room))
        .or_else(|| shrink(within_words.collect(), room))
}

/// Takes columns off the widest, one at a time, until the table fits or nothing can give way.
fn shrink(mut places: Vec<Place>, room: usize) -> Option<Vec<Place>> {
    let gaps = usize::from(GAP) * places.len().saturating_sub(1);
    let floors: usize = places.iter().map(|place| place.floor).sum();
    if floors + gaps > room {
        return None;
    }
    let mut taken: usize = places.iter().map(|place| place.width).sum::<usize>() + gaps;
    while taken > room {
        let widest = places
            .iter_mut()
            .filter(|place| place.width > place.floor)
            .max_by_key(|place| place.width)?;
        widest.width -= 1;
        taken -= 1;
    }
    Some(places)
}

fn side_by_side(table: &Table, places: &[Place], look: &Look) -> Vec<String> {
    let mut grid = Grid::new();
    let rule = if look.ascii { '-' } else { '─' };
    grid.load_style(TableStyle::new().header_separator(LineStyle::none().fill(rule)));
    if table
        .columns
        .iter()
        .any(|column| !column.heading.is_empty())
    {
        grid.set_header(headings(table, places, look));
    }
    for row in &table.rows {
        grid.add_row(places.iter().map(|place| match row.get(place.column) {
            Some(Cell::Text(text)) => wrap(&look.text(text), place.width).join("\n"),
            Some(Cell::Strong(text)) => {
                let lines = wrap(&look.text(text), place.width);
                lines
                    .iter()
                    .map(|line| look.strong(line))
                    .collect::<Vec<_>>()
                    .join("\n")
            }
            Some(Cell::Bar(share)) => bar(*share, place.width, look),
            None => String::new(),
        }));
    }
    let last = places.len() - 1;
    for (index, (place, column)) in places.iter().zip(grid.column_iter_mut()).enumerate() {
        column.set_padding((0, if index == last { 0 } else { GAP }));
        column.set_cell_alignment(match table.columns[place.column].align {
            Align::Left => CellAlignment::Left,
            Align::Right => CellAlignment::Right,
        });
    }
    grid.lines().collect()
}

/// Headings on as many lines as the longest needs, the short ones standing on the rule.
fn headings(table: &Table, places: &[Place], look: &Look) -> Row {
    let wrapped: Vec<Vec<String>> = places
        .iter()
        .map(|place| {
            wrap(
                &look.text(&table.columns[place.column].heading),
                place.width,
            )
        })
        .collect();
    let height = wrapped.iter().map(Vec::len).max().unwrap_or(0).max(1);
    let fields = wrapped.iter().map(|lines| {
        let strong: Vec<String> = lines.iter().map(|line| look.strong(line)).collect();
        Field::new_owned("\n".repeat(height - lines.len().max(1)) + &strong.join("\n"))
    });
    Row::from(fields.collect::<Vec<_>>())
}

/// The way out for a table with more columns than fit: each row as a block of "heading: text", bars left out.
fn one_below_another(table: &Table, measures: &[Measure], look: &Look) -> Vec<String> {
    let mut lines = Vec::new();
    for row in &table.rows {
        if !lines.is_empty() {
            lines.push(String::new());
        }
        for measure in measures.iter().filter(|it| !it.is_bar) {
            let heading = look.text(&table.columns[measure.column].heading);
            let text = row
                .get(measure.column)
                .and_then(|cell| cell_text(cell, look))
                .unwrap_or_default();
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
