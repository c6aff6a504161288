//! The picture of `fit` where guests keep coming: loads over months, with the date of each resource.

use super::fit::in_period;
use super::parts::{Drawn, HIGHEST, by_host, or_beyond, panel};
use super::{Chart, Measure, Panel, Series, Shape};
use crate::sizing::answer::HostAnswer;
use crate::sizing::growth::Timeline;
use crate::unit::format;
use crate::words::{growth, picture};

/// Name of the horizontal axis.
pub const MONTHS: &str = "months from now";

/// Two panels a host: the load of every resource and the number of guests; none where no guests come.
pub fn chart(hosts: &[HostAnswer], lab: &str) -> Option<Chart> {
    let drawn = hosts.iter();
    let drawn = drawn.filter_map(|host| Some((host, host.timeline.as_ref()?)));
    let drawn: Drawn<Timeline> = drawn.collect();
    let what = "Load over time if guests keep coming";
    let (title, panels) = by_host(what, lab, &drawn, |host, timeline, whose| {
        [loads(host, timeline, whose), guests(timeline, whose)]
    });
    let texts = drawn.iter().map(|(host, _)| picture::dates(host));
    (!drawn.is_empty()).then(|| Chart {
        title,
        alt: format::joined(texts, " "),
        x_label: MONTHS.to_owned(),
        x: Measure::Count,
        panels,
    })
}

/// The load of every resource, with its date.
fn loads(host: &HostAnswer, timeline: &Timeline, whose: &str) -> Panel {
    let title = format!("{whose}load, as a share of the safe limit");
    let mut panel = panel(&title, 3, "safe limit");
    for one in &timeline.loads {
        let answer = host.resources.iter().find(|other| other.name == one.name);
        let date = answer.and_then(|answer| answer.full_in_months);
        let until = growth::lasts(date.unwrap_or(f64::INFINITY));
        let name = format!("{}: {until}", in_period(&one.name, one.period.as_ref()));
        let load = timeline.months.iter().copied().zip(or_beyond(&one.load));
        panel.draw(name, load, HIGHEST, date);
    }
    let full = host.full_in.as_ref().and_then(|full| full.months);
    let full = full.filter(|months| *months > 0.0);
    let rule = |months| Series::rule(format!("full in {}", format::months(months)), months);
    panel.series.extend(full.map(rule));
    panel
}

/// The number of guests.
fn guests(timeline: &Timeline, whose: &str) -> Panel {
    let guests = timeline.guests.iter().map(|n| *n as f64);
    let points = timeline.months.iter().copied().zip(guests);
    let series = Series::new("", Shape::Steps, points);
    Panel::of(format!("{whose}guests"), Measure::Count, vec![series])
}
