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
use crate::unit::format;
use crate::words::name::only_if;
use crate::words::picture;

/// Points of a line.
const POINTS: u64 = 60;
/// More readings than this carry no words.
const MOST_WORDS: usize = 12;
/// Lines go on to the cliff, and to at most this many times the largest count that was read.
const AHEAD: u64 = 20;

/// Lines end a little above all the memory there is.
const FULL: f64 = 1.1;

/// What stands beside a reading; nothing beside a settled one, as most are and the panel says.
fn mark_text(reading: &Reading) -> String {
    match reading.settled {
        Settled::Yes => String::new(),
        Settled::No => format!("{}, just started", reading.guests),
        Settled::Unknown => format!("{}, state unknown", reading.guests),
    }
}

/// Draws readings and model.
pub fn chart(question: &Question, found: &Estimate, answer: &CalibrateAnswer) -> Chart {
    let lab = &found.fit.calibrated.lab;
    let model = HostModel::new(lab, &lab.hosts[question.host]);
    let mut series = series(question, &model, answer);
    let end = series[0].points.last().map_or(0.0, |(x, _)| *x);
    series.extend(rules(question, &model, answer, end));
    let readings = question.readings.iter().zip(&answer.readings);
    let has_words = question.readings.len() <= MOST_WORDS;
    let marks = readings.map(|(reading, row)| Mark {
        at: (reading.guests as f64, row.read / model.visible),
        text: only_if(has_words, mark_text(reading)),
    });
    let label = "memory in use, share of what the kernel sees (points: readings, settled if nothing is said)";
    let panel = Panel {
        weight: 4,
        marks: marks.collect(),
        levels: levels(&model),
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
    let most = readings.map(|reading| reading.guests).fold(1, u64::max);
    let [_, cliff] = counts(question, answer);
    let farthest = AHEAD * most;
    let end = cliff.unwrap_or(farthest).clamp(most + 1, farthest);
    // As it was read: with no guest busy.
    let share = |n: u64, age, scan| {
        let counts = question.counts(n);
        let guests = model.memory(&counts, age, &model.sharing(&counts, age, scan));
        let memory = &model.host.memory;
        (memory.base + memory.file_cache + guests.always()) / model.visible
    };
    let line = |name: &str, age, scan| {
        let counts = (0..=POINTS).map(|point| point * end / POINTS);
        let points = counts.map(|n| (n as f64, share(n, age, scan)));
        // More than there is cannot be in use.
        Series::new(name, Shape::Line, points.take_while(|(_, y)| *y <= FULL))
    };
    let mut series = vec![line("settled, by the model", question.age, Scan::Steady)];
    let is_fresh_known = answer.estimates["touched"].from == Provenance::Readings;
    if model.counted_scan() != Scan::Off || is_fresh_known {
        series.push(line("just started, nothing merged", Age::Fresh, Scan::Off));
    }
    series
}

/// How many are held, and the first past the cliff.
fn counts(question: &Question, answer: &CalibrateAnswer) -> [Option<u64>; 2] {
    let predicts = &answer.predicts;
    let counts = match question.age {
        Age::Fresh => [predicts.fresh, predicts.breaks_at_fresh],
        Age::LivedIn => [predicts.fits, predicts.breaks_at],
    };
    counts.map(|count| count.value)
}

/// Rules at these counts, where the guests that were read are all that the lab has: else its counts are of others too.
fn rules(
    question: &Question,
    model: &HostModel,
    answer: &CalibrateAnswer,
    end: f64,
) -> Vec<Series> {
    let alone = |n: &u64| model.composition.counts(*n) == question.counts(*n);
    let named = ["fits", "cliff"].into_iter().zip(counts(question, answer));
    let known = named.filter_map(|(name, n)| Some((name, n.filter(alone)?)));
    let drawn = known.filter(|(_, n)| *n as f64 <= end);
    drawn
        .map(|(name, n)| Series::rule(format!("{name} {}", format::count(n)), n as f64))
        .collect()
}

/// The limits of memory.
fn levels(model: &HostModel) -> Vec<Level> {
    let memory = &model.host.memory;
    let safe = (model.usable() + memory.base + memory.file_cache) / model.visible;
    [("safe limit", safe), ("all memory", 1.0)]
        .map(|(name, y)| Level::new(name, y))
        .to_vec()
}
