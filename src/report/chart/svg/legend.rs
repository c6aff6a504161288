//! What tells the lines of a panel apart: a letter where each leaves the picture, and a list of their names.

use std::fmt;

use super::draw::{Anchor, Text, band, line, paper, pen_of, text};
use super::frame::{Frame, LINE, LONGEST_NAME, NUMBERS};
use super::label::{Area, Places, apart};
use crate::report::chart::{Chart, Panel};
use crate::report::text::{clean, columns, wrap};

/// Room for a piece of a line and its letter beside its name.
pub(super) const SWATCH: f64 = 66.0;
/// Distance of two letters one below the other, and of two side by side.
const LETTER: f64 = 17.0;
const ABREAST: f64 = 14.0;
/// Lines that end no farther apart have their letters side by side.
const SAME_ROW: f64 = 12.0;
/// Room between two names.
const BETWEEN: f64 = 5.0;

/// The most columns that names of lines take, over all panels; 0 where no panel lists them.
pub(super) fn legend_columns(chart: &Chart) -> usize {
    let listed = chart
        .panels
        .iter()
        .filter(|panel| panel.lines().count() > 1);
    let names = listed.flat_map(named).flat_map(name_lines);
    names.map(|line| columns(&line)).max().unwrap_or(0)
}

/// What a panel lists: its lines, then its band.
fn named(panel: &Panel) -> impl Iterator<Item = &str> {
    let band = panel.band.iter().map(|band| band.name.as_str());
    panel.lines().map(|series| series.name.as_str()).chain(band)
}

fn name_lines(name: &str) -> Vec<String> {
    wrap(&clean(name), LONGEST_NAME)
}

/// Height of the list of a panel's lines; 0 where it has none.
pub(super) fn height(panel: &Panel) -> f64 {
    if panel.lines().count() < 2 {
        return 0.0;
    }
    let rows: usize = named(panel).map(|name| name_lines(name).len().max(1)).sum();
    rows as f64 * LINE + named(panel).count() as f64 * BETWEEN
}

/// The letter of the line of that number.
fn letter(index: usize) -> String {
    char::from(b'a' + (index % 26) as u8).to_string()
}

/// Room between a plot and the names of its lines: for the most letters that stand in one row of a panel of this height.
pub(super) fn gutter(chart: &Chart, x_end: f64, height: impl Fn(&Panel) -> f64) -> f64 {
    let longest = chart.panels.iter().map(|panel| {
        let (y_end, height) = (panel.y_end(), height(panel));
        let ends = panel.lines().filter_map(|series| series.points.last());
        let at_right = ends.filter(|(x, _)| *x >= x_end * (1.0 - 1e-9));
        let heights: Vec<f64> = at_right.map(|(_, y)| height * (1.0 - y / y_end)).collect();
        let rows = in_rows(&heights);
        rows.iter().map(Vec::len).max().unwrap_or(0)
    });
    12.0 + ABREAST * longest.max().unwrap_or(0).max(1) as f64
}

/// Lines that end at nearly the same height, from the top down: their letters stand side by side.
fn in_rows(ends: &[f64]) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..ends.len()).collect();
    order.sort_by(|a, b| ends[*a].total_cmp(&ends[*b]));
    let mut rows: Vec<Vec<usize>> = Vec::new();
    for index in order {
        match rows.last_mut() {
            Some(row) if ends[index] - ends[row[0]] <= SAME_ROW => row.push(index),
            _ => rows.push(vec![index]),
        }
    }
    rows
}

