//! One panel: grid, lines, limits, points, and the words that belong to them.

use std::fmt;

use super::draw::{
    Anchor, GREY, INK, LIGHT, Pen, Text, band, dot, line, pen_of, pieces, text, width, width_of,
};
use super::frame::{Frame, LINE, NAMES, NUMBERS, RIGHT};
use super::label::{Area, Places, spread};
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
pub(super) fn panel_height(panel: &Panel) -> f64 {
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
    chart
        .x
        .ticks(x_end, ((plot / (widest + 30.0)) as usize).clamp(1, 12))
}

pub(super) fn draw(out: &mut String, chart: &Chart, panel: &Panel, frame: &Frame) -> fmt::Result {
    if let Some(one) = &panel.band {
        let edge = |series: &Series| series.points.iter().map(|at| frame.place(*at)).collect();
        let [low, high]: [Vec<(f64, f64)>; 2] = one.edges.each_ref().map(edge);
        band(out, [&low, &high])?;
    }
    grid(out, chart, panel, frame)?;
    let mut lines = Vec::new();
    for (index, series) in panel.lines().enumerate() {
        let points: Vec<(f64, f64)> = joined(series, frame.x_end)
            .into_iter()
            .map(|at| frame.place(at))
            .collect();
        let points = visible(&points);
        line(out, &points, pen_of(index))?;
        lines.push(points);
    }
    let listed = lines.len() > 1;
    let mut places = Places {
        around: Area {
            left: frame.left + 2.0,
            right: frame.right,
            top: frame.top,
            bottom: frame.bottom,
        },
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
        let ends = [
            frame.place((0.0, level.y)),
            frame.place((frame.x_end, level.y)),
        ];
        line(out, &ends, limit_pen(LEVELS[index % LEVELS.len()]))?;
        places.lines.push(ends.to_vec());
    }
    uprights(out, panel, frame, &mut places)?;
    if listed {
        legend::letters(out, &lines, frame, &mut places)?;
        legend::legend(out, panel, frame)?;
    }
    for mark in &panel.marks {
        dot(out, frame.place(mark.at))?;
    }
    for mark in panel.marks.iter().filter(|mark| !mark.text.is_empty()) {
        words::beside(out, &clean(&mark.text), frame.place(mark.at), &mut places)?;
    }
    for level in &panel.levels {
        let name = clean(&level.name);
        words::level_name(out, &name, frame.place((0.0, level.y)).1, &mut places)?;
    }
    Ok(())
}

fn limit_pen(dashes: &'static str) -> Pen {
    Pen {
        color: INK,
        dashes,
        width: 1.8,
    }
}

/// Grid, axes, the numbers of the vertical axis and its name above the plot.
fn grid(out: &mut String, chart: &Chart, panel: &Panel, frame: &Frame) -> fmt::Result {
    let thin = Pen {
        color: LIGHT,
        dashes: "",
        width: 1.0,
    };
    let x_ticks = x_ticks(chart, frame.x_end, frame.right - frame.left);
    let upright = |x: &f64| [(*x, 0.0), (*x, frame.y_end)].map(|at| frame.place(at));
    let most = ((frame.bottom - frame.top) / 44.0).clamp(2.0, 6.0) as usize;
    let y_ticks = panel.y.ticks(frame.y_end, most);
    let level = |y: &f64| [(0.0, *y), (frame.x_end, *y)].map(|at| frame.place(at));
    let upright = x_ticks.iter().map(upright);
    let thin_lines: Vec<_> = upright.chain(y_ticks.iter().map(level)).collect();
    pieces(out, &thin_lines, thin)?;
    for y in y_ticks {
        let (x, y_place) = frame.place((0.0, y));
        let number = Text::new((x - 9.0, y_place + 5.5), NUMBERS).anchored(Anchor::End);
        text(out, &panel.y.text(y), &number)?;
    }
    let axes = [
        frame.place((0.0, frame.y_end)),
        frame.place((0.0, 0.0)),
        frame.place((frame.x_end, 0.0)),
    ];
    let pen = Pen {
        color: GREY,
        dashes: "",
        width: 2.0,
    };
    line(out, &axes, pen)?;
    let name = Text::new((14.0, frame.top - header(panel) + LINE - 4.0), NAMES).bold();
    text(out, &clean(&panel.y_label), &name)
}

/// Rules from bottom to top, their names above the plot.
fn uprights(out: &mut String, panel: &Panel, frame: &Frame, places: &mut Places) -> fmt::Result {
    let rules: Vec<(&Series, f64)> = panel
        .uprights()
        .flat_map(|rule| rule.points.iter().map(move |(x, _)| (rule, *x)))
        .collect();
    for (_, x) in &rules {
        let ends = [frame.place((*x, 0.0)), frame.place((*x, frame.y_end))];
        line(out, &ends, limit_pen(UPRIGHT))?;
        places.lines.push(ends.to_vec());
    }
    let named: Vec<(String, f64)> = rules
        .iter()
        .filter(|(rule, _)| !rule.name.is_empty())
        .map(|(rule, x)| (clean(&rule.name), frame.place((*x, 0.0)).0))
        .collect();
    let wanted: Vec<f64> = named.iter().map(|(_, x)| *x).collect();
    let widths: Vec<f64> = named
        .iter()
        .map(|(name, _)| width(name, NUMBERS) + 12.0)
        .collect();
    let right = frame.right + RIGHT;
    let spread = spread(&wanted, &widths, frame.left - 40.0, right);
    for ((name, x), place) in named.iter().zip(spread) {
        // A short piece leads from the name to its rule.
        let piece = [(place, frame.top - 7.0), (*x, frame.top)];
        line(out, &piece, limit_pen(""))?;
        let how = Text::new((place, frame.top - 11.0), NUMBERS).anchored(Anchor::Middle);
        text(out, name, &how)?;
    }
    Ok(())
}

/// What a screen shows of a line: its ends, and the lowest and the highest point of each stretch.
fn visible(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let stretch = |point: &(f64, f64)| (point.0 / STRETCH).floor();
    let ends = [0, points.len().saturating_sub(1)];
    let mut kept: Vec<usize> = Vec::new();
    let mut from = 0;
    for run in points.chunk_by(|one, next| stretch(one) == stretch(next)) {
        let places = || from..from + run.len();
        let height = |place: &usize| points[*place].1;
        let lowest = places().min_by(|one, other| height(one).total_cmp(&height(other)));
        let highest = places().max_by(|one, other| height(one).total_cmp(&height(other)));
        let mut few: Vec<usize> = lowest.into_iter().chain(highest).collect();
        few.extend(places().filter(|place| ends.contains(place)));
        few.sort_unstable();
        few.dedup();
        kept.extend(few);
        from += run.len();
    }
    kept.into_iter().map(|place| points[place]).collect()
}

/// The points to draw; steps get their corners.
fn joined(series: &Series, x_end: f64) -> Vec<(f64, f64)> {
    if series.shape != Shape::Steps {
        return series.points.clone();
    }
    let mut points: Vec<(f64, f64)> = Vec::with_capacity(2 * series.points.len() + 1);
    for (x, y) in &series.points {
        if let Some((_, held)) = points.last().copied() {
            points.push((*x, held));
        }
        points.push((*x, *y));
    }
    if let Some((x, held)) = points.last().copied()
        && x < x_end
    {
        points.push((x_end, held));
    }
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
