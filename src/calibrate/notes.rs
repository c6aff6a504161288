//! What was taken as given, and what could not be distinguished.

use super::classify::no_pair;
use super::equations::saved_since;
use super::estimate::Estimate;
use super::memory::Unknown;
use super::prior::BasePrior;
use super::question::Question;
use super::readings::Readings;
use super::usage::Usage;
use crate::lab::Mode;
use crate::model::footprint::{Age, Tracking};
use crate::survey::reading::Settled;

/// Something that the answer rests on.
#[derive(Debug, Clone, PartialEq)]
pub enum Note {
    /// The guests read were never busy, by the call.
    SaidFresh,
    /// By the lab the guest is never busy.
    NeverBusy,
    /// The guests read had been busy and keep this share of what they touched then.
    Keeps(f64),
    /// How sure the host's own memory is, and what it is by the lab `[B]`.
    Base(BasePrior, f64),
    /// What guests share stays as in the lab; whether merged guests were read.
    SharedAsInLab {
        /// Whether merged guests were read.
        merged: bool,
    },
    /// What guests share is determined as one number, of which this share is common.
    SharedTogether(f64),
    /// What guests share comes from the merge counters.
    Counters,
    /// A reading at an adaptive scanner's threshold is taken as merged.
    HoveringAsMerged,
    /// Steps are taken as read before the new pages were tracked.
    UntrackedSteps,
    /// Steps are corrected by what the merge counters show as saved since the reading before.
    LateSteps,
    /// There are just as many readings as numbers sought.
    NoFreedom,
    /// So many readings are in an unknown state.
    UnknownState(u64),
    /// Other guests of the lab are taken as not running.
    OtherGuests,
    /// Other guests run as columns count them, and what they hold is taken from the lab.
    CountedOthers,
    /// Why a reading after a start has none right before it.
    NoPair(String),
    /// Readings with so few guests that they share less than more would, by their lines.
    FewGuests(Vec<usize>),
    /// Columns that were not used.
    UnusedColumns(Vec<String>),
}

/// What the answer rests on.
pub(super) fn notes(question: &Question, readings: &Readings, found: &Estimate) -> Vec<Note> {
    let (fit, model) = (&found.fit, &found.fit.model);
    let guest = question.guest();
    let shared = fit.parameters.determines(Unknown::Shared);
    let age = match question.age {
        Age::Fresh => Note::SaidFresh,
        Age::LivedIn if guest.busy.most() == 0.0 => Note::NeverBusy,
        Age::LivedIn => Note::Keeps(guest.keeps),
    };
    let uses = || {
        let uses = fit.observations.iter().map(|observation| observation.usage);
        question.readings.iter().zip(uses)
    };
    let hovering = uses().any(|(_, usage)| usage == Usage::HoveringAsMerged);
    let few = uses().filter(|(_, usage)| *usage == Usage::TooFewGuests);
    let few: Vec<usize> = few.map(|(reading, _)| reading.line).collect();
    let steps = fit.parameters.determines(Unknown::Step) && model.tracking() == Tracking::On;
    let late = uses().any(|(reading, usage)| match usage {
        Usage::Step(before) => saved_since(&question.readings[before], reading) > 0.0,
        _ => false,
    });
    let states = question.readings.iter().map(|reading| reading.settled);
    let unknown = states.filter(|state| *state == Settled::Unknown).count() as u64;
    let merged = fit.evidence.merged;
    let as_in_lab = !shared && model.mode != Mode::Off;
    let unused = readings.unused.clone();
    let applying = [
        (true, age),
        (true, Note::Base(found.base, model.base)),
        (as_in_lab, Note::SharedAsInLab { merged }),
        (shared, Note::SharedTogether(model.common_share)),
        (fit.parameters.counters, Note::Counters),
        (hovering, Note::HoveringAsMerged),
        (steps, Note::UntrackedSteps),
        (late, Note::LateSteps),
        (fit.freedom == 0, Note::NoFreedom),
        (unknown > 0, Note::UnknownState(unknown)),
        (
            question.lab.guests.len() > 1 && !question.counts_others(),
            Note::OtherGuests,
        ),
        (question.counts_others(), Note::CountedOthers),
        (!few.is_empty(), Note::FewGuests(few)),
        (!unused.is_empty(), Note::UnusedColumns(unused)),
    ];
    let applying = applying.into_iter().filter(|(applies, _)| *applies);
    let unpaired = (0..question.readings.len())
        .filter_map(|index| Some(Note::NoPair(no_pair(question.readings, index)?)));
    applying.map(|(_, note)| note).chain(unpaired).collect()
}
