//! What to be careful about.

use super::classify::Use;
use super::estimate::{Estimate, Question};
use super::law::{Lived, Sought};
use super::readings::Readings;
use crate::model::PAGE;
use crate::sizing::answer::CautionAnswer;
use crate::unit::format;

/// Room for a host's own rounding of what it sees.
const SAME_HOST: f64 = 0.02;

/// Cautions that apply.
pub(super) fn cautions(
    question: &Question,
    readings: &Readings,
    found: &Estimate,
) -> Vec<CautionAnswer> {
    let mut cautions = Vec::new();
    let mut caution = |id, text: String| cautions.push(CautionAnswer { id, text });
    for index in &found.outliers {
        let reading = &readings.list[*index];
        caution(
            "outlier",
            format!(
                "The reading in line {} ({}) is farther from the others than their error explains: read {}, expected {}. \
                 It was used all the same; look at it again, and take it out only if you know why it is wrong.",
                reading.line,
                format::plural(reading.guests, "guest", "guests"),
                format::bytes(found.demand[*index]),
                format::bytes(found.modelled[*index].at(&found.values))
            ),
        );
    }
    for (index, reading) in readings.list.iter().enumerate() {
        let bound = matches!(
            found.uses[index],
            Use::Bound | Use::Settling | Use::Hovering
        );
        let (low, read) = (found.modelled[index].at(&found.values), found.demand[index]);
        let high = found
            .frame
            .unmerged(reading.guests as f64)
            .at(&found.values);
        let room = found.quantile * found.error * read + reading.rounding;
        if bound && (read < low - room || read > high + room) {
            caution(
                "outside_bounds",
                format!(
                    "The reading in line {} ({}, {}) lies outside of what its state allows, {} (all merged) to {} (just \
                     started): other things may have run then.",
                    reading.line,
                    format::plural(reading.guests, "guest", "guests"),
                    format::bytes(read),
                    format::bytes(low),
                    format::bytes(high.max(low))
                ),
            );
        }
    }
    if let Some(total) = readings.list.iter().find_map(|reading| reading.total)
        && (total / found.frame.visible - 1.0).abs() > SAME_HOST
    {
        caution(
            "other_host",
            format!(
                "The readings come from a host that sees {}, but {} sees {} by the lab.",
                format::bytes(total),
                question.lab.hosts[question.host].name,
                format::bytes(found.frame.visible)
            ),
        );
    }
    if question.lived == Lived::No && question.lab.guests[question.guest].busy > 0.0 {
        caution(
            "fresh_flatters",
            "Fresh guests flatter: what a guest keeps once it has been busy is taken from the lab (touched_busy, keeps), \
             not from these readings."
                .to_owned(),
        );
    }
    if !found.solution.active.is_empty() {
        caution(
            "held_at_bound",
            "The best fit would need a number just beyond what is possible; it is held at the edge, within the error of \
             the readings."
                .to_owned(),
        );
    }
    if let Some(text) = late_step(readings, found) {
        caution("late_step", text);
    }
    caution(
        "estimate",
        "The answer is an estimate from the readings and the numbers given.".to_owned(),
    );
    cautions
}

/// Merge counters above this many times what the steps explain speak against the steps (assumption).
const MORE_SAVED: f64 = 1.5;
/// A step that leaves less than this share of a fresh guest to be shared is looked at twice (assumption; owners report
/// savings from 4 % on).
const HARDLY: f64 = 0.1;

/// A step that was read when the new guests were already being merged makes a fresh guest look small.
fn late_step(readings: &Readings, found: &Estimate) -> Option<String> {
    if !(found.plan.tells(Sought::Step) && found.plan.tells(Sought::Shared)) {
        return None;
    }
    let counted = readings
        .list
        .iter()
        .enumerate()
        .rev()
        .find_map(|(index, reading)| {
            let pages = reading.sharing.filter(|_| found.uses[index].is_merged())?;
            let saved = found.frame.saved(reading.guests as f64, found.kappa[index]);
            (pages * PAGE > MORE_SAVED * saved.at(&found.values).max(PAGE)).then(|| {
                format!(
                    "the merge counters in line {} show {} saved, but the steps explain {}",
                    reading.line,
                    format::bytes(pages * PAGE),
                    format::bytes(saved.at(&found.values).max(0.0))
                )
            })
        });
    let fresh = found.frame.fresh().at(&found.values);
    let shared = found.values[Sought::Shared as usize].max(0.0);
    let hardly = (shared < HARDLY * fresh).then(|| {
        let touched = format::bytes(fresh);
        match format::bytes(shared).as_str() {
            "0 B" => format!(
                "by the steps guests share nothing of the {touched} that a fresh one touches"
            ),
            some => format!(
                "by the steps guests share only {some} of the {touched} that a fresh one touches"
            ),
        }
    });
    let seen = counted.or(hardly)?;
    Some(format!(
        "A step may have been read too late: {seen}. Where sharing works while guests start, a reading minutes after the \
         start makes a fresh guest look too small; read it at once, or a few guests with sharing switched off."
    ))
}
