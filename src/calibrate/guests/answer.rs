//! The answer of `calibrate` to lines of guests: one value that every format is written from.

use schemars::JsonSchema;
use serde::Serialize;

use super::apply::{self, Profile, apply, guest_of};
use super::common::{PeriodAnswer, correlation_of, periods};
use super::estimates::{Estimated, Estimates, Needs, NotMeasured};
use super::lines::Record;
use super::profile::estimates;
use super::spells::usual_step;
use super::watch::GuestKind;
use crate::calibrate::fit::CONFIDENCE;
use crate::calibrate::predict::{Prediction, first_past_cliff};
use crate::lab::{self, Guest, Lab};
use crate::model::DAY;
use crate::model::demand::estimated::{FEWEST_DAYS, FEWEST_GUESTS};
use crate::sizing::fit::CONTRACT;
use crate::sizing::host::HostModel;
use crate::sizing::lowest::{Hint, lowest};
use crate::sizing::search::Largest;
use crate::sizing::uncertainty::{Draws, each_draw, ends, is_certain};

/// Fewer guests, less time and fewer spells than these say little of a kind.
const ENOUGH: (usize, f64, usize) = (4, DAY, 10);

/// Largest correlation that a lab is given (assumption).
const MOST_CORRELATION: f64 = 0.95;

/// Answer of `calibrate` to lines of guests. Sizes `[B]`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "CalibrateGuestsAnswer")]
pub struct GuestsAnswer {
    /// Always `"calibrate"`.
    #[schemars(extend("const" = "calibrate"))]
    pub report: &'static str,
    /// Version of the JSON contract.
    pub version: u32,
    /// Name of the lab.
    pub lab: String,
    /// Host that the counts are for.
    pub host: String,
    /// How long guests were watched `[s]`.
    pub seconds: f64,
    /// Share of the cases in which an interval holds the truth.
    pub confidence: f64,
    /// The kinds of guests, by name.
    pub profiles: Vec<ProfileAnswer>,
    /// How far the spells of guests come together; null where it cannot be told.
    pub correlation: Option<Estimated>,
    /// The quietest, the usual and the busiest time; empty where less than two days were watched.
    pub periods: Vec<PeriodAnswer>,
    /// What the lab with these profiles answers.
    pub predicts: GuestsPrediction,
    /// Draws of what the lines do not say that its intervals rest on; null where they rest on the lines alone.
    pub draws: Option<Draws>,
    /// Headings that were not used.
    pub unused: Vec<String>,
    /// Cautions that apply.
    pub cautions: Vec<GuestsCaution>,
}

/// What is known of a kind.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "CalibratedProfile")]
pub struct ProfileAnswer {
    /// Its name.
    pub guest: String,
    /// Whether the lab has no guest of that name, so that one is added.
    pub added: bool,
    /// How many were watched.
    pub guests: usize,
    /// How many ran at the end.
    pub running: u64,
    /// How many times they were busy.
    pub spells: usize,
    /// What the lines say, by key; `unique` is what one more settled guest holds, its process with it.
    pub estimates: Estimates,
    /// What they do not say, and what would tell it.
    #[serde(rename = "untold")]
    pub not_measured: Vec<NotMeasured>,
    /// The periods that it is busy in with other chances: name, chance and where that lies. The answer's `periods` has them.
    #[serde(skip)]
    pub busy: Vec<(String, f64, [f64; 2])>,
}

/// Counts that the lab with these profiles gives.
#[derive(Debug, Clone, Copy, Default, Serialize, JsonSchema)]
pub struct GuestsPrediction {
    /// Largest N within every limit.
    pub fits: Prediction,
    /// First N past the cliff.
    pub breaks_at: Prediction,
    /// What N counts: `guests` that are scaled, or whole `sets` of those that must run.
    pub unit: &'static str,
}

/// A caution that applies to profiles from lines of guests.
#[derive(Debug, Clone, PartialEq)]
pub enum GuestsCaution {
    /// A kind was seen in few guests, for a short time or in few spells: its name, and these.
    Little(String, usize, f64, usize),
    /// What guests do at the same time rests on so long a time `[s]` and so many guests of a kind.
    Together(f64, usize),
    /// All numbers are estimates.
    Estimate,
}

