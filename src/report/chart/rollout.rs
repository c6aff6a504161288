//! The picture of `rollout`.

use super::{Chart, Level, Mark, Measure, Panel, Series, Shape};
use crate::rollout::{BatchRun, Event, EventKind, Moment, Rollout};
use crate::unit::format;
use crate::words::name::only_if;
use crate::words::picture;

/// Peaks, and losses, named in the picture; more would cover one another.
const MOST_MARKS: usize = 3;
/// Peaks nearer to one another than this part of the picture are named once.
const NEAR: f64 = 7.0;

/// Memory, guests and scanner against time.
pub fn chart(rollout: &Rollout) -> Chart {
    let timeline = &rollout.run.timeline;
    let line = |name: &str, shape, value: fn(&Moment) -> f64| {
        let points = timeline.iter().map(|moment| (moment.t_s, value(moment)));
        Series::new(name, shape, points)
    };
    let mut memory = vec![line("memory", Shape::Line, |moment| moment.used)];
    memory.extend(losses(rollout));
    let (limit, y_label) = (
        rollout.limit,
        "memory in use, share of what the kernel sees",
    );
    let limit_name = format!("limit {}", format::share(limit));
    let memory = Panel {
        weight: 3,
        at_least: 1.12,
        levels: vec![Level::new(limit_name, limit), Level::new("cliff", 1.0)],
        marks: marks(rollout),
        ..Panel::of(y_label, Measure::Share, memory)
    };
    let steps = |y_label: &str, y, name: &str, value| Panel {
        at_least: 1.0,
        ..Panel::of(y_label, y, vec![line(name, Shape::Steps, value)])
    };
    let guests: fn(&Moment) -> f64 = |moment| moment.guests as f64;
    let scanned: fn(&Moment) -> f64 = |moment| moment.scan_pages_per_s;
    let guests = steps("guests running", Measure::Count, "guests", guests);
    let mut panels = vec![memory, guests];
    if timeline.iter().any(|moment| scanned(moment) > 0.0) {
        let label = "page-sharing scanner, pages visited per second";
        panels.push(steps(label, Measure::Rate, "scanner", scanned));
    }
    Chart {
        title: format!("{}: starting guests", rollout.host),
        alt: picture::rollout(rollout),
        x_label: "time since the first start".to_owned(),
        x: Measure::Time,
        panels,
    }
}

/// A rule where each batch begins to lose guests, the first few with how many.
fn losses(rollout: &Rollout) -> Vec<Series> {
    let is_killed = |event: &Event| matches!(event.kind, EventKind::Killed { .. });
    let killed_at = |batch: &BatchRun| {
        let mut killed = rollout.run.events.iter().filter(|event| is_killed(event));
        killed.find(|event| event.t_s >= batch.start_s)
    };
    let lossy = rollout.run.batches.iter().filter(|batch| batch.killed > 0);
    let rules = lossy.filter_map(|batch| Some((batch, killed_at(batch)?)));
    let rules = rules.enumerate().map(|(index, (batch, event))| {
        let name = format!("{} killed", format::count(batch.killed));
        Series::rule(only_if(index < MOST_MARKS, name), event.t_s)
    });
    rules.collect()
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
    // The moment of each peak is kept, with the guests that run then: not all of its batch need have started or stayed.
    let running = |batch: &BatchRun| {
        let mut moments = rollout.run.timeline.iter();
        let peak = moments.find(|moment| moment.t_s >= at(batch) && moment.used >= batch.peak);
        peak.map_or(batch.before, |moment| moment.guests)
    };
    let marks = named.iter().take(MOST_MARKS).map(|batch| {
        let (peak, guests) = (format::share(batch.peak), format::guests(running(batch)));
        Mark {
            at: (at(batch), batch.peak),
            text: format!("{peak} at {guests}"),
        }
    });
    marks.collect()
}
