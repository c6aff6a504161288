//! A chart in characters: one line as columns of blocks, several as letters, limits as rules, points as stars.

use super::super::chart::{Chart, Panel, letter};
use super::super::text::{columns, wrap};
use super::look::Look;

/// Rows of a panel of weight 1.
const ROWS: usize = 4;
/// Room for the numbers of the vertical axis.
const LABELS: usize = 9;
/// Narrower than this shows nothing.
const NARROWEST: usize = 12;
/// Wider than this is no clearer.
const WIDEST: usize = 100;
/// Eighths of a block, from empty to full.
const EIGHTHS: [char; 9] = [' ', '▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];

/// The lines of a chart; its description where there is no room to draw.
pub(in super::super) fn lines(chart: &Chart, look: &Look) -> Vec<String> {
    let width = look.width.saturating_sub(LABELS + 3).min(WIDEST);
    let mut lines: Vec<String> = wrap(&look.text(&chart.title), look.width)
        .iter()
        .map(|line| look.strong(line))
        .collect();
    if width < NARROWEST {
        lines.extend(wrap(&look.text(&chart.alt), look.width));
        return lines;
    }
    for panel in &chart.panels {
        lines.extend(panel_lines(chart, panel, look, width));
    }
    lines
}

/// A panel: its name, its rows, the horizontal axis, the names of its limits and lines.
fn panel_lines(chart: &Chart, panel: &Panel, look: &Look, width: usize) -> Vec<String> {
    let mut lines = wrap(&look.text(&panel.y_label), look.width);
    let grid = drawn(chart, panel, look, width);
    let (rows, top) = (grid.len(), panel.y_end());
    let ticks = panel.y.ticks(top, (rows / 3).max(1));
    for (row, cells) in grid.iter().enumerate() {
        let tick = ticks.iter().find(|tick| row_of(**tick, top, rows) == row);
        let label = tick.map_or_else(String::new, |tick| look.text(&panel.y.text(*tick)));
        let gap = " ".repeat(LABELS.saturating_sub(columns(&label)));
        let axis = if look.ascii { '|' } else { '│' };
        let row: String = cells.iter().collect();
        lines.push(format!("{gap}{label} {axis}{}", row.trim_end()));
    }
    lines.extend(foot(chart, panel, look, width));
    lines.extend(names(panel, &grid, look));
    lines
}

/// The plot itself. What matters more is drawn later: band, rules, limits, lines, points.
fn drawn(chart: &Chart, panel: &Panel, look: &Look, width: usize) -> Vec<Vec<char>> {
    let rows = ROWS * panel.weight.max(1) as usize;
    let mut grid = vec![vec![' '; width]; rows];
    let (x_end, top) = (chart.x_end(), panel.y_end());
    for column in 0..width {
        let x = x_end * (column as f64 + 0.5) / width as f64;
        let edges = panel.band.as_ref().map(|band| band.edges.each_ref());
        let Some([Some(low), Some(high)]) = edges.map(|edges| edges.map(|edge| edge.at(x))) else {
            continue;
        };
        for row in &mut grid[row_of(high, top, rows)..=row_of(low, top, rows)] {
            row[column] = shade(look);
        }
    }
    for rule in panel.uprights() {
        for (x, _) in &rule.points {
            let column = column_of(*x, x_end, width);
            grid.iter_mut().for_each(|row| row[column] = upright(look));
        }
    }
    for (index, level) in panel.levels.iter().enumerate() {
        let row = row_of(level.y, top, rows);
        let rule = rule(index, look);
        grid[row]
            .iter_mut()
            .step_by(index % 2 + 1)
            .for_each(|cell| *cell = rule);
    }
    let several = panel.lines().count() > 1;
    // The first line is the most important one and is drawn over the others.
    let ordered: Vec<_> = panel.lines().enumerate().collect();
    for (index, series) in ordered.into_iter().rev() {
        for column in 0..width {
            let x = x_end * (column as f64 + 0.5) / width as f64;
            let Some(value) = series.at(x).filter(|value| value.is_finite()) else {
                continue;
            };
            if several {
                grid[row_of(value, top, rows)][column] = letter(index);
            } else {
                fill(&mut grid, column, value / top, look);
            }
        }
    }
    for mark in &panel.marks {
        grid[row_of(mark.at.1, top, rows)][column_of(mark.at.0, x_end, width)] = '*';
    }
    grid
}

/// The names of limits, lines and points.
fn names(panel: &Panel, grid: &[Vec<char>], look: &Look) -> Vec<String> {
    let mut lines = Vec::new();
    let mut add = |sign: char, name: &str| {
        let room = look.width.saturating_sub(LABELS + 3);
        for (index, line) in wrap(&look.text(name), room).into_iter().enumerate() {
            let sign = if index == 0 { sign } else { ' ' };
            lines.push(format!("{} {sign} {line}", " ".repeat(LABELS)));
        }
    };
    for (index, level) in panel.levels.iter().enumerate() {
        add(rule(index, look), &level.name);
    }
    if panel.lines().count() > 1 {
        for (index, series) in panel.lines().enumerate() {
            // A line below another is not to be seen.
            let same = panel
                .lines()
                .take(index)
                .position(|one| one.points == series.points);
            let sign = letter(index);
            let is_seen = grid.iter().any(|row| row.contains(&sign));
            let name = match same {
                Some(same) => format!("{} (the same line as {})", series.name, letter(same)),
                None if is_seen => series.name.clone(),
                None => format!("{} (behind other lines)", series.name),
            };
            add(sign, &name);
        }
    }
    if let Some(band) = &panel.band {
        add(shade(look), &band.name);
    }
    let rules: Vec<&str> = panel
        .uprights()
        .map(|rule| rule.name.as_str())
        .filter(|name| !name.is_empty())
        .collect();
    if !rules.is_empty() {
        add(upright(look), &rules.join(", "));
    }
    for mark in &panel.marks {
        if !mark.text.is_empty() {
            add('*', &mark.text);
        }
    }
    lines
}

fn column_of(x: f64, x_end: f64, width: usize) -> usize {
    ((x / x_end * width as f64) as usize).min(width - 1)
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

fn shade(look: &Look) -> char {
    if look.ascii { '%' } else { '░' }
}

fn upright(look: &Look) -> char {
    if look.ascii { ':' } else { '┊' }
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

/// The horizontal axis: a line, numbers where there is room, and its name below the lowest panel.
fn foot(chart: &Chart, panel: &Panel, look: &Look, width: usize) -> Vec<String> {
    let is_lowest = chart
        .panels
        .last()
        .is_some_and(|last| std::ptr::eq(last, panel));
    let (corner, axis) = if look.ascii {
        ('+', "-")
    } else {
        ('└', "─")
    };
    let mut lines = vec![format!(
        "{} {corner}{}",
        " ".repeat(LABELS),
        axis.repeat(width)
    )];
    if !is_lowest {
        return lines;
    }
    let x_end = chart.x_end();
    let mut numbers = String::new();
    let ticks = chart.x.ticks(x_end, (width / 12).max(1));
    for (tick, label) in ticks.iter().copied().zip(chart.x.labels(&ticks)) {
        let number = look.text(&label);
        let at = column_of(tick, x_end, width);
        let taken = columns(&numbers);
        let fits = at >= taken + usize::from(taken > 0) && at + columns(&number) <= width + 2;
        if fits {
            numbers.push_str(&" ".repeat(at - taken));
            numbers.push_str(&number);
        }
    }
    lines.push(format!("{} {numbers}", " ".repeat(LABELS + 1)));
    let name = look.text(&chart.x_label);
    for line in wrap(&name, width) {
        let left = width.saturating_sub(columns(&line)) / 2;
        lines.push(format!("{}{line}", " ".repeat(LABELS + 2 + left)));
    }
    lines
}