/// The answer and the lab with the profiles in it.
pub fn answer(lab: &Lab, host: usize, record: Record, draws: Option<Draws>) -> (GuestsAnswer, Lab) {
    let usual = usual_step(&record.guests);
    let kinds = GuestKind::all(&record.guests, usual);
    let periods = periods(&kinds, usual, &lab.periods);
    let correlation = correlation_of(&kinds, usual);
    let lab = &with_common(lab, &periods, correlation_alone(lab, &periods, correlation));
    let profile = |kind: &GuestKind| profile_answer(&lab.guests, kind, usual, &periods);
    let profiles: Vec<ProfileAnswer> = kinds.iter().map(profile).collect();
    let seconds = kinds.first().map_or(0.0, GuestKind::seconds);
    let (predicts, changed) = predict(lab, host, &profiles, draws);
    let together = correlation.is_some() || !periods.is_empty();
    let answer = GuestsAnswer {
        report: "calibrate",
        version: CONTRACT,
        lab: lab.name.clone(),
        host: lab.hosts[host].name.clone(),
        seconds,
        confidence: CONFIDENCE,
        correlation,
        periods,
        predicts,
        draws: draws.filter(|_| !is_certain(lab, &lab.hosts[host].name)),
        cautions: cautions(&profiles, seconds, together),
        profiles,
        unused: record.unused,
    };
    (answer, changed)
}

/// What is known of the kinds of a record beside the guests that a lab has.
pub fn profiles(guests: &[Guest], record: &Record) -> Vec<ProfileAnswer> {
    let usual = usual_step(&record.guests);
    let kinds = GuestKind::all(&record.guests, usual);
    kinds
        .iter()
        .map(|kind| profile_answer(guests, kind, usual, &[]))
        .collect()
}

/// The correlation as a lab takes it; none where the lab has periods or some were found: those would count the same twice.
pub fn correlation_alone(
    lab: &Lab,
    periods: &[PeriodAnswer],
    found: Option<Estimated>,
) -> Option<Estimated> {
    let found = found.filter(|_| lab.periods.is_empty() && periods.is_empty())?;
    let [value, low, high] =
        [found.value, found.low, found.high].map(|one| one.min(MOST_CORRELATION));
    Some(Estimated {
        value,
        low,
        high,
        ..found
    })
}

/// The lab with what all guests have in common in time: the correlation, or the periods that were found, where it has none.
fn with_common(lab: &Lab, found: &[PeriodAnswer], correlation: Option<Estimated>) -> Lab {
    let mut lab = lab.clone();
    if let Some(correlation) = correlation {
        lab.policy.correlation = correlation.value;
    }
    if lab.periods.is_empty() {
        let periods = found.iter().map(|one| lab::Period {
            name: one.name.clone(),
            ..lab::Period::otherwise(one.share)
        });
        lab.periods = periods.collect();
    }
    lab
}

/// What is known of one kind.
fn profile_answer(
    guests: &[Guest],
    kind: &GuestKind,
    usual: f64,
    periods: &[PeriodAnswer],
) -> ProfileAnswer {
    let memory = kind.each(|guest| guest.watched.memory);
    let memory = memory.into_iter().fold(0.0, f64::max);
    let known = guest_of(guests, kind.name, memory);
    let (mut estimates, mut not_measured) = estimates(kind, &known);
    let busy = periods.iter().filter_map(|period| {
        let ends = *period.intervals.get(kind.name)?;
        Some((period.name.clone(), *period.busy.get(kind.name)?, ends))
    });
    let busy: Vec<_> = busy.collect();
    if known.busy.is_by_period() && busy.is_empty() && estimates.remove("busy").is_some() {
        let (key, needs) = ("busy", Needs::Periods);
        not_measured.push(NotMeasured { key, needs });
    }
    let last =
        |guest: &super::watch::ClassedGuest| guest.watched.moments().last().map(|moment| moment.at);
    // A guest whose last line is as late as any runs still.
    let running = kind
        .each(last)
        .into_iter()
        .filter(|at| *at >= kind.span[1] - 3.0 * usual)
        .count();
    ProfileAnswer {
        guest: kind.name.to_owned(),
        added: !guests.iter().any(|guest| guest.name == kind.name),
        guests: kind.guests.len(),
        running: running as u64,
        spells: kind.spells(),
        estimates,
        not_measured,
        busy,
    }
}

