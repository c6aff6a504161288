//! A chart in characters: one series as columns of blocks, several as letters, limits as rules.

use super::super::chart::{Chart, Panel};
use super::super::text::columns;
use super::Look;

/// Rows of a panel of weight 1.
const ROWS: usize = 4;
/// Room for the numbers of the vertical axis.
const LABELS: usize = 9;
/// Narrower than this shows nothing.
const NARROWEST: usize = 12;
/// Eighths of a block, from empty to full.
const EIGHTHS: [char; 9] = [' ', '▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];

/// The lines of a chart; its description where there is no room to draw.
pub(in super::super) fn lines(chart: &Chart, look: &Look) -> Vec<String> {
    let width = look.width.saturating_sub(LABELS + 3).min(100);
    let mut lines = vec![look.strong(&look.text(&chart.title))];
    if width < NARROWEST {
        lines.extend(super::super::text::wrap(&look.text(&chart.alt), look.width));
        return lines;
    }
    for panel in &chart.panels {
        lines.extend(panel_lines(chart, panel, look, width));
    }
    lines.push(foot(chart, look, width));
    lines
}

/// A panel: its name, its rows, the names of its limits and series.
fn panel_lines(chart: &Chart, panel: &Panel, look: &Look, width: usize) -> Vec<String> {
    let rows = ROWS * panel.weight.max(1) as usize;
    let mut grid = vec![vec![' '; width]; rows];
    let x_end = chart.x_end();
    let at = |column: usize| x_end * (column as f64 + 0.5) / width as f64;
    let top = panel.y_end();
    for (index, level) in panel.levels.iter().enumerate() {
        let row = row_of(level.y, top, rows);
        let rule = rule(index, look);
        grid[row]
            .iter_mut()
            .step_by(index % 2 + 1)
            .for_each(|cell| *cell = rule);
    }
    for (index, series) in panel.series.iter().enumerate() {
        for column in 0..width {
            let Some(value) = series.at(at(column)).filter(|value| value.is_finite()) else {
                continue;
            };
            if panel.series.len() == 1 {
                fill(&mut grid, column, value / top, look);
            } else {
                grid[row_of(value, top, rows)][column] = letter(index);
            }
        }
    }
    let mut lines = vec![look.text(&panel.y_label)];
    for (row, cells) in grid.iter().enumerate() {
        // Numbers stand where rows begin: at the top, in the middle and at the bottom.
        let value = top * (rows - row) as f64 / rows as f64;
        let label = if row == 0 || row == rows / 2 {
            look.text(&panel.y.text(value))
        } else {
            String::new()
        };
        let gap = " ".repeat(LABELS.saturating_sub(columns(&label)));
        let axis = if look.ascii { '|' } else { '│' };
        lines.push(format!(
            "{gap}{label} {axis}{}",
            cells.iter().collect::<String>().trim_end()
        ));
    }
    for (index, level) in panel.levels.iter().enumerate() {
        lines.push(format!(
            "{} {} {}",
            " ".repeat(LABELS),
            rule(index, look),
            look.text(&level.name)
        ));
    }
    if panel.series.len() > 1 {
        for (index, series) in panel.series.iter().enumerate() {
            lines.push(format!(
                "{} {} {}",
                " ".repeat(LABELS),
                letter(index),
                look.text(&series.name)
            ));
        }
    }
    for mark in &panel.marks {
        lines.push(format!(
            "{} * {}",
            " ".repeat(LABELS),
            look.text(&mark.text)
        ));
    }
    lines
}

fn row_of(value: f64, top: f64, rows: usize) -> usize {
    let above = ((1.0 - value / top) * rows as f64).floor();
    (above.max(0.0) as usize).min(rows - 1)
}

/// Fills a column up to a share of the height; limits stay visible above it.
fn fill(grid: &mut [Vec<char>], column: usize, share: f64, look: &Look) {
    let rows = grid.len();
    let eighths = (share.clamp(0.0, 1.0) * (8 * rows) as f64).round() as usize;
    for (row, cells) in grid.iter_mut().enumerate() {
        let below = (rows - 1 - row) * 8;
        let part = eighths.saturating_sub(below).min(8);
        if part > 0 {
            cells[column] = if look.ascii { '#' } else { EIGHTHS[part] };
        }
    }
}

fn letter(index: usize) -> char {
    char::from(b'a' + (index % 26) as u8)
}

fn rule(index: usize, look: &Look) -> char {
    match (look.ascii, index % 3) {
        (true, 0) => '-',
        (true, 1) => '=',
        (true, _) => '.',
        (false, 0) => '─',
        (false, 1) => '━',
        (false, _) => '┄',
    }
}

/// The horizontal axis: where it begins and ends, and its name.
fn foot(chart: &Chart, look: &Look, width: usize) -> String {
    let end = look.text(&chart.x.text(chart.x_end()));
    let name = look.text(&chart.x_label);
    let gap = width.saturating_sub(1 + columns(&name) + columns(&end));
    let (left, right) = (gap / 2, gap - gap / 2);
    format!(
        "{} 0{}{name}{}{end}",
        " ".repeat(LABELS + 1),
        " ".repeat(left),
        " ".repeat(right)
    )
}
