//! A chart as an SVG picture: 960 × about 620 units, legible when pasted at 700 px, readable in greyscale.
//!
//! Lines differ by dashes and darkness, never by colour alone; each limit and series carries its name where it is drawn.

use std::error::Error;

use plotters::backend::SVGBackend;
use plotters::chart::{ChartBuilder, ChartContext};
use plotters::coord::Shift;
use plotters::coord::cartesian::Cartesian2d;
use plotters::coord::types::RangedCoordf64;
use plotters::drawing::{DrawingArea, IntoDrawingArea};
use plotters::element::{Circle, PathElement, Text};
use plotters::series::{DashedLineSeries, LineSeries};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, IntoFont, RGBColor, ShapeStyle, TextStyle};

use super::chart::{Chart, Panel, Series, Shape};
use super::text::clean;

type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;
type Context<'a, 'b> =
    ChartContext<'b, SVGBackend<'a>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;
type Result<T> = std::result::Result<T, Box<dyn Error>>;

/// Width of the picture in units.
const WIDTH: u32 = 960;
/// Height of a panel of weight 1, and of title and axis around all panels.
const PANEL: u32 = 110;
const AROUND: u32 = 96;
/// Size of letters: 13 px high when the picture is pasted at 700 px.
const LETTERS: u32 = 18;
/// Black on white for lines and words, grey for the grid.
const INK: RGBColor = RGBColor(20, 20, 20);
const GREY: RGBColor = RGBColor(130, 130, 130);
/// Darkness and dashes that set series apart, in order; a dash of 0 is a full line. Blue and orange differ in
/// brightness too, and for colour-blind readers.
const LOOKS: [(RGBColor, i32, u32); 6] = [
    (RGBColor(0, 68, 136), 0, 3),
    (RGBColor(221, 136, 0), 9, 3),
    (RGBColor(20, 20, 20), 3, 2),
    (RGBColor(90, 140, 200), 14, 2),
    (RGBColor(120, 70, 0), 5, 2),
    (RGBColor(130, 130, 130), 0, 2),
];

/// The picture as text; the same bytes for the same chart.
///
/// # Errors
/// What the drawing library says; a chart of finite numbers gives none.
pub fn render(chart: &Chart) -> Result<String> {
    let weights: u32 = chart.panels.iter().map(|panel| panel.weight).sum();
    let height = AROUND + PANEL * weights.max(1);
    let mut text = String::new();
    {
        let root = SVGBackend::with_string(&mut text, (WIDTH, height)).into_drawing_area();
        root.fill(&RGBColor(255, 255, 255))?;
        draw(chart, &root)?;
        root.present()?;
    }
    Ok(with_words(&text, chart))
}

/// Puts title and description where screen readers look for them.
fn with_words(text: &str, chart: &Chart) -> String {
    let escape = |text: &str| {
        clean(text)
            .replace('&', "&amp;")
            .replace('<', "&lt;")
            .replace('>', "&gt;")
    };
    let words = format!(
        "<title>{}</title>\n<desc>{}</desc>\n",
        escape(&chart.title),
        escape(&chart.alt)
    );
    match text
        .find("<svg")
        .and_then(|start| text[start..].find('>').map(|end| start + end + 1))
    {
        Some(end) => format!(
            "{}\n{words}{}",
            text[..end].replacen("<svg ", "<svg role=\"img\" ", 1),
            text[end..].trim_start()
        ),
        None => text.to_owned(),
    }
}

fn letters(size: u32) -> TextStyle<'static> {
    TextStyle::from(("sans-serif", size).into_font()).color(&INK)
}

fn draw(chart: &Chart, root: &Area) -> Result<()> {
    let title = letters(LETTERS + 4).pos(Pos::new(HPos::Left, VPos::Top));
    root.draw(&Text::new(clean(&chart.title), (14, 10), title))?;
    let (_, below) = root.split_vertically(40);
    let weights: u32 = chart.panels.iter().map(|panel| panel.weight).sum();
    let mut rest = below;
    let mut left = weights;
    let last = chart.panels.len().saturating_sub(1);
    for (index, panel) in chart.panels.iter().enumerate() {
        let height = rest.dim_in_pixel().1;
        // The lowest panel also carries the axis.
        let own = if index == last {
            height
        } else {
            (height.saturating_sub(AROUND - 40)) * panel.weight / left.max(1)
        };
        let (area, remaining) = rest.split_vertically(own);
        draw_panel(
            chart,
            panel,
            &area,
            if index == last {
                Foot::Axis
            } else {
                Foot::Bare
            },
        )?;
        rest = remaining;
        left -= panel.weight;
    }
    Ok(())
}

/// Whether a panel carries the horizontal axis.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Foot {
    Axis,
    Bare,
}

