//! What the pictures of `fit` and `compare` are made of.

use crate::report::chart::{Level, Mark, Measure, Panel, Series, Shape};
use crate::sizing::answer::{HostAnswer, ResourceAnswer};
use crate::unit::format;
use crate::words::name::{counted, label, runs_out_first};

/// Loads are drawn up to this: beyond it only the fact counts that the limit is passed.
pub(super) const HIGHEST: f64 = 1.4;

/// Title and whose it is, where that has a name.
pub(super) fn titled(what: &str, whose: &str) -> String {
    if whose.is_empty() {
        what.to_owned()
    } else {
        format!("{what}: {whose}")
    }
}

pub(super) fn axis(host: &HostAnswer) -> String {
    match host.unit {
        "sets" => "sets of guests".to_owned(),
        _ if host.guests > host.fits.unwrap_or(0) => {
            "guests, beside those that must run".to_owned()
        }
        _ => "guests".to_owned(),
    }
}

pub(super) fn binding(host: &HostAnswer) -> Vec<&ResourceAnswer> {
    host.resources
        .iter()
        .filter(|one| host.binds.contains(&one.name))
        .collect()
}

/// What the picture of one host shows, in words.
pub(super) fn described(host: &HostAnswer) -> String {
    let mut text = match host.fits {
        Some(n) => format!(
            "{} safely holds {}; {}.",
            host.name,
            counted(host, n),
            runs_out_first(&binding(host))
        ),
        None => format!("{} has no safe count.", host.name),
    };
    let then: Vec<String> = host
        .resources
        .iter()
        .filter(|one| !host.binds.contains(&one.name))
        .filter_map(|one| {
            let fits = format::count(one.fits?);
            Some(format!("{} at {fits}", label(&one.name)))
        })
        .collect();
    if !then.is_empty() {
        text.push_str(&format!(" Then: {}.", then.join(", ")));
    }
    if let Some(n) = host.breaks_at {
        text.push_str(&format!(" The cliff is at about {}.", counted(host, n)));
    }
    if let Some(n) = host.fresh.bound() {
        text.push_str(&format!(
            " Fresh guests, never busy, would pass memory's safe limit after {}.",
            format::count(n)
        ));
    }
    text
}

pub(super) fn panel(y_label: &str, weight: u32) -> Panel {
    Panel {
        y_label: y_label.to_owned(),
        y: Measure::Share,
        weight,
        at_least: HIGHEST / 1.06,
        series: Vec::new(),
        levels: Vec::new(),
        marks: Vec::new(),
    }
}

pub(super) fn level(name: &str, y: f64) -> Level {
    Level {
        name: name.to_owned(),
        y,
    }
}

/// A line up to where it leaves the picture.
pub(super) fn line(name: String, n: &[u64], top: f64, values: impl Iterator<Item = f64>) -> Series {
    let mut points: Vec<(f64, f64)> = Vec::with_capacity(n.len());
    for (n, y) in n.iter().zip(values) {
        let x = *n as f64;
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

/// The point of the last line of a panel at a count, if the picture reaches it.
pub(super) fn crossing(panel: &Panel, n: Option<u64>) -> Option<Mark> {
    let x = n? as f64;
    let y = panel.series.last()?.at(x)?;
    Some(Mark {
        at: (x, y),
        text: String::new(),
    })
}
