//! What tells the lines of a panel apart: a letter where each leaves the picture, and a list of their names.

use super::draw::{Area, BOLD, BOLD_MIDDLE, Drawing, Frame, LINE, NUMBERS, Point, START, pen_of};
use super::label::{Places, apart, in_rows};
use crate::report::chart::{Chart, Panel, letter};
use crate::report::text::{clean, columns, wrap};

/// Most letters of a name on one line of the list of lines.
const LONGEST_NAME: usize = 30;
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
pub(super) fn columns_of(chart: &Chart) -> usize {
    let names = chart.panels.iter().flat_map(named).flat_map(name_lines);
    names.map(|line| columns(&line)).max().unwrap_or(0)
}

/// What a panel lists: its lines if there are several, then its band.
fn named(panel: &Panel) -> Vec<&str> {
    let lines = panel.lines().map(|series| series.name.as_str());
    let band = panel.band.iter().map(|band| band.name.as_str());
    match panel.lines().count() {
        0 | 1 => Vec::new(),
        _ => lines.chain(band).collect(),
    }
}

fn name_lines(name: &str) -> Vec<String> {
    wrap(&clean(name), LONGEST_NAME)
}

/// Height of the list of a panel's lines; 0 where it has none.
pub(super) fn height(panel: &Panel) -> f64 {
    let names = named(panel);
    let rows = names.iter().map(|name| name_lines(name).len().max(1));
    rows.sum::<usize>() as f64 * LINE + names.len() as f64 * BETWEEN
}

/// Room between a plot and the names of its lines: for the most letters that stand in one row of a panel of this height.
pub(super) fn gutter(chart: &Chart, x_end: f64, height: impl Fn(&Panel) -> f64) -> f64 {
    let longest = chart.panels.iter().flat_map(|panel| {
        let (y_end, height) = (panel.y_end(), height(panel));
        let ends = panel.lines().filter_map(|series| series.points.last());
        let at_right = ends.filter(|(x, _)| *x >= x_end * (1.0 - 1e-9));
        let heights: Vec<f64> = at_right.map(|(_, y)| height * (1.0 - y / y_end)).collect();
        in_rows(&heights, SAME_ROW)
    });
    12.0 + ABREAST * longest.map(|row| row.len()).fold(1, usize::max) as f64
}

/// Each line's letter where the line leaves the picture: right of it, or above its end.
pub(super) fn letters(
    drawing: &mut Drawing,
    lines: &[Vec<Point>],
    frame: &Frame,
    places: &mut Places,
) {
    // A single point draws no line that a letter could belong to.
    let drawn = lines
        .iter()
        .enumerate()
        .filter(|(_, points)| points.len() > 1);
    let ends = drawn.filter_map(|(index, points)| Some((index, *points.last()?)));
    let leaves_above =
        |(_, end): &(usize, Point)| end.1 < frame.top + LETTER && end.0 < frame.right - 1.0;
    let (above, mut right): (Vec<_>, Vec<_>) = ends.partition(leaves_above);
    right.sort_by(|(_, one), (_, other)| one.0.total_cmp(&other.0));
    for column in right.chunk_by(|(_, one), (_, other)| other.0 - one.0 < ABREAST) {
        beside(drawing, column, frame, places);
    }
    let wanted: Vec<f64> = above.iter().map(|(_, end)| end.0).collect();
    let (from, to) = (frame.left + ABREAST / 2.0, frame.right + 2.0 * ABREAST);
    let columns = apart(&wanted, ABREAST, from, to);
    for ((index, (_, y)), x) in above.iter().zip(columns) {
        let area = Area::new([x - 7.0, x + 7.0], [y - 18.0, y - 2.0]);
        drawing.paper(&area);
        letter_at(drawing, *index, (x, y - 4.0), BOLD_MIDDLE);
        places.taken.push(area);
    }
}

/// The letter of the line of that number.
fn letter_at(drawing: &mut Drawing, index: usize, at: Point, style: &str) {
    drawing.text(&letter(index).to_string(), at, NUMBERS, style);
}

/// Letters right of lines that end one above the other.
fn beside(drawing: &mut Drawing, column: &[(usize, Point)], frame: &Frame, places: &mut Places) {
    let heights: Vec<f64> = column.iter().map(|(_, end)| end.1).collect();
    let x = column.iter().map(|(_, end)| end.0).fold(0.0, f64::max);
    let rows = in_rows(&heights, SAME_ROW);
    let middle = |row: &Vec<usize>| (heights[row[0]] + heights[row[row.len() - 1]]) / 2.0;
    let wanted: Vec<f64> = rows.iter().map(middle).collect();
    let at = apart(&wanted, LETTER, frame.top, frame.bottom + LETTER);
    for (row, y) in rows.iter().zip(at) {
        for (place, one) in row.iter().enumerate() {
            let left = x + 6.0 + ABREAST * place as f64;
            letter_at(drawing, column[*one].0, (left, y + 5.0), BOLD);
            let area = Area::new([left, left + ABREAST], [y - 8.0, y + 8.0]);
            places.taken.push(area);
        }
    }
}

/// Names of the lines, each beside a piece of it and its letter.
pub(super) fn legend(drawing: &mut Drawing, panel: &Panel, frame: &Frame) {
    let left = frame.right + frame.gutter;
    let mut y = frame.top + 14.0;
    for (index, name) in named(panel).into_iter().enumerate() {
        let edge = |y: f64| [(left, y), (left + 40.0, y)];
        if index < panel.lines().count() {
            drawing.line(&edge(y - 5.0), pen_of(index));
            letter_at(drawing, index, (left + 47.0, y), BOLD);
        } else {
            drawing.band([&edge(y + 1.0), &edge(y - 11.0)]);
        }
        for words in name_lines(name) {
            drawing.text(&words, (left + SWATCH, y), NUMBERS, START);
            y += LINE;
        }
        y += BETWEEN;
    }
}

#[cfg(test)]
mod tests {
    use super::super::label::{apart, in_rows};
    use super::{LETTER, SAME_ROW};

    #[test]
    fn letters_of_lines_that_end_together_stand_side_by_side() {
        assert_eq!(
            in_rows(&[300.0, 100.0, 108.0], SAME_ROW),
            [vec![1, 2], vec![0]]
        );
        assert_eq!(
            in_rows(&[100.0, 108.0, 116.0], SAME_ROW),
            [vec![0, 1], vec![2]]
        );
        assert!(in_rows(&[], SAME_ROW).is_empty());
        // Rows that would meet move apart by no more than a part of a letter.
        let ends = [100.0, 113.0];
        let rows = in_rows(&ends, SAME_ROW);
        assert_eq!((rows.len(), SAME_ROW < 13.0), (2, true));
        assert_eq!(apart(&ends, LETTER, 0.0, 400.0), [98.0, 115.0]);
    }
}
