//! The picture of `fit` where guests keep coming: loads over months, with the date of each resource.

use super::fit::in_period;
use super::parts::{HIGHEST, line, mark, panel};
use super::{Chart, Level, Measure, Panel, Series, Shape};
use crate::sizing::answer::HostAnswer;
use crate::sizing::growth::Timeline;
use crate::unit::format;
use crate::words::name::{label, titled};
use crate::words::{growth, picture};

/// Name of the horizontal axis.
pub const MONTHS: &str = "months from now";

/// Two panels a host: the load of every resource and the number of guests; none where no guests come.
pub fn chart(hosts: &[HostAnswer], lab: &str) -> Option<Chart> {
    let drawn = hosts.iter();
    let drawn = drawn.filter_map(|host| Some((host, host.timeline.as_ref()?)));
    let drawn: Vec<(&HostAnswer, &Timeline)> = drawn.collect();
    let subject = match drawn.as_slice() {
        [] => return None,
        [(only, _)] => &only.name,
        _ => lab,
    };
    let panels = drawn.iter().flat_map(|(host, timeline)| {
        let whose = match drawn.len() {
            1 => String::new(),
            _ => format!("{}: ", host.name),
        };
        [loads(host, timeline, &whose), guests(timeline, &whose)]
    });
    let texts: Vec<String> = drawn.iter().map(|(host, _)| picture::dates(host)).collect();
    Some(Chart {
        title: titled("Load over time if guests keep coming", subject),
        alt: texts.join(" "),
        x_label: MONTHS.to_owned(),
        x: Measure::Count,
        panels: panels.collect(),
    })
}

/// The load of every resource, with its date.
fn loads(host: &HostAnswer, timeline: &Timeline, whose: &str) -> Panel {
    let mut panel = panel(&format!("{whose}load, as a share of the safe limit"), 3);
    for (one, period) in timeline.loads.iter().zip(&timeline.periods) {
        let answer = host.resources.iter().find(|other| other.name == one.name);
        let date = answer.and_then(|answer| answer.full_in_months);
        let until = growth::lasts(date.unwrap_or(f64::INFINITY));
        let name = format!("{}: {until}", in_period(label(&one.name), period.as_ref()));
        let load = one.load.iter().map(|load| load.unwrap_or(f64::INFINITY));
        let points = timeline.months.iter().copied().zip(load);
        panel.series.push(line(name, points, HIGHEST));
        panel
            .marks
            .extend(date.and_then(|months| mark(&panel, months)));
    }
    panel.levels.push(Level::new("safe limit", 1.0));
    let full = host.full_in.as_ref().and_then(|full| full.months);
    let rule = full.filter(|months| *months > 0.0);
    let rule =
        rule.map(|months| Series::rule(format!("full in {}", format::months(months)), months));
    panel.series.extend(rule);
    panel
}

/// The number of guests.
fn guests(timeline: &Timeline, whose: &str) -> Panel {
    let guests = timeline.guests.iter().map(|n| *n as f64);
    let series = Series {
        name: String::new(),
        points: timeline.months.iter().copied().zip(guests).collect(),
        shape: Shape::Steps,
    };
    Panel::of(format!("{whose}guests"), Measure::Count, vec![series])
}