/// What to know of the profiles, and of what guests do `together` where that was found.
fn cautions(profiles: &[ProfileAnswer], seconds: f64, together: bool) -> Vec<GuestsCaution> {
    let (guests, day, spells) = ENOUGH;
    let little = profiles.iter().filter(|profile| {
        let few_spells = profile.spells > 0 && profile.spells < spells;
        profile.guests < guests || seconds < day || few_spells
    });
    let little = little.map(|profile| {
        GuestsCaution::Little(
            profile.guest.clone(),
            profile.guests,
            seconds,
            profile.spells,
        )
    });
    let busy = profiles.iter().filter(|profile| profile.spells > 0);
    let fewest = busy.map(|profile| profile.guests).min().unwrap_or(0);
    let is_scarce = together && (seconds < FEWEST_DAYS * DAY || fewest < FEWEST_GUESTS);
    let scarce = is_scarce.then_some(GuestsCaution::Together(seconds, fewest));
    little
        .chain(scarce)
        .chain([GuestsCaution::Estimate])
        .collect()
}

/// How many fit on a host, and the first count past the cliff.
fn predicted_counts(lab: &Lab, host: usize) -> [Largest; 2] {
    let model = HostModel::new(lab, &lab.hosts[host]);
    let fits = lowest(&model, &Hint::plain(&model)).largest;
    [fits, first_past_cliff(&model)]
}

/// The ends of each count in the draws of what the lines do not say; none without draws.
fn drawn_ends(
    lab: &Lab,
    host: usize,
    profiles: &[Profile],
    draws: Option<Draws>,
) -> [Option<[Largest; 2]>; 2] {
    let drawn = draws.and_then(|draws| {
        each_draw(lab, &lab.hosts[host].name, draws, |lab, _| {
            predicted_counts(&apply(lab, profiles, |_, _, one| one.value), 0)
        })
    });
    [0, 1].map(|count| ends(drawn.iter().flatten().map(|all| all[count]).collect()))
}

/// What the lab with these profiles answers. The ends come from each estimate at its own ends with the others at their
/// values, and from the draws of what the lines do not say, added as squares.
fn predict(
    lab: &Lab,
    host: usize,
    answers: &[ProfileAnswer],
    draws: Option<Draws>,
) -> (GuestsPrediction, Lab) {
    let profiles = profiles_of(answers);
    let changed = apply(lab, &profiles, |_, _, one| one.value);
    let values = predicted_counts(&changed, host).map(Largest::bound);
    let mut guests = changed.guests.iter();
    let is_scaled = guests.any(|guest| guest.count == 0 && guest.share.is_some());
    let mut reach = [[0.0_f64; 2]; 2];
    for profile in &profiles {
        for (wanted, one) in profile
            .estimates
            .iter()
            .filter(|(_, one)| one.low < one.high)
        {
            for end in [one.low, one.high] {
                let moved = apply(lab, &profiles, |name, key, other| {
                    let is_it = name == profile.name && key == *wanted;
                    if is_it { end } else { other.value }
                });
                let found = predicted_counts(&moved, host).map(|found| found.bound().unwrap_or(0));
                for ((reach, value), found) in reach.iter_mut().zip(values).zip(found) {
                    let off = found as f64 - value.unwrap_or(0) as f64;
                    let side = usize::from(off > 0.0);
                    reach[side] = reach[side].hypot(off);
                }
            }
        }
    }
    let drawn = drawn_ends(lab, host, &profiles, draws);
    for ((reach, value), drawn) in reach.iter_mut().zip(values).zip(drawn) {
        let value = value.unwrap_or(0);
        let [low, high] = drawn.unwrap_or([Largest::Bound(value); 2]);
        reach[0] = reach[0].hypot(value.saturating_sub(low.number()) as f64);
        reach[1] = reach[1].hypot(match high {
            Largest::Unbounded => f64::INFINITY,
            high => high.number().saturating_sub(value) as f64,
        });
    }
    let predicts = GuestsPrediction {
        fits: Prediction::around(values[0], reach[0]),
        breaks_at: Prediction::around(values[1], reach[1]),
        unit: if is_scaled { "guests" } else { "sets" },
    };
    (predicts, changed)
}

/// The guest that a kind is by itself, with the defaults for what the lines do not say.
pub fn added_guest(answer: &ProfileAnswer) -> Guest {
    apply::added_guest(&profile_of(answer))
}

/// The profiles of an answer, as a lab takes them.
pub fn profiles_of(answers: &[ProfileAnswer]) -> Vec<Profile<'_>> {
    answers.iter().map(profile_of).collect()
}

fn profile_of(answer: &ProfileAnswer) -> Profile<'_> {
    Profile {
        name: &answer.guest,
        count: answer.running,
        estimates: &answer.estimates,
        busy: answer.busy.iter().map(|(_, share, _)| *share).collect(),
    }
}
