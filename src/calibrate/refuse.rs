//! Why readings give no answer, said with the lines they stand in.

use super::classify::{Use, classify, evidence};
use super::estimate::{Broken, Question, Refusal};
use super::law::{Frame, Lived};
use super::readings::Readings;
use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind};
use crate::sizing::host::HostModel;
use crate::survey::reading::Settled;
use crate::unit::format;

/// The error for a refusal.
#[must_use]
pub fn refuse(question: &Question, readings: &Readings, refusal: &Refusal) -> Diagnostics {
    let error = match refusal {
        Refusal::TooFew => too_few(question, readings),
        Refusal::Contradiction(broken, by) => contradiction(question, readings, *broken, *by),
        Refusal::Scatter(error, worst) => scatter(readings, *error, *worst),
    };
    Diagnostics::new(readings.sources.clone(), vec![error])
}

fn too_few(question: &Question, readings: &Readings) -> Diagnostic {
    let left = readings.list.len().saturating_sub(question.held_out);
    let with = |state| {
        readings
            .list
            .iter()
            .take(left)
            .filter(|reading| reading.settled == state)
            .count() as u64
    };
    let message = if left == 0 && question.held_out > 0 {
        format!(
            "nothing is left of {} with --hold-out {}",
            format::plural(readings.list.len() as u64, "reading", "readings"),
            question.held_out
        )
    } else if left == 0 {
        "there are no readings below the headings".to_owned()
    } else if with(Settled::Yes) > 0 {
        "no settled reading was taken with guests running".to_owned()
    } else {
        format!(
            "no reading is settled and none was taken right after a start: {} in an unknown state, {} just started",
            with(Settled::Unknown),
            with(Settled::No)
        )
    };
    let place = readings.list.first().map(|reading| reading.place);
    if left == 0 && question.held_out > 0 {
        let most = readings.list.len().saturating_sub(1);
        return Diagnostic::new(ErrorKind::TooFewReadings, message)
            .at_any(place, "the first of them")
            .hint(format!(
                "hold out at most {most}, fewer is better; or take more readings"
            ));
    }
    Diagnostic::new(ErrorKind::TooFewReadings, message)
        .at_any(place, "the first of them")
        .hint("let the host settle, read it, and say settled = yes; take another at about twice as many guests")
        .hint("where readings have no column `settled` they count as unknown")
}

fn contradiction(question: &Question, readings: &Readings, broken: Broken, by: f64) -> Diagnostic {
    let guest = &question.lab.guests[question.guest];
    let size = format::bytes(by);
    let fresh_hint = if question.lived == Lived::Yes && guest.busy > 0.0 {
        "if the guests were never busy since they started, say --fresh; else look at `keeps` and `touched_busy`"
    } else {
        "look at `settled`: a reading taken while sharing was still at work is not settled"
    };
    let base = question.lab.hosts[question.host].memory.base;
    let (message, hint) = match broken {
        Broken::Slope if !has_line(question, readings) => (
            format!(
                "what the lab gives the host itself ({} of `base` beside its cache) leaves its guests {size} less than they \
                 must take",
                format::bytes(base)
            ),
            "correct `base`, or take a settled reading at a second count, which tells it".to_owned(),
        ),
        Broken::Base => (
            format!("the readings leave the host itself {size} less than nothing"),
            "a reading with few guests is too low or one with many too high, beyond what their scatter explains".to_owned(),
        ),
        Broken::Slope => (
            format!("one more guest takes {size} less than its own process and page tables"),
            format!("more guests must hold more; check the counts, and `overhead` ({})", format::bytes(guest.overhead)),
        ),
        Broken::Shared => (
            format!("a fresh guest is {size} smaller than what a settled one keeps for itself"),
            fresh_hint.to_owned(),
        ),
        Broken::Touched => (
            format!("a fresh guest touches {size} less than nothing"),
            format!("a step must raise memory by more than the process takes; check `overhead` ({})", format::bytes(guest.overhead)),
        ),
        Broken::TouchedShared => (
            format!("a guest would have to share {size} more than it touches when fresh"),
            fresh_hint.to_owned(),
        ),
        Broken::Idle => (
            format!("a settled guest holds {size} less than a fresh one, though nothing is merged"),
            fresh_hint.to_owned(),
        ),
        Broken::Memory => (
            format!("a guest would hold {size} more than its memory ({})", format::bytes(guest.memory)),
            "check the counts, `memory` and `overhead`, and whether other things ran beside the guests".to_owned(),
        ),
    };
    marked(
        question,
        readings,
        Diagnostic::new(ErrorKind::ContradictoryReadings, message).hint(hint),
    )
}

/// Whether settled readings at two counts tell the host's own memory.
fn has_line(question: &Question, readings: &Readings) -> bool {
    let left = readings.list.len().saturating_sub(question.held_out);
    let uses = uses(question, readings);
    evidence(&readings.list, &uses, |index| index < left).line
}

fn uses(question: &Question, readings: &Readings) -> Vec<Use> {
    let model = HostModel::new(question.lab, &question.lab.hosts[question.host]);
    let frame = Frame::new(&model, &question.lab.guests[question.guest], question.lived);
    classify(&readings.list, &frame, |_| false)
}

/// Points at the readings that the answer hangs on: the first and the last that are used.
fn marked(question: &Question, readings: &Readings, error: Diagnostic) -> Diagnostic {
    let uses = uses(question, readings);
    let left = readings.list.len().saturating_sub(question.held_out);
    let mut used = readings
        .list
        .iter()
        .zip(&uses)
        .take(left)
        .filter(|(_, one)| !matches!(one, Use::Bound | Use::Settling));
    let (first, last) = (used.next(), used.next_back());
    [first, last]
        .into_iter()
        .flatten()
        .fold(error, |error, (reading, one)| {
            error.at(reading.place, one.words())
        })
}

fn scatter(readings: &Readings, error: f64, worst: usize) -> Diagnostic {
    let place = readings.list.get(worst).map(|reading| reading.place);
    Diagnostic::new(
        ErrorKind::ContradictoryReadings,
        format!("the readings scatter by {} about the best fit, so they are not of one host in one state", format::share(error)),
    )
    .at_any(place, "farthest off")
    .hint("look at `settled` and `guests` of this line, and whether other things ran beside the guests")
}
