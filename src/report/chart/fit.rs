//! The picture of `fit`: load and memory against the number of guests.

use super::parts::{self, HIGHEST, crossing, drawn, line, over, panel};
use super::{Band, Chart, Level, Measure, Panel, Series, Shape};
use crate::sizing::answer::{HostAnswer, State};
use crate::sizing::curve::{Curve, DrawnMemory};
use crate::unit::format;
use crate::words::name::{count_or, label, titled};

/// Memory is drawn up to this many times the cliff.
const ABOVE_CLIFF: f64 = 1.2;

/// Two panels a host: the load of every resource and the memory of the guests.
pub fn chart(hosts: &[HostAnswer], lab: &str) -> Option<Chart> {
    let drawn = drawn(hosts);
    let subject = match drawn.as_slice() {
        [(only, _)] => &only.name,
        _ => lab,
    };
    let panels = drawn.iter().flat_map(|(host, curve)| {
        let whose = match drawn.len() {
            1 => String::new(),
            _ => format!("{}: ", host.name),
        };
        [loads(host, curve, &whose), memory(host, curve, &whose)]
    });
    let title = titled("Load against the number of guests", subject);
    parts::chart(title, &drawn, panels.collect())
}

/// The rules that both panels of a host share.
fn counts(host: &HostAnswer, curve: &Curve) -> Vec<Series> {
    let end = curve.n.last().copied().unwrap_or(0);
    [
        (host.fits, "fits"),
        (host.breaks_at, "cliff"),
        (host.fresh.bound(), "fresh"),
    ]
    .into_iter()
    .filter_map(|(count, name)| Some((count.filter(|n| *n <= end)?, name)))
    .map(|(n, name)| Series::rule(format!("{name} {}", format::count(n)), n as f64))
    .collect()
}

/// What a resource is called, and the period that is worst for it.
pub(super) fn in_period(label: String, period: Option<&String>) -> String {
    match period {
        Some(period) => format!("{label}, {period}"),
        None => label,
    }
}

/// The load of every resource.
fn loads(host: &HostAnswer, curve: &Curve, whose: &str) -> Panel {
    let mut panel = panel(&format!("{whose}load, as a share of the safe limit"), 3);
    for one in &curve.loads {
        let answer = host.resources.iter().find(|other| other.name == one.name);
        let label = label(&one.name);
        let fits = answer.and_then(|answer| answer.fits);
        let unlimited = match answer.map(|answer| answer.state) {
            Some(State::Infeasible) => "past it",
            _ => "no limit",
        };
        let holds = count_or(fits, unlimited);
        let load = one.load.iter().map(|load| load.unwrap_or(f64::INFINITY));
        let name = format!(
            "{}: {holds}",
            in_period(label, answer.and_then(|answer| answer.period.as_ref()))
        );
        panel.series.push(line(name, over(&curve.n, load), HIGHEST));
        panel.marks.extend(crossing(&panel, fits));
    }
    panel.levels.push(Level::new("safe limit", 1.0));
    panel.series.extend(counts(host, curve));
    panel
}

/// Memory of the guests, lived-in and fresh, against the safe limit and the cliff.
fn memory(host: &HostAnswer, curve: &Curve, whose: &str) -> Panel {
    let memory = &curve.memory;
    let limits = memory.cliff.iter().copied();
    let top = limits.fold(memory.safe_limit, f64::max) * ABOVE_CLIFF;
    let own = host
        .resources
        .iter()
        .find(|one| one.name == "memory")
        .and_then(|one| one.fits);
    let mut panel = Panel {
        weight: 2,
        ..Panel::of(
            format!(
                "{whose}memory of the guests; past the cliff the host thrashes or kills guests"
            ),
            Measure::Bytes,
            Vec::new(),
        )
    };
    // What was not worked out lies beyond every picture.
    let known = |values: &[Option<f64>]| -> Vec<f64> {
        values
            .iter()
            .map(|value| value.unwrap_or(f64::INFINITY))
            .collect()
    };
    for (name, values, count) in [
        ("lived-in, worst accepted", known(&memory.lived_in), own),
        ("lived-in, on average", memory.mean.clone(), host.breaks_at),
        (
            "fresh, worst accepted",
            known(&memory.fresh),
            host.fresh.bound(),
        ),
    ] {
        let values = over(&curve.n, values.into_iter());
        panel.series.push(line(name.to_owned(), values, top));
        panel.marks.extend(crossing(&panel, count));
    }
    panel.band = memory.drawn.as_deref().map(|drawn| band(drawn, top));
    panel
        .levels
        .push(Level::new("safe limit", memory.safe_limit));
    let at = curve.n.iter().position(|n| Some(*n) == host.breaks_at);
    let cliff = at.map_or(memory.cliff.last(), |at| memory.cliff.get(at));
    if let Some(cliff) = cliff {
        panel.levels.push(Level::new("cliff", *cliff));
    }
    // The names stand in the panel above.
    panel
        .series
        .extend(counts(host, curve).into_iter().map(|rule| Series {
            name: String::new(),
            ..rule
        }));
    panel
}

/// Where nine of ten draws lie, as far as the picture reaches.
fn band(drawn: &[DrawnMemory], top: f64) -> Band {
    let beyond = drawn.iter().position(|one| one.low >= top);
    let drawn = &drawn[..beyond.map_or(drawn.len(), |first| first + 1)];
    let edge = |end: fn(&DrawnMemory) -> f64| Series {
        name: String::new(),
        points: drawn
            .iter()
            .map(|one| (one.n as f64, end(one).min(top)))
            .collect(),
        shape: Shape::Line,
    };
    Band {
        name: "90 % of the draws of a".to_owned(),
        edges: [edge(|one| one.low), edge(|one| one.high)],
    }
}
