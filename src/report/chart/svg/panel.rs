//! One panel: grid, lines, limits, points, and the words that belong to them.

use super::draw::{
    Area, BOLD, Drawing, END, Frame, GREY, INK, LIGHT, LINE, MIDDLE, NAMES, NUMBERS, Pen, Point,
    RIGHT, pen, pen_of, width, width_of,
};
use super::label::{Places, spread};
use super::{legend, words};
use crate::report::chart::{Chart, Measure, Panel, Series, Shape};
use crate::report::text::clean;

/// Height of a panel of weight 1.
const PANEL: f64 = 110.0;
/// Room below each panel.
pub(super) const GAP: f64 = 22.0;
/// A stretch of a line that a screen of 700 points shows as two of them.
const STRETCH: f64 = 3.0;
/// Dashes of the limits, in order, and of rules from bottom to top.
const LEVELS: [&str; 3] = ["14 6", "3 4", "8 8"];
const UPRIGHT: &str = "2 5";

/// Height of what stands above a plot: its name, and the names of rules.
pub(super) fn header(panel: &Panel) -> f64 {
    let named = panel.uprights().any(|rule| !rule.name.is_empty());
    LINE + 9.0 + if named { LINE } else { 0.0 }
}

/// Height of a plot.
pub(super) fn plot_height(panel: &Panel) -> f64 {
    (PANEL * f64::from(panel.weight.max(1))).max(legend::height(panel))
}

/// Height of a panel with everything around its plot.
pub(super) fn height(panel: &Panel) -> f64 {
    header(panel) + plot_height(panel) + GAP
}

/// Places of numbers on the horizontal axis, as many as there is room for.
pub(super) fn x_ticks(chart: &Chart, x_end: f64, plot: f64) -> Vec<f64> {
    let least = match chart.x {
        // "120 min"
        Measure::Time => 7,
        _ => 3,
    };
    let widest = width(&chart.x.text(x_end), NUMBERS).max(width_of(least, NUMBERS));
    let most = (plot / (widest + 30.0)) as usize;
    chart.x.ticks(x_end, most.clamp(1, 12))
}

pub(super) fn draw(drawing: &mut Drawing, chart: &Chart, panel: &Panel, frame: &Frame) {
    let placed = |points: &[Point]| points.iter().map(|at| frame.place(*at)).collect();
    if let Some(one) = &panel.band {
        let edge = |series: &Series| placed(&series.points);
        let [low, high]: [Vec<Point>; 2] = one.edges.each_ref().map(edge);
        drawing.band([&low, &high]);
    }
    grid(drawing, chart, panel, frame);
    let mut lines = Vec::new();
    for (index, series) in panel.lines().enumerate() {
        let points: Vec<Point> = placed(&joined(series, frame.x_end));
        let points = visible(&points);
        drawing.line(&points, pen_of(index));
        lines.push(points);
    }
    let mut places = Places {
        around: Area::new([frame.left + 2.0, frame.right], [frame.top, frame.bottom]),
        taken: Vec::new(),
        lines: lines.clone(),
        points: panel
            .marks
            .iter()
            .map(|mark| frame.place(mark.at))
            .collect(),
        leaders: Vec::new(),
    };
    for (index, level) in panel.levels.iter().enumerate() {
        let ends = [(0.0, level.y), (frame.x_end, level.y)].map(|at| frame.place(at));
        drawing.line(&ends, limit_pen(LEVELS[index % LEVELS.len()]));
        places.lines.push(ends.to_vec());
    }
    uprights(drawing, panel, frame, &mut places);
    if lines.len() > 1 {
        legend::letters(drawing, &lines, frame, &mut places);
        legend::legend(drawing, panel, frame);
    }
    for at in &places.points {
        drawing.dot(*at);
    }
    for mark in panel.marks.iter().filter(|mark| !mark.text.is_empty()) {
        words::beside(
            drawing,
            &clean(&mark.text),
            frame.place(mark.at),
            &mut places,
        );
    }
    for level in &panel.levels {
        let (_, y) = frame.place((0.0, level.y));
        words::level_name(drawing, &clean(&level.name), y, &mut places);
    }
}

fn limit_pen(dashes: &'static str) -> Pen {
    pen(INK, dashes, 1.8)
}

