//! The numbers that a person reads, with their intervals and provenance.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::apply::touched;
use super::estimate::Estimate;
use super::fit::Interval;
use super::memory::MemoryModel;
use super::memory::{Affine, Unknown};
use super::question::Question;
use crate::lab::keys::Spread;
use crate::lab::{Mode, Source, key_of, key_path};
use crate::model::number::Number;
use crate::unit::parse::{Dimension, parse};

/// A number and where it comes from.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct EstimateAnswer {
    /// Best value.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// `readings`, `lab`, or `both`: the readings, with numbers of the lab that they cannot tell and whose doubt the
    /// interval leaves out.
    #[schemars(with = "String")]
    pub from: Provenance,
}

/// Where a number comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Provenance {
    /// The readings alone.
    Readings,
    /// The lab alone.
    Lab,
    /// The readings, with numbers of the lab that are guesses until they are measured.
    Both,
}

impl Provenance {
    /// Of a number that the readings determine or not, and that rests on a guess of the lab too or not.
    fn of(is_determined: bool, rests_on_lab: bool) -> Provenance {
        match (is_determined, rests_on_lab) {
            (false, _) => Provenance::Lab,
            (true, true) => Provenance::Both,
            (true, false) => Provenance::Readings,
        }
    }
}

/// The numbers and their intervals.
pub fn estimates(question: &Question, found: &Estimate) -> BTreeMap<&'static str, EstimateAnswer> {
    let (fit, model) = (&found.fit, &found.fit.model);
    let determines = |unknown| fit.parameters.determines(unknown);
    let shares = model.mode != Mode::Off;
    // What guests share is a guess of the lab that goes into what was read of merged guests, or of unmerged ones.
    let guessed = shares && !determines(Unknown::Shared);
    let merged_guess = guessed && fit.evidence.merged;
    let unmerged_guess = guessed && !fit.evidence.merged;
    // With nothing merged one more guest takes all it holds.
    let alone = model.unmerged(1.0) - model.unmerged(0.0);
    let slope = if shares {
        Unknown::Slope.affine()
    } else {
        alone
    };
    let common = Unknown::Shared.affine().scaled(model.common_share);
    let base = Unknown::Base.affine();
    let estimate = |affine: Affine, unknown, guess| {
        let from = Provenance::of(determines(unknown), guess);
        answer(found.interval(&affine), from)
    };
    let split = common_shares(question, model);
    let rest = split.map(|share| 1.0 - share);
    let base_and_common = estimate(base + common, Unknown::Base, unmerged_guess);
    let mut all = BTreeMap::from([
        ("unique", estimate(slope, Unknown::Slope, unmerged_guess)),
        ("common", shared_part(found, model.common_share, split)),
        (
            "repeats",
            shared_part(found, 1.0 - model.common_share, rest),
        ),
        ("base", estimate(base, Unknown::Base, merged_guess)),
        ("base_and_common", base_and_common),
        ("touched", touched_estimate(found, merged_guess)),
    ]);
    all.extend(touched_busy_estimate(found, merged_guess).map(|busy| ("touched_busy", busy)));
    if fit.evidence.unmerged && !fit.evidence.merged {
        let unmerged = answer(found.interval(&alone), Provenance::Readings);
        all.insert("unmerged", unmerged);
    }
    all
}

fn answer(Interval { value, low, high }: Interval, from: Provenance) -> EstimateAnswer {
    EstimateAnswer {
        value,
        low,
        high,
        from,
    }
}

/// A part of what a guest shares: the whole is determined or not, its split is the lab's.
///
/// - `share` of the part, and `ends` of what it may be
fn shared_part(found: &Estimate, share: f64, ends: [f64; 2]) -> EstimateAnswer {
    let whole = found.interval(&Unknown::Shared.affine());
    let is_split = 0.0 < share && share < 1.0;
    let from = Provenance::of(
        found.fit.parameters.determines(Unknown::Shared),
        is_split || ends[0] != ends[1],
    );
    let value = share * whole.value;
    EstimateAnswer {
        value,
        low: (whole.low * ends[0].min(ends[1])).min(value),
        high: (whole.high * ends[0].max(ends[1])).max(value),
        from,
    }
}

/// What share of what a guest shares may be common: one value twice where the lab gives both parts, else between the ends
/// of their ranges.
fn common_shares(question: &Question, model: &MemoryModel) -> [f64; 2] {
    let guest = question.guest();
    let [common, repeats] = [("common", guest.common), ("repeats", guest.repeats)]
        .map(|(key, value)| range_of(question, key, value));
    let share = |common: f64, repeats: f64| {
        let sum = common + repeats;
        if sum > 0.0 {
            common / sum
        } else {
            model.common_share
        }
    };
    [share(common[0], repeats[1]), share(common[1], repeats[0])]
}

/// Low and high of a part of `touched`, by the lab's range or by that of its default `[B]`.
fn range_of(question: &Question, key: &str, value: f64) -> [f64; 2] {
    let (lab, guest) = (question.lab, question.guest());
    let path = key_path(&["guest", &guest.name, key]);
    if let Some(one) = lab.uncertain.iter().find(|one| one.path == path) {
        return [one.low, one.high];
    }
    let source = lab.origins.get(&path).map(|origin| &origin.source);
    let spread = key_of(&path).map(|key| key.spread);
    let (Some(Source::Default(_)), Some(Spread::Shares(low, high))) = (source, spread) else {
        return [value; 2];
    };
    let share = |text, otherwise: f64| {
        parse(text, Dimension::Share).map_or(otherwise, |share| share * guest.touched)
    };
    [share(low, value), share(high, value)]
}

/// t0: from a step; from the idle size where the guests were never busy; else from the lab.
fn touched_estimate(found: &Estimate, guess: bool) -> EstimateAnswer {
    let (fit, model) = (&found.fit, &found.fit.model);
    if fit.parameters.determines(Unknown::Step) {
        return answer(found.interval(&model.fresh()), Provenance::Readings);
    }
    if model.guest.keeps == 0.0 {
        return answer(found.interval(&model.idle()), Provenance::of(true, guess));
    }
    let (value, _) = touched(model, &fit.parameters, &fit.values);
    answer(Interval::exact(value), Provenance::Lab)
}

/// t1, what a guest touches that has been busy, `t0 + (ti − t0)/k`; none where the readings do not determine it.
fn touched_busy_estimate(found: &Estimate, guess: bool) -> Option<EstimateAnswer> {
    let (fit, model) = (&found.fit, &found.fit.model);
    if model.guest.keeps == 0.0 {
        return None;
    }
    let (fresh, value) = touched(model, &fit.parameters, &fit.values);
    let has_step = fit.parameters.determines(Unknown::Step);
    let start = if has_step {
        model.fresh()
    } else {
        Affine::of(fresh)
    };
    let busy =
        start.scaled(1.0 - 1.0 / model.guest.keeps) + model.idle().scaled(1.0 / model.guest.keeps);
    // With a step the idle size is taken from the lab's own t1, and rounding alone is left of the readings.
    if !fit.parameters.determines_any_of(&busy) {
        return None;
    }
    let Interval { low, high, .. } = found.interval(&busy);
    let interval = Interval {
        value,
        low: low.max(fresh).min(value),
        high: high.min(model.guest.memory).max(value),
    };
    Some(answer(interval, Provenance::of(true, !has_step || guess)))
}
