//! A chart as an SVG picture, 960 units wide: legible when pasted at 700 px, readable in greyscale.
//!
//! Lines differ by dashes, width and darkness, never by colour alone, and each carries its letter where it leaves the
//! picture. Words are placed where they cover neither one another nor, if there is any other place, a line.

mod draw;
mod label;
mod legend;
mod panel;
mod words;

use self::draw::{
    BOLD, Drawing, FOOT, Frame, INK, LEFT, MIDDLE, NAMES, NUMBERS, RIGHT, TITLE, WIDTH, escape,
    width_of,
};
use super::Chart;
use crate::report::text::{clean, wrap};

/// The picture as text; the same bytes for the same chart.
pub fn render(chart: &Chart) -> String {
    let x_end = chart.x_end().max(f64::MIN_POSITIVE);
    let gutter = legend::gutter(chart, x_end, panel::plot_height);
    let listed = match legend::columns_of(chart) {
        0 => 0.0,
        columns => gutter + legend::SWATCH + width_of(columns, NAMES),
    };
    let plot = WIDTH - LEFT - RIGHT - listed;
    let title = wrap(&clean(&chart.title), (WIDTH / (TITLE * 0.6)) as usize);
    let top = 14.0 + 28.0 * title.len() as f64;
    let heights: Vec<f64> = chart.panels.iter().map(panel::height).collect();
    let height = top + heights.iter().sum::<f64>() + FOOT;

    let mut drawing = Drawing::default();
    head(&mut drawing, chart, height);
    for (index, line) in title.iter().enumerate() {
        let at = (14.0, 32.0 + 28.0 * index as f64);
        drawing.text(line, at, TITLE, BOLD);
    }
    let mut y = top;
    for (panel, height) in chart.panels.iter().zip(&heights) {
        let frame = Frame {
            left: LEFT,
            right: LEFT + plot,
            top: y + panel::header(panel),
            bottom: y + height - panel::GAP,
            x_end,
            y_end: panel.y_end(),
            gutter,
        };
        panel::draw(&mut drawing, chart, panel, &frame);
        y += height;
    }
    foot(&mut drawing, chart, x_end, y - panel::GAP, plot);
    drawing.mark("</svg>");
    drawing.marks
}

/// The opening, with title and description where screen readers look for them, on white paper.
fn head(drawing: &mut Drawing, chart: &Chart, height: f64) {
    let (title, alt) = (escape(&chart.title), escape(&chart.alt));
    drawing.mark(&format!(
        "<svg role=\"img\" aria-labelledby=\"title desc\" width=\"{WIDTH}\" height=\"{height:.0}\" viewBox=\"0 0 {WIDTH} {height:.0}\" \
         xmlns=\"http://www.w3.org/2000/svg\" font-family=\"sans-serif\" fill=\"{INK}\">"
    ));
    drawing.mark(&format!("<title id=\"title\">{title}</title>"));
    drawing.mark(&format!("<desc id=\"desc\">{alt}</desc>"));
    drawing.mark(&format!(
        "<rect width=\"{WIDTH}\" height=\"{height:.0}\" fill=\"#ffffff\"/>"
    ));
}

/// Numbers and name of the horizontal axis.
fn foot(drawing: &mut Drawing, chart: &Chart, x_end: f64, y: f64, plot: f64) {
    let ticks = panel::x_ticks(chart, x_end, plot);
    for (tick, label) in ticks.iter().zip(chart.x.labels(&ticks)) {
        let at = (LEFT + plot * tick / x_end, y + 22.0);
        drawing.text(&label, at, NUMBERS, MIDDLE);
    }
    let at = (LEFT + plot / 2.0, y + 48.0);
    drawing.text(&chart.x_label, at, NAMES, MIDDLE);
}