/// Each line's letter where the line leaves the picture: right of it, or above its end.
pub(super) fn letters(
    out: &mut String,
    lines: &[Vec<(f64, f64)>],
    frame: &Frame,
    places: &mut Places,
) -> fmt::Result {
    let ends: Vec<(usize, (f64, f64))> = lines
        .iter()
        .enumerate()
        // A single point draws no line that a letter could belong to.
        .filter(|(_, points)| points.len() > 1)
        .filter_map(|(index, points)| Some((index, *points.last()?)))
        .collect();
    let leaves_above = |end: &(f64, f64)| end.1 < frame.top + LETTER && end.0 < frame.right - 1.0;
    let (above, mut right): (Vec<_>, Vec<_>) =
        ends.into_iter().partition(|(_, end)| leaves_above(end));
    right.sort_by(|(_, one), (_, other)| one.0.total_cmp(&other.0));
    for column in right.chunk_by(|(_, one), (_, other)| other.0 - one.0 < ABREAST) {
        beside(out, column, frame, places)?;
    }
    let wanted: Vec<f64> = above.iter().map(|(_, end)| end.0).collect();
    let columns = apart(
        &wanted,
        ABREAST,
        frame.left + ABREAST / 2.0,
        frame.right + 2.0 * ABREAST,
    );
    for ((index, end), x) in above.iter().zip(columns) {
        let area = Area {
            left: x - 7.0,
            right: x + 7.0,
            top: end.1 - 18.0,
            bottom: end.1 - 2.0,
        };
        paper(out, &area)?;
        let how = Text::new((x, end.1 - 4.0), NUMBERS)
            .anchored(Anchor::Middle)
            .bold();
        text(out, &letter(*index), &how)?;
        places.taken.push(area);
    }
    Ok(())
}

/// Letters right of lines that end one above the other.
fn beside(
    out: &mut String,
    column: &[(usize, (f64, f64))],
    frame: &Frame,
    places: &mut Places,
) -> fmt::Result {
    let heights: Vec<f64> = column.iter().map(|(_, end)| end.1).collect();
    let x = column.iter().map(|(_, end)| end.0).fold(0.0, f64::max);
    let rows = in_rows(&heights);
    let middle = |row: &Vec<usize>| (heights[row[0]] + heights[row[row.len() - 1]]) / 2.0;
    let wanted: Vec<f64> = rows.iter().map(middle).collect();
    let at = apart(&wanted, LETTER, frame.top, frame.bottom + LETTER);
    for (row, y) in rows.iter().zip(at) {
        for (place, one) in row.iter().enumerate() {
            let left = x + 6.0 + ABREAST * place as f64;
            let how = Text::new((left, y + 5.0), NUMBERS).bold();
            text(out, &letter(column[*one].0), &how)?;
            places.taken.push(Area {
                left,
                right: left + ABREAST,
                top: y - 8.0,
                bottom: y + 8.0,
            });
        }
    }
    Ok(())
}

/// Names of the lines, each beside a piece of it and its letter.
pub(super) fn legend(out: &mut String, panel: &Panel, frame: &Frame) -> fmt::Result {
    let left = frame.right + frame.gutter;
    let mut y = frame.top + 14.0;
    for (index, name) in named(panel).enumerate() {
        if index < panel.lines().count() {
            let piece = [(left, y - 5.0), (left + 40.0, y - 5.0)];
            line(out, &piece, pen_of(index))?;
            let how = Text::new((left + 47.0, y), NUMBERS).bold();
            text(out, &letter(index), &how)?;
        } else {
            let edge = |y: f64| [(left, y), (left + 40.0, y)];
            band(out, [&edge(y + 1.0), &edge(y - 11.0)])?;
        }
        for words in name_lines(name) {
            text(out, &words, &Text::new((left + SWATCH, y), NUMBERS))?;
            y += LINE;
        }
        y += BETWEEN;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::{LETTER, SAME_ROW, apart, in_rows};

    #[test]
    fn letters_of_lines_that_end_together_stand_side_by_side() {
        assert_eq!(in_rows(&[300.0, 100.0, 108.0]), [vec![1, 2], vec![0]]);
        assert_eq!(in_rows(&[100.0, 108.0, 116.0]), [vec![0, 1], vec![2]]);
        assert!(in_rows(&[]).is_empty());
        // Rows that would meet move apart by no more than a part of a letter.
        let ends = [100.0, 113.0];
        let rows = in_rows(&ends);
        assert_eq!((rows.len(), SAME_ROW < 13.0), (2, true));
        assert_eq!(apart(&ends, LETTER, 0.0, 400.0), [98.0, 115.0]);
    }
}
