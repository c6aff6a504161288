//! The picture of `rollout`.

use super::chart::{Chart, Level, Mark, Measure, Panel, Series, Shape};
use crate::rollout::{BatchRun, EventKind, Rollout};
use crate::unit::format;

/// Peaks, and losses, named in the picture; more would cover one another.
const MOST_MARKS: usize = 3;
/// Peaks nearer to one another than this part of the picture are named once.
const NEAR: f64 = 7.0;

/// Memory, guests and scanner against time.
#[must_use]
pub fn chart(rollout: &Rollout) -> Chart {
    let line = |name: &str, shape, value: fn(&crate::rollout::Moment) -> f64| Series {
        name: name.to_owned(),
        points: rollout
            .run
            .timeline
            .iter()
            .map(|moment| (moment.t_s, value(moment)))
            .collect(),
        shape,
    };
    let mut memory = vec![line("memory", Shape::Line, |moment| moment.used)];
    memory.extend(losses(rollout));
    let memory = Panel {
        y_label: "memory in use, share of what the kernel sees".to_owned(),
        y: Measure::Share,
        weight: 3,
        at_least: 1.12,
        series: memory,
        levels: vec![
            Level {
                name: format!("limit {}", format::share(rollout.limit)),
                y: rollout.limit,
            },
            Level {
                name: "cliff".to_owned(),
                y: 1.0,
            },
        ],
        marks: marks(rollout),
    };
    let guests = Panel {
        y_label: "guests running".to_owned(),
        y: Measure::Count,
        weight: 1,
        at_least: 1.0,
        series: vec![line("guests", Shape::Steps, |moment| moment.guests as f64)],
        levels: Vec::new(),
        marks: Vec::new(),
    };
    let scanner = Panel {
        y_label: "page-sharing scanner, pages visited per second".to_owned(),
        y: Measure::Rate,
        weight: 1,
        at_least: 1.0,
        series: vec![line("scanner", Shape::Steps, |moment| {
            moment.scan_pages_per_s
        })],
        levels: Vec::new(),
        marks: Vec::new(),
    };
    let scans = rollout
        .run
        .timeline
        .iter()
        .any(|moment| moment.scan_pages_per_s > 0.0);
    let mut panels = vec![memory, guests];
    if scans {
        panels.push(scanner);
    }
    let lost = match rollout.run.killed {
        0 => String::new(),
        killed => format!(
            " The kernel kills {}.",
            format::plural(killed, "guest", "guests")
        ),
    };
    Chart {
        title: format!("{}: starting guests", rollout.host),
        alt: format!(
            "Memory in use against time while {} starts {}: it peaks at {} and ends at {}; the limit is {}, and at the \
             cliff memory is full, swap fills and the kernel kills guests.{lost}",
            rollout.host,
            format::plural(rollout.run.started, "guest", "guests"),
            format::share(rollout.run.peak),
            format::share(
                rollout
                    .run
                    .timeline
                    .last()
                    .map_or(0.0, |moment| moment.used)
            ),
            format::share(rollout.limit)
        ),
        x_label: "time since the first start".to_owned(),
        x: Measure::Time,
        panels,
    }
}

/// A rule where each batch begins to lose guests, the first few with how many.
fn losses(rollout: &Rollout) -> Vec<Series> {
    let killed_at = |batch: &BatchRun| {
        let events = &rollout.run.events;
        let killed = |event: &&crate::rollout::Event| {
            event.t_s >= batch.start_s && matches!(event.kind, EventKind::Killed { .. })
        };
        events.iter().find(killed).map(|event| event.t_s)
    };
    let lossy = rollout.run.batches.iter().filter(|batch| batch.killed > 0);
    let rules = lossy.filter_map(|batch| Some((batch, killed_at(batch)?)));
    rules
        .enumerate()
        .map(|(index, (batch, at))| Series {
            name: if index < MOST_MARKS {
                format!("{} killed", format::count(batch.killed))
            } else {
                String::new()
            },
            points: vec![(at, 0.0)],
            shape: Shape::Upright,
        })
        .collect()
}

/// The highest peaks, with the guests they belong to; of peaks that read alike the first, of near ones the highest.
fn marks(rollout: &Rollout) -> Vec<Mark> {
    let mut peaks: Vec<&BatchRun> = rollout.run.batches.iter().collect();
    peaks.sort_by(|a, b| {
        let percent = |batch: &BatchRun| (batch.peak * 100.0).round();
        percent(b).total_cmp(&percent(a))
    });
    peaks.dedup_by_key(|batch| format::share(batch.peak));
    let at = |batch: &BatchRun| batch.start_s + batch.peak_s;
    let apart = rollout.run.timeline.last().map_or(0.0, |end| end.t_s) / NEAR;
    let mut named: Vec<&BatchRun> = Vec::new();
    for batch in peaks {
        if named.iter().all(|one| (at(one) - at(batch)).abs() >= apart) {
            named.push(batch);
        }
    }
    named
        .iter()
        .take(MOST_MARKS)
        .map(|batch| Mark {
            at: (at(batch), batch.peak),
            text: format!(
                "{} at {}",
                format::share(batch.peak),
                format::plural(batch.before + batch.started, "guest", "guests")
            ),
        })
        .collect()
}
