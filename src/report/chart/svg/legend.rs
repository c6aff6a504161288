//! What tells the lines of a panel apart: a letter where each leaves the picture, and a list of their names.

use std::fmt;

use super::draw::{Anchor, Text, band, line, paper, pen_of, text};
use super::frame::{Frame, GUTTER, LINE, LONGEST_NAME, NUMBERS};
use super::label::{Area, Places, spread};
use crate::report::chart::{Chart, Panel};
use crate::report::text::{clean, columns, wrap};

/// Room for a piece of a line and its letter beside its name.
pub(super) const SWATCH: f64 = 66.0;
/// Distance of two letters at the ends of lines.
const LETTER: f64 = 17.0;
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

/// Each line's letter where the line leaves the picture: right of it, or below its upper edge.
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
    let at_right = |end: &(f64, f64)| end.0 >= frame.right - 1.0;
    let (right, above): (Vec<_>, Vec<_>) = ends.into_iter().partition(|(_, end)| at_right(end));
    let wanted: Vec<f64> = right.iter().map(|(_, end)| end.1).collect();
    let room = vec![LETTER; right.len()];
    let rows = spread(&wanted, &room, frame.top - LETTER, frame.bottom + LETTER);
    for ((index, _), y) in right.iter().zip(rows) {
        let how = Text::new((frame.right + 6.0, y + 5.0), NUMBERS).bold();
        text(out, &letter(*index), &how)?;
    }
    let ends: Vec<f64> = above.iter().map(|(_, end)| end.0).collect();
    let wanted = beyond(&ends);
    let room = vec![LETTER; above.len()];
    let columns = spread(&wanted, &room, frame.left, frame.right);
    for ((index, end), x) in above.iter().zip(columns) {
        let area = Area {
            left: x - 7.0,
            right: x + 7.0,
            top: end.1 - 1.0,
            bottom: end.1 + 18.0,
        };
        paper(out, &area)?;
        let how = Text::new((x, end.1 + 14.0), NUMBERS)
            .anchored(Anchor::Middle)
            .bold();
        text(out, &letter(*index), &how)?;
        places.taken.push(area);
    }
    Ok(())
}

/// Where letters of lines that end at these places are wanted: right of the end. Where they would cover the end of the
/// next line, they stand beyond that, in the order of the lines.
fn beyond(ends: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..ends.len()).collect();
    order.sort_by(|a, b| ends[*a].total_cmp(&ends[*b]));
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for index in order {
        groups.push(vec![index]);
        while let [.., before, last] = groups.as_slice() {
            let reach = before.iter().map(|one| ends[*one]).fold(0.0, f64::max);
            let first = last
                .iter()
                .map(|one| ends[*one])
                .fold(f64::INFINITY, f64::min);
            if reach + 3.5 + LETTER * before.len() as f64 <= first {
                break;
            }
            let last = groups.pop().unwrap_or_default();
            if let Some(before) = groups.last_mut() {
                before.extend(last);
            }
        }
    }
    let mut wanted = vec![0.0; ends.len()];
    for group in groups {
        let last = group.iter().map(|one| ends[*one]).fold(0.0, f64::max);
        for (place, index) in group.into_iter().enumerate() {
            wanted[index] = last + 11.0 + LETTER * place as f64;
        }
    }
    wanted
}

/// Names of the lines, each beside a piece of it and its letter.
pub(super) fn legend(out: &mut String, panel: &Panel, frame: &Frame) -> fmt::Result {
    let left = frame.right + GUTTER;
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
    use super::{LETTER, beyond};
    use crate::report::chart::svg::label::spread;

    #[test]
    fn letters_of_lines_that_end_side_by_side_stand_beyond_the_last() {
        // Two side by side, given from right to left, and one apart.
        let wanted = beyond(&[112.0, 100.0, 200.0]);
        assert_eq!(wanted, [140.0, 123.0, 211.0]);
        assert_eq!(spread(&wanted, &[LETTER; 3], 0.0, 300.0), wanted);
        // Two that end together would reach the third: in the order of the lines.
        assert_eq!(beyond(&[100.0, 100.0, 136.0]), [147.0, 164.0, 181.0]);
        assert_eq!(beyond(&[100.0, 100.0, 140.0]), [111.0, 128.0, 151.0]);
        assert!(beyond(&[]).is_empty());
    }
}
