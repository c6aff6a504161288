//! What the pictures of `fit` and `compare` are made of.

use super::{Chart, Level, Mark, Measure, Panel, Series, Shape};
use crate::sizing::answer::HostAnswer;
use crate::sizing::curve::Curve;
use crate::words::name::titled;
use crate::words::picture;

/// Loads are drawn up to this: beyond it only the fact counts that the limit is passed.
pub(super) const HIGHEST: f64 = 1.4;

/// Name of the axis of the number of guests.
fn axis(host: &HostAnswer) -> &'static str {
    match host.unit {
        "sets" => "sets of guests",
        _ if host.guests > host.fits.unwrap_or(0) => "guests, beside those that must run",
        _ => "guests",
    }
}

/// The hosts that a picture can show, each with what is drawn of it.
pub(super) type Drawn<'a, T> = Vec<(&'a HostAnswer, &'a T)>;

/// The hosts whose curves a picture can show.
pub(super) fn curves(hosts: &[HostAnswer]) -> Drawn<'_, Curve> {
    let hosts = hosts.iter();
    let drawn = hosts.filter_map(|host| Some((host, host.curve.as_ref()?)));
    drawn.collect()
}

/// The picture of panels over the number of guests; none without a host to show.
pub(super) fn over_guests(
    title: String,
    drawn: &Drawn<Curve>,
    panels: Vec<Panel>,
) -> Option<Chart> {
    let (first, _) = drawn.first()?;
    let texts: Vec<String> = drawn.iter().map(|(host, _)| picture::host(host)).collect();
    Some(Chart {
        title,
        alt: texts.join(" "),
        x_label: axis(first).to_owned(),
        x: Measure::Count,
        panels,
    })
}

/// Title and panels of a picture that has two panels a host. Of several hosts their names stand before those of panels.
pub(super) fn by_host<T>(
    what: &str,
    lab: &str,
    drawn: &Drawn<T>,
    panels: impl Fn(&HostAnswer, &T, &str) -> [Panel; 2],
) -> (String, Vec<Panel>) {
    let only = match drawn.as_slice() {
        [(only, _)] => Some(&only.name),
        _ => None,
    };
    let of_host = |(host, curve): &(&HostAnswer, &T)| match only {
        Some(_) => panels(host, curve, ""),
        None => panels(host, curve, &format!("{}: ", host.name)),
    };
    let title = titled(what, only.map_or(lab, String::as_str));
    (title, drawn.iter().flat_map(of_host).collect())
}

/// A panel of loads against a limit of 1.
pub(super) fn panel(y_label: &str, weight: u32, limit: &str) -> Panel {
    Panel {
        weight,
        at_least: HIGHEST / 1.06,
        levels: vec![Level::new(limit, 1.0)],
        ..Panel::of(y_label, Measure::Share, Vec::new())
    }
}

impl Panel {
    /// Adds a line up to where it leaves the picture, with a point at x if it reaches that.
    pub(super) fn draw(
        &mut self,
        name: impl Into<String>,
        points: impl Iterator<Item = (f64, f64)>,
        top: f64,
        x: Option<f64>,
    ) {
        let series = Series::new(name, Shape::Line, below(points, top));
        let y = x.and_then(|x| series.at(x));
        self.marks.extend(x.zip(y).map(|at| Mark {
            at,
            text: String::new(),
        }));
        self.series.push(series);
    }
}

/// The points up to where their line leaves the picture.
fn below(all: impl Iterator<Item = (f64, f64)>, top: f64) -> Vec<(f64, f64)> {
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
    points
}

/// Values at each number of guests.
pub(super) fn over(
    n: &[u64],
    values: impl Iterator<Item = f64>,
) -> impl Iterator<Item = (f64, f64)> {
    n.iter().map(|n| *n as f64).zip(values)
}

/// Values where known; what was not worked out lies beyond every picture.
pub(super) fn or_beyond(values: &[Option<f64>]) -> impl Iterator<Item = f64> {
    let values = values.iter();
    values.map(|value| value.unwrap_or(f64::INFINITY))
}

/// A count as a place on the axis.
pub(super) fn place(n: Option<u64>) -> Option<f64> {
    n.map(|n| n as f64)
}
