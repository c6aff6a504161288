//! What the pictures of `fit` and `compare` are made of.

use super::{Chart, Mark, Measure, Panel, Series, Shape};
use crate::sizing::answer::HostAnswer;
use crate::sizing::curve::Curve;
use crate::words::picture;

/// Loads are drawn up to this: beyond it only the fact counts that the limit is passed.
pub(super) const HIGHEST: f64 = 1.4;

fn axis(host: &HostAnswer) -> String {
    match host.unit {
        "sets" => "sets of guests".to_owned(),
        _ if host.guests > host.fits.unwrap_or(0) => {
            "guests, beside those that must run".to_owned()
        }
        _ => "guests".to_owned(),
    }
}

/// The hosts that a picture can show, with their curves.
pub(super) fn drawn(hosts: &[HostAnswer]) -> Vec<(&HostAnswer, &Curve)> {
    let hosts = hosts.iter();
    hosts
        .filter_map(|host| Some((host, host.curve.as_ref()?)))
        .collect()
}

/// The picture of these panels over the number of guests; none without a host to show.
pub(super) fn chart(
    title: String,
    drawn: &[(&HostAnswer, &Curve)],
    panels: Vec<Panel>,
) -> Option<Chart> {
    let (first, _) = drawn.first()?;
    let texts: Vec<String> = drawn.iter().map(|(host, _)| picture::host(host)).collect();
    Some(Chart {
        title,
        alt: texts.join(" "),
        x_label: axis(first),
        x: Measure::Count,
        panels,
    })
}

/// A panel of loads against a limit of 1.
pub(super) fn panel(y_label: &str, weight: u32) -> Panel {
    Panel {
        weight,
        at_least: HIGHEST / 1.06,
        ..Panel::of(y_label, Measure::Share, Vec::new())
    }
}

/// A line up to where it leaves the picture.
pub(super) fn line(name: String, all: impl Iterator<Item = (f64, f64)>, top: f64) -> Series {
    let mut points: Vec<(f64, f64)> = Vec::new();
    for (x, y) in all {
        if y <= top {
            points.push((x, y));
            continue;
        }
        if let Some((x0, y0)) = points.last().copied().filter(|_| y.is_finite()) {
            points.push((x0 + (x - x0) * (top - y0) / (y - y0), top));
        }
        break;
    }
    Series {
        name,
        points,
        shape: Shape::Line,
    }
}

/// Values at each number of guests.
pub(super) fn over(
    n: &[u64],
    values: impl Iterator<Item = f64>,
) -> impl Iterator<Item = (f64, f64)> {
    n.iter().map(|n| *n as f64).zip(values)
}

/// The point of the last line of a panel at a count, if the picture reaches it.
pub(super) fn crossing(panel: &Panel, n: Option<u64>) -> Option<Mark> {
    mark(panel, n? as f64)
}

/// The point of the last line of a panel at x, if the picture reaches it.
pub(super) fn mark(panel: &Panel, x: f64) -> Option<Mark> {
    let y = panel.series.last()?.at(x)?;
    Some(Mark {
        at: (x, y),
        text: String::new(),
    })
}