fn draw_panel(chart: &Chart, panel: &Panel, area: &Area, foot: Foot) -> Result<()> {
    let (x_end, y_end) = (chart.x_end().max(f64::MIN_POSITIVE), panel.y_end());
    let mut context = ChartBuilder::on(area)
        .margin_left(16)
        .margin_right(24)
        .margin_top(10)
        .x_label_area_size(if foot == Foot::Axis { 56 } else { 8 })
        .y_label_area_size(86)
        .build_cartesian_2d(0.0..x_end, 0.0..y_end)?;
    let most = (area.dim_in_pixel().1 / 44).clamp(2, 6) as usize;
    let x_ticks = chart.x.ticks(x_end, 8);
    let y_ticks = panel.y.ticks(y_end, most);
    frame(&mut context, (x_end, y_end), &x_ticks, &y_ticks)?;
    words(chart, panel, area, &context, foot, (&x_ticks, &y_ticks))?;
    for (index, series) in panel.series.iter().enumerate() {
        draw_series(&mut context, series, index, x_end)?;
    }
    for (index, level) in panel.levels.iter().enumerate() {
        let dashes = [(12, 5), (3, 4), (7, 7)][index % 3];
        let line = [(0.0, level.y), (x_end, level.y)];
        context.draw_series(DashedLineSeries::new(
            line,
            dashes.0,
            dashes.1,
            stroke(INK, 2),
        ))?;
        let name = letters(LETTERS - 2).pos(Pos::new(HPos::Right, VPos::Bottom));
        context.draw_series([Text::new(clean(&level.name), (x_end, level.y), name)])?;
    }
    for mark in &panel.marks {
        context.draw_series([Circle::new(mark.at, 4, INK.filled())])?;
        // Near the right edge the words stand left of the point.
        let side = if mark.at.0 > 0.8 * x_end {
            HPos::Right
        } else {
            HPos::Left
        };
        let style = letters(LETTERS - 3).pos(Pos::new(side, VPos::Bottom));
        context.draw_series([Text::new(clean(&mark.text), mark.at, style)])?;
    }
    if panel.series.len() > 1 {
        legend(panel, area, &context)?;
    }
    Ok(())
}

fn stroke(color: RGBColor, width: u32) -> ShapeStyle {
    ShapeStyle {
        color: color.to_rgba(),
        filled: false,
        stroke_width: width,
    }
}

/// Grid and axes.
fn frame(context: &mut Context, end: (f64, f64), x_ticks: &[f64], y_ticks: &[f64]) -> Result<()> {
    let light = stroke(RGBColor(222, 222, 222), 1);
    let upright = x_ticks
        .iter()
        .map(|x| PathElement::new([(*x, 0.0), (*x, end.1)], light));
    context.draw_series(upright)?;
    let flat = y_ticks
        .iter()
        .map(|y| PathElement::new([(0.0, *y), (end.0, *y)], light));
    context.draw_series(flat)?;
    let axes = [(0.0, end.1), (0.0, 0.0), (end.0, 0.0)];
    context.draw_series([PathElement::new(axes, stroke(GREY, 2))])?;
    Ok(())
}

/// Numbers on the axes and their names.
fn words(
    chart: &Chart,
    panel: &Panel,
    area: &Area,
    context: &Context,
    foot: Foot,
    ticks: (&[f64], &[f64]),
) -> Result<()> {
    let place = |at: (f64, f64)| context.plotting_area().map_coordinate(&at);
    let corner = area.get_base_pixel();
    let local = |at: (f64, f64)| {
        let pixel = place(at);
        (pixel.0 - corner.0, pixel.1 - corner.1)
    };
    let at_left = letters(LETTERS - 3).pos(Pos::new(HPos::Right, VPos::Center));
    for y in ticks.1 {
        let (x, y_pixel) = local((0.0, *y));
        area.draw(&Text::new(
            panel.y.text(*y),
            (x - 8, y_pixel),
            at_left.clone(),
        ))?;
    }
    let (x, y) = local((0.0, panel.y_end()));
    let name = letters(LETTERS - 3).pos(Pos::new(HPos::Left, VPos::Top));
    area.draw(&Text::new(clean(&panel.y_label), (x + 8, y), name))?;
    if foot == Foot::Axis {
        let below = letters(LETTERS - 3).pos(Pos::new(HPos::Center, VPos::Top));
        for x in ticks.0 {
            let (x_pixel, y) = local((*x, 0.0));
            area.draw(&Text::new(
                chart.x.text(*x),
                (x_pixel, y + 8),
                below.clone(),
            ))?;
        }
        let (left, y) = local((0.0, 0.0));
        let (right, _) = local((chart.x_end(), 0.0));
        area.draw(&Text::new(
            clean(&chart.x_label),
            ((left + right) / 2, y + 30),
            below,
        ))?;
    }
    Ok(())
}

fn draw_series(context: &mut Context, series: &Series, index: usize, x_end: f64) -> Result<()> {
    let (color, dash, width) = LOOKS[index % LOOKS.len()];
    let points = joined(series, x_end);
    if dash == 0 {
        context.draw_series(LineSeries::new(points, stroke(color, width)))?;
    } else {
        context.draw_series(DashedLineSeries::new(
            points,
            dash,
            dash,
            stroke(color, width),
        ))?;
    }
    Ok(())
}

/// The points to draw; steps get their corners.
fn joined(series: &Series, x_end: f64) -> Vec<(f64, f64)> {
    if series.shape == Shape::Line {
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

/// Names of several series, each beside a piece of its line.
fn legend(panel: &Panel, area: &Area, context: &Context) -> Result<()> {
    let corner = area.get_base_pixel();
    let (x, y) = context
        .plotting_area()
        .map_coordinate(&(0.0, panel.y_end()));
    let (left, top) = (x - corner.0 + 12, y - corner.1 + 30);
    for (index, series) in panel.series.iter().enumerate() {
        let (color, dash, width) = LOOKS[index % LOOKS.len()];
        let line = top + 22 * index as i32;
        let pieces: Vec<(i32, i32)> = match dash {
            0 => vec![(left, left + 36)],
            dash => (0..36 / (2 * dash).max(1) + 1)
                .map(|piece| left + 2 * dash * piece)
                .filter(|start| *start < left + 36)
                .map(|start| (start, (start + dash).min(left + 36)))
                .collect(),
        };
        for (start, end) in pieces {
            area.draw(&PathElement::new(
                [(start, line), (end, line)],
                stroke(color, width),
            ))?;
        }
        let style = letters(LETTERS - 3).pos(Pos::new(HPos::Left, VPos::Center));
        area.draw(&Text::new(clean(&series.name), (left + 44, line), style))?;
    }
    Ok(())
}
