//! The answer of `calibrate` to lines of guests: one value that every format is written from.

use schemars::JsonSchema;
use serde::Serialize;

use super::apply::apply;
use super::common::{PeriodAnswer, correlation_of, periods};
use super::estimates::Estimated;
use super::lines::Record;
use super::profile::{ProfileAnswer, profile};
use super::spells::usual_step;
use super::watch::GuestKind;
use crate::calibrate::fit::CONFIDENCE;
use crate::calibrate::predict::{Prediction, first_past_cliff, fits, with_draws};
use crate::lab::{self, Lab};
use crate::model::DAY;
use crate::model::demand::estimated::{FEWEST_DAYS, FEWEST_GUESTS};
use crate::sizing::fit::CONTRACT;
use crate::sizing::host::HostModel;
use crate::sizing::search::Largest;
use crate::sizing::uncertainty::{Draws, each_draw, is_certain};

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
    let known = |kind| profile(&lab.guests, kind, usual, &periods);
    let profiles: Vec<ProfileAnswer> = kinds.iter().map(known).collect();
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

/// The correlation as a lab takes it; none where the lab has periods or some were found: those would count the same twice.
pub fn correlation_alone(
    lab: &Lab,
    periods: &[PeriodAnswer],
    found: Option<Estimated>,
) -> Option<Estimated> {
    let mut found = found.filter(|_| lab.periods.is_empty() && periods.is_empty())?;
    for one in [&mut found.value, &mut found.low, &mut found.high] {
        *one = one.min(MOST_CORRELATION);
    }
    Some(found)
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

/// What the lab with these profiles answers, and that lab. The ends come from each estimate at its own ends with the others
/// at their values, and from the draws of what the lines do not say, added as squares.
fn predict(
    lab: &Lab,
    host: usize,
    profiles: &[ProfileAnswer],
    draws: Option<Draws>,
) -> (GuestsPrediction, Lab) {
    let counts = |lab: &Lab, host: usize| {
        let model = HostModel::new(lab, &lab.hosts[host]);
        [fits(&model, None), first_past_cliff(&model)]
    };
    let changed = apply(lab, profiles, None);
    let values = counts(&changed, host).map(Largest::bound);
    let mut guests = changed.guests.iter();
    let is_scaled = guests.any(|guest| guest.count == 0 && guest.share.is_some());
    let mut reach = [[0.0_f64; 2]; 2];
    for profile in profiles {
        let wide = profile
            .estimates
            .iter()
            .filter(|(_, one)| one.low < one.high);
        for (key, end) in wide.flat_map(|(key, one)| [(key, one.low), (key, one.high)]) {
            let moved = apply(lab, profiles, Some((&profile.guest, key, end)));
            let found = counts(&moved, host).map(|found| found.bound().unwrap_or(0));
            for ((reach, value), found) in reach.iter_mut().zip(values).zip(found) {
                let off = found as f64 - value.unwrap_or(0) as f64;
                let side = usize::from(off > 0.0);
                reach[side] = reach[side].hypot(off);
            }
        }
    }
    let drawn = draws.and_then(|draws| {
        each_draw(lab, &lab.hosts[host].name, draws, |lab, _| {
            counts(&apply(lab, profiles, None), 0)
        })
    });
    let one = |count: usize| {
        let value = values[count].unwrap_or(0);
        let reach = with_draws(value, reach[count], drawn.as_deref(), count);
        Prediction::around(values[count], reach)
    };
    let predicts = GuestsPrediction {
        fits: one(0),
        breaks_at: one(1),
        unit: if is_scaled { "guests" } else { "sets" },
    };
    (predicts, changed)
}
