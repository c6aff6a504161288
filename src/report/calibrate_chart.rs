//! The picture of `calibrate`: readings as points, the calibrated model as lines over the count.

use super::chart::{Chart, Level, Mark, Measure, Panel, Series, Shape};
use crate::calibrate::answer::CalibrateAnswer;
use crate::calibrate::estimate::Estimate;
use crate::calibrate::estimates::Provenance;
use crate::calibrate::question::Question;
use crate::calibrate::readings::Reading;
use crate::model::footprint::Age;
use crate::model::scanner::Scan;
use crate::sizing::host::HostModel;
use crate::survey::reading::Settled;
use crate::unit::format;

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
    let host = &lab.hosts[question.host];
    let model = HostModel::new(lab, host);
    let most = question
        .readings
        .iter()
        .map(|reading| reading.guests)
        .max()
        .unwrap_or(1)
        .max(1);
    let predicts = &answer.predicts;
    let cliff = if question.age == Age::Fresh {
        predicts.breaks_at_fresh
    } else {
        predicts.breaks_at
    };
    let end = cliff
        .value
        .unwrap_or(AHEAD * most)
        .clamp(most + 1, (AHEAD * most).max(most + 1));
    let share = |bytes: f64| bytes / model.visible;
    // As it was read: with no guest busy.
    let held = |n: u64, age, scan| {
        let counts = question.counts(n);
        let guests = model.memory(&counts, age, &model.sharing(&counts, age, scan));
        host.memory.base + host.memory.file_cache + guests.always()
    };
    let line = |name: &str, age, scan| Series {
        name: name.to_owned(),
        points: (0..=POINTS)
            .map(|point| point * end / POINTS)
            .map(|n| (n as f64, share(held(n, age, scan))))
            // More than there is cannot be in use.
            .take_while(|(_, y)| *y <= FULL)
            .collect(),
        shape: Shape::Line,
    };
    let mut series = vec![line("settled, by the model", question.age, Scan::Steady)];
    if model.counted_scan() != Scan::Off || answer.estimates["touched"].from == Provenance::Readings
    {
        series.push(line("just started, nothing merged", Age::Fresh, Scan::Off));
    }
    let words = question.readings.len() <= MOST_WORDS;
    let marks = question
        .readings
        .iter()
        .zip(&answer.readings)
        .map(|(reading, row)| Mark {
            at: (reading.guests as f64, share(row.read)),
            text: if words {
                mark_text(reading)
            } else {
                String::new()
            },
        });
    let memory = &host.memory;
    let safe = share(model.usable() + memory.base + memory.file_cache);
    let top = series
        .iter()
        .flat_map(|series| &series.points)
        .map(|(_, y)| *y)
        .fold(0.0, f64::max);
    let levels = [("safe limit", safe), ("all memory", 1.0)]
        .into_iter()
        .filter(|(_, y)| top >= NEAR * y)
        .map(|(name, y)| Level {
            name: name.to_owned(),
            y,
        });
    let panel = Panel {
        y_label: "memory in use, share of what the kernel sees (points: readings, settled if nothing is said)"
            .to_owned(),
        y: Measure::Share,
        weight: 4,
        at_least: 0.0,
        series,
        levels: levels.collect(),
        marks: marks.collect(),
    };
    Chart {
        title: format!("Memory of {} by count of {}", answer.host, answer.guest),
        alt: format!(
            "Memory in use as a share of what {} sees, over the number of {} guests: {} as points (settled yes, \
             no or unknown) and the calibrated model as lines.",
            answer.host,
            answer.guest,
            format::plural(question.readings.len() as u64, "reading", "readings")
        ),
        x_label: format!("{} guests", answer.guest),
        x: Measure::Count,
        panels: vec![panel],
    }
}
