//! A chart as an SVG picture, 960 units wide: legible when pasted at 700 px, readable in greyscale.
//!
//! Lines differ by dashes, width and darkness, never by colour alone, and each carries its letter where it leaves the
//! picture. Words are placed where they cover neither one another nor, if there is any other place, a line.

mod draw;
mod frame;
mod label;
mod legend;
mod panel;
mod words;

use std::fmt::{self, Write};

use self::draw::{Anchor, INK, Text, escape, text, width_of};
use self::frame::{FOOT, Frame, LEFT, NAMES, NUMBERS, RIGHT, TITLE, WIDTH};
use self::panel::panel_height;
use super::Chart;
use crate::report::text::{clean, wrap};

/// The picture as text; the same bytes for the same chart.
///
/// # Errors
/// None: memory takes all of it.
pub fn render(chart: &Chart) -> Result<String, fmt::Error> {
    let columns = legend::legend_columns(chart);
    let x_end = chart.x_end().max(f64::MIN_POSITIVE);
    let gutter = legend::gutter(chart, x_end, panel::plot_height);
    let listed = if columns == 0 {
        0.0
    } else {
        gutter + legend::SWATCH + width_of(columns, NAMES)
    };
    let plot = WIDTH - LEFT - RIGHT - listed;
    let title = wrap(&clean(&chart.title), (WIDTH / (TITLE * 0.6)) as usize);
    let top = 14.0 + 28.0 * title.len() as f64;
    let heights: Vec<f64> = chart.panels.iter().map(panel_height).collect();
    let height = top + heights.iter().sum::<f64>() + FOOT;

    let mut out = String::new();
    head(&mut out, chart, height)?;
    for (index, line) in title.iter().enumerate() {
        let at = (14.0, 32.0 + 28.0 * index as f64);
        text(&mut out, line, &Text::new(at, TITLE).bold())?;
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
        panel::draw(&mut out, chart, panel, &frame)?;
        y += height;
    }
    foot(&mut out, chart, x_end, y - panel::GAP, plot)?;
    out.push_str("</svg>\n");
    Ok(out)
}

/// The opening, with title and description where screen readers look for them, on white paper.
fn head(out: &mut String, chart: &Chart, height: f64) -> fmt::Result {
    writeln!(
        out,
        "<svg role=\"img\" aria-labelledby=\"title desc\" width=\"{WIDTH}\" height=\"{height:.0}\" viewBox=\"0 0 {WIDTH} {height:.0}\" \
         xmlns=\"http://www.w3.org/2000/svg\" font-family=\"sans-serif\" fill=\"{INK}\">"
    )?;
    writeln!(out, "<title id=\"title\">{}</title>", escape(&chart.title))?;
    writeln!(out, "<desc id=\"desc\">{}</desc>", escape(&chart.alt))?;
    writeln!(
        out,
        "<rect width=\"{WIDTH}\" height=\"{height:.0}\" fill=\"#ffffff\"/>"
    )
}

/// Numbers and name of the horizontal axis.
fn foot(out: &mut String, chart: &Chart, x_end: f64, y: f64, plot: f64) -> fmt::Result {
    let ticks = panel::x_ticks(chart, x_end, plot);
    for (tick, label) in ticks.iter().copied().zip(chart.x.labels(&ticks)) {
        let at = (LEFT + plot * tick / x_end, y + 22.0);
        let number = Text::new(at, NUMBERS).anchored(Anchor::Middle);
        text(out, &label, &number)?;
    }
    let name = Text::new((LEFT + plot / 2.0, y + 48.0), NAMES).anchored(Anchor::Middle);
    text(out, &clean(&chart.x_label), &name)
}

#[cfg(test)]
mod tests;
