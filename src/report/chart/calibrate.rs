//! The picture of `calibrate`: readings as points, the calibrated model as lines over the count.

use super::{Chart, Level, Mark, Measure, Panel, Series, Shape};
use crate::calibrate::answer::CalibrateAnswer;
use crate::calibrate::estimate::Estimate;
use crate::calibrate::estimates::Provenance;
use crate::calibrate::question::Question;
use crate::calibrate::readings::Reading;
use crate::model::footprint::Age;
use crate::model::scanner::Scan;
use crate::sizing::host::HostModel;
use crate::survey::reading::Settled;
use crate::words::picture;

/// Points of a line.
const POINTS: u64 = 60;
/// More readings than this carry no words.
const MOST_WORDS: usize = 12;
/// Lines go on to at most this many times the largest count that was read.
const AHEAD: u64 = 3;

/// What stands beside a reading; nothing beside a settled one, as most are and the panel says.
fn mark_text(reading: &Reading) -> String {
    match reading.settled {
        Settled::Yes => String::new(),
        Settled::No => format!("{}, just started", reading.guests),
        Settled::Unknown => format!("{}, state unknown", reading.guests),
    }
}

/// Lines end a little above all the memory there is.
const FULL: f64 = 1.1;
/// A limit far above everything read would only squeeze the picture: it is drawn from this part of it on.
const NEAR: f64 = 0.5;

/// Draws readings and model.
#[must_use]
pub fn chart(question: &Question, found: &Estimate, answer: &CalibrateAnswer) -> Chart {
    let lab = &found.fit.calibrated.lab;
    let model = HostModel::new(lab, &lab.hosts[question.host]);
    let series = series(question, &model, answer);
    let levels = levels(&model, &series);
    let readings = question.readings.iter().zip(&answer.readings);
    let has_words = question.readings.len() <= MOST_WORDS;
    let marks = readings.map(|(reading, row)| Mark {
        at: (reading.guests as f64, row.read / model.visible),
        text: if has_words {
            mark_text(reading)
        } else {
            String::new()
        },
    });
    let label = "memory in use, share of what the kernel sees (points: readings, settled if nothing is said)";
    let panel = Panel {
        weight: 4,
        marks: marks.collect(),
        levels,
        ..Panel::of(label, Measure::Share, series)
    };
    Chart {
        title: format!("Memory of {} by count of {}", answer.host, answer.guest),
        alt: picture::calibrate(answer),
        x_label: format!("{} guests", answer.guest),
        x: Measure::Count,
        panels: vec![panel],
    }
}

/// Memory over the count by the model, settled and right after a start.
fn series(question: &Question, model: &HostModel, answer: &CalibrateAnswer) -> Vec<Series> {
    let readings = question.readings.iter();
    let most = readings.map(|reading| reading.guests).max();
    let most = most.unwrap_or(1).max(1);
    let cliff = if question.age == Age::Fresh {
        answer.predicts.breaks_at_fresh
    } else {
        answer.predicts.breaks_at
    };
    let farthest = AHEAD * most;
    let end = cliff
        .value
        .unwrap_or(farthest)
        .clamp(most + 1, farthest.max(most + 1));
    // As it was read: with no guest busy.
    let share = |n: u64, age, scan| {
        let counts = question.counts(n);
        let guests = model.memory(&counts, age, &model.sharing(&counts, age, scan));
        let memory = &model.host.memory;
        (memory.base + memory.file_cache + guests.always()) / model.visible
    };
    let line = |name: &str, age, scan| Series {
        name: name.to_owned(),
        points: (0..=POINTS)
            .map(|point| point * end / POINTS)
            .map(|n| (n as f64, share(n, age, scan)))
            // More than there is cannot be in use.
            .take_while(|(_, y)| *y <= FULL)
            .collect(),
        shape: Shape::Line,
    };
    let mut series = vec![line("settled, by the model", question.age, Scan::Steady)];
    let is_fresh_known = answer.estimates["touched"].from == Provenance::Readings;
    if model.counted_scan() != Scan::Off || is_fresh_known {
        series.push(line("just started, nothing merged", Age::Fresh, Scan::Off));
    }
    series
}

/// The limits that the lines come near.
fn levels(model: &HostModel, series: &[Series]) -> Vec<Level> {
    let memory = &model.host.memory;
    let safe = (model.usable() + memory.base + memory.file_cache) / model.visible;
    let points = series.iter().flat_map(|series| &series.points);
    let top = points.map(|(_, y)| *y).fold(0.0, f64::max);
    [("safe limit", safe), ("all memory", 1.0)]
        .into_iter()
        .filter(|(_, y)| top >= NEAR * y)
        .map(|(name, y)| Level::new(name, y))
        .collect()
}
