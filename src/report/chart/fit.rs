//! The picture of `fit`: load and memory against the number of guests.

use super::parts::{HIGHEST, by_host, curves, or_beyond, over, over_guests, panel, place};
use super::{Band, Chart, Level, Measure, Panel, Series, Shape};
use crate::sizing::answer::{HostAnswer, State};
use crate::sizing::curve::{Curve, DrawnMemory};
use crate::unit::format;
use crate::words::name::{count_or, label};

/// Memory is drawn up to this many times the cliff.
const ABOVE_CLIFF: f64 = 1.2;

/// Two panels a host: the load of every resource and the memory of the guests.
pub fn chart(hosts: &[HostAnswer], lab: &str) -> Option<Chart> {
    let drawn = curves(hosts);
    let what = "Load against the number of guests";
    let (title, panels) = by_host(what, lab, &drawn, |host, curve, whose| {
        [loads(host, curve, whose), memory(host, curve, whose)]
    });
    over_guests(title, &drawn, panels)
}

/// The rules that both panels of a host share, with their names or without.
fn counts(host: &HostAnswer, curve: &Curve, named: bool) -> Vec<Series> {
    let end = curve.n.last().copied().unwrap_or(0);
    let counts = [
        ("fits", host.fits),
        ("cliff", host.breaks_at),
        ("fresh", host.fresh.bound()),
    ];
    let known = counts
        .into_iter()
        .filter_map(|(name, count)| Some((name, count.filter(|n| *n <= end)?)));
    let rules = known.map(|(name, n)| match named {
        true => Series::rule(format!("{name} {}", format::count(n)), n as f64),
        false => Series::rule("", n as f64),
    });
    rules.collect()
}

/// What a resource is called, and the period that is worst for it.
pub(super) fn in_period(name: &str, period: Option<&String>) -> String {
    let period = period.map(|period| format!(", {period}"));
    label(name) + &period.unwrap_or_default()
}

/// The load of every resource.
fn loads(host: &HostAnswer, curve: &Curve, whose: &str) -> Panel {
    let title = format!("{whose}load, as a share of the safe limit");
    let mut panel = panel(&title, 3, "safe limit");
    for one in &curve.loads {
        let answer = host.resources.iter().find(|other| other.name == one.name);
        let fits = answer.and_then(|answer| answer.fits);
        let unlimited = match answer.map(|answer| answer.state) {
            Some(State::Infeasible) => "past it",
            _ => "no limit",
        };
        let period = answer.and_then(|answer| answer.period.as_ref());
        let (label, holds) = (in_period(&one.name, period), count_or(fits, unlimited));
        let load = over(&curve.n, or_beyond(&one.load));
        panel.draw(format!("{label}: {holds}"), load, HIGHEST, place(fits));
    }
    panel.series.extend(counts(host, curve, true));
    panel
}

/// Memory of the guests, lived-in and fresh, against the safe limit and the cliff.
fn memory(host: &HostAnswer, curve: &Curve, whose: &str) -> Panel {
    let memory = &curve.memory;
    let limits = memory.cliff.iter().copied();
    let top = limits.fold(memory.safe_limit, f64::max) * ABOVE_CLIFF;
    let own = host.resources.iter().find(|one| one.name == "memory");
    let own = place(own.and_then(|one| one.fits));
    let title =
        format!("{whose}memory of the guests; past the cliff the host thrashes or kills guests");
    let mut panel = Panel {
        weight: 2,
        band: memory.drawn.as_deref().map(|drawn| band(drawn, top)),
        ..Panel::of(title, Measure::Bytes, Vec::new())
    };
    let lived_in = over(&curve.n, or_beyond(&memory.lived_in));
    panel.draw("lived-in, worst accepted", lived_in, top, own);
    let mean = over(&curve.n, memory.mean.iter().copied());
    panel.draw("lived-in, on average", mean, top, place(host.breaks_at));
    let fresh = over(&curve.n, or_beyond(&memory.fresh));
    let fits_fresh = place(host.fresh.bound());
    panel.draw("fresh, worst accepted", fresh, top, fits_fresh);
    let at = curve.n.iter().position(|n| Some(*n) == host.breaks_at);
    let cliff = at.map_or(memory.cliff.last(), |at| memory.cliff.get(at));
    panel.levels = vec![Level::new("safe limit", memory.safe_limit)];
    let cliff = cliff.map(|cliff| Level::new("cliff", *cliff));
    panel.levels.extend(cliff);
    // The names stand in the panel above.
    panel.series.extend(counts(host, curve, false));
    panel
}

/// Where nine of ten draws lie, as far as the picture reaches.
fn band(drawn: &[DrawnMemory], top: f64) -> Band {
    let beyond = drawn.iter().position(|one| one.low >= top);
    let drawn = &drawn[..beyond.map_or(drawn.len(), |first| first + 1)];
    let edge = |end: fn(&DrawnMemory) -> f64| {
        let points = drawn.iter();
        let points = points.map(|one| (one.n as f64, end(one).min(top)));
        Series::new("", Shape::Line, points)
    };
    Band {
        name: "90 % of the draws of a".to_owned(),
        edges: [edge(|one| one.low), edge(|one| one.high)],
    }
}