/// Grid, axes, the numbers of the vertical axis and its name above the plot.
fn grid(drawing: &mut Drawing, chart: &Chart, panel: &Panel, frame: &Frame) {
    let (x_end, y_end) = (frame.x_end, frame.y_end);
    let x_ticks = x_ticks(chart, x_end, frame.right - frame.left);
    let most = ((frame.bottom - frame.top) / 44.0).clamp(2.0, 6.0) as usize;
    let y_ticks = panel.y.ticks(y_end, most);
    let uprights = x_ticks.iter().map(|x| [(*x, 0.0), (*x, y_end)]);
    let levels = y_ticks.iter().map(|y| [(0.0, *y), (x_end, *y)]);
    let thin = uprights.chain(levels);
    let thin: Vec<_> = thin.map(|piece| piece.map(|at| frame.place(at))).collect();
    drawing.pieces(&thin, pen(LIGHT, "", 1.0));
    for tick in y_ticks {
        let (x, y) = frame.place((0.0, tick));
        drawing.text(&panel.y.text(tick), (x - 9.0, y + 5.5), NUMBERS, END);
    }
    let axes = [(0.0, y_end), (0.0, 0.0), (x_end, 0.0)].map(|at| frame.place(at));
    drawing.line(&axes, pen(GREY, "", 2.0));
    let at = (14.0, frame.top - header(panel) + LINE - 4.0);
    drawing.text(&panel.y_label, at, NAMES, BOLD);
}

/// Rules from bottom to top, their names above the plot.
fn uprights(drawing: &mut Drawing, panel: &Panel, frame: &Frame, places: &mut Places) {
    let mut named: Vec<(String, f64)> = Vec::new();
    for rule in panel.uprights() {
        for (x, _) in &rule.points {
            let ends = [(*x, 0.0), (*x, frame.y_end)].map(|at| frame.place(at));
            drawing.line(&ends, limit_pen(UPRIGHT));
            places.lines.push(ends.to_vec());
            if !rule.name.is_empty() {
                named.push((clean(&rule.name), ends[0].0));
            }
        }
    }
    let wanted: Vec<f64> = named.iter().map(|(_, x)| *x).collect();
    let widths = named.iter().map(|(name, _)| width(name, NUMBERS) + 12.0);
    let widths: Vec<f64> = widths.collect();
    let right = frame.right + RIGHT;
    let spread = spread(&wanted, &widths, frame.left - 40.0, right);
    for ((name, x), place) in named.iter().zip(spread) {
        // A short piece leads from the name to its rule.
        let piece = [(place, frame.top - 7.0), (*x, frame.top)];
        drawing.line(&piece, limit_pen(""));
        drawing.text(name, (place, frame.top - 11.0), NUMBERS, MIDDLE);
    }
}

/// What a screen shows of a line: its ends, and the lowest and the highest point of each stretch.
fn visible(points: &[Point]) -> Vec<Point> {
    let stretch = |point: &Point| (point.0 / STRETCH).floor();
    let last = points.len().saturating_sub(1);
    let by_height = |one: &usize, other: &usize| points[*one].1.total_cmp(&points[*other].1);
    let mut kept = Vec::new();
    let mut from = 0;
    for run in points.chunk_by(|one, next| stretch(one) == stretch(next)) {
        let places = from..from + run.len();
        let lowest = places.clone().min_by(by_height);
        let highest = places.clone().max_by(by_height);
        let is_kept =
            |place: &usize| [Some(0), Some(last), lowest, highest].contains(&Some(*place));
        kept.extend(places.filter(is_kept).map(|place| points[place]));
        from += run.len();
    }
    kept
}

/// The points to draw; steps get their corners.
fn joined(series: &Series, x_end: f64) -> Vec<(f64, f64)> {
    if series.shape != Shape::Steps {
        return series.points.clone();
    }
    let mut points: Vec<(f64, f64)> = Vec::with_capacity(2 * series.points.len() + 1);
    for (x, y) in &series.points {
        let held = points.last().map(|(_, held)| (*x, *held));
        points.extend(held);
        points.push((*x, *y));
    }
    let end = points.last().filter(|(x, _)| *x < x_end);
    let end = end.map(|(_, held)| (x_end, *held));
    points.extend(end);
    points
}

#[cfg(test)]
mod tests {
    use super::{STRETCH, visible};

    #[test]
    fn jitter_keeps_its_ends_its_lowest_and_its_highest_points() {
        let jitter: Vec<(f64, f64)> = (0..3000)
            .map(|place| {
                let x = f64::from(place) / 10.0;
                (x, if place % 2 == 0 { 10.0 } else { 20.0 + x.sin() })
            })
            .collect();
        let shown = visible(&jitter);
        assert!(
            shown.len() <= 2 * (300.0 / STRETCH) as usize + 2,
            "{}",
            shown.len()
        );
        assert!(shown.is_sorted_by(|one, next| one.0 < next.0));
        assert_eq!(
            (shown.first(), shown.last()),
            (jitter.first(), jitter.last())
        );
        let most = |points: &[(f64, f64)]| points.iter().map(|point| point.1).fold(0.0, f64::max);
        assert_eq!(most(&shown), most(&jitter));
        assert_eq!(visible(&jitter[..2]), jitter[..2]);
        assert_eq!(visible(&[]), []);
    }
}
