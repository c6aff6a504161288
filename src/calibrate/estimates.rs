//! The numbers that a person reads, with their intervals and who told them.

use std::collections::BTreeMap;

use super::answer::EstimateAnswer;
use super::apply::touched;
use super::estimate::{Estimate, Interval};
use super::law::{Linear, Sought};
use crate::lab::Mode;

/// Who told a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Teller {
    Readings,
    Lab,
    /// The readings, with numbers of the lab that are guesses as long as nobody measured them.
    Both,
}

impl Teller {
    fn name(self) -> &'static str {
        match self {
            Teller::Readings => "readings",
            Teller::Lab => "lab",
            Teller::Both => "both",
        }
    }

    /// The readings; with the lab's own numbers where `needs_lab`.
    fn readings(needs_lab: Need) -> Teller {
        match needs_lab {
            Need::Lab => Teller::Both,
            Need::Nothing => Teller::Readings,
        }
    }
}

/// Whether a number of the lab goes into one that the readings tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Need {
    Lab,
    Nothing,
}

/// What the readings cannot do without.
struct Needs {
    /// Of guests read merged, the lab's common and repeats.
    merged: Need,
    /// Of guests read unmerged, the same.
    unmerged: Need,
    /// What a fresh guest touches.
    fresh: Need,
}

fn need(lab: bool) -> Need {
    if lab { Need::Lab } else { Need::Nothing }
}

/// The numbers and their intervals.
#[must_use]
pub fn estimates(found: &Estimate) -> BTreeMap<&'static str, EstimateAnswer> {
    let frame = &found.frame;
    let of = |sought| Linear::of(sought);
    let told = |sought| found.plan.tells(sought);
    let shares = frame.mode != Mode::Off;
    let guessed = shares && !told(Sought::Shared);
    let needs = Needs {
        merged: need(guessed && found.evidence.merged),
        unmerged: need(guessed && !found.evidence.merged),
        fresh: need(!told(Sought::Step)),
    };
    let teller = |told: bool, needs| {
        if told {
            Teller::readings(needs)
        } else {
            Teller::Lab
        }
    };
    // With nothing merged one more guest takes all it holds.
    let alone = frame.unmerged(1.0).plus(-1.0, frame.unmerged(0.0));
    let common = of(Sought::Shared).scaled(frame.common_share);
    let repeats = of(Sought::Shared).scaled(1.0 - frame.common_share);
    let slope = if shares { of(Sought::Slope) } else { alone };
    let shared = teller(told(Sought::Shared), Need::Nothing);
    let base = teller(told(Sought::Base), needs.merged);
    let both = teller(told(Sought::Base), needs.unmerged);
    let unique = teller(told(Sought::Slope), needs.unmerged);
    let base_and_common = of(Sought::Base).plus(1.0, common);
    let mut all = vec![
        ("unique", found.interval(&slope), unique),
        ("common", found.interval(&common), shared),
        ("repeats", found.interval(&repeats), shared),
        ("base", found.interval(&of(Sought::Base)), base),
        ("base_and_common", found.interval(&base_and_common), both),
    ];
    all.push(fresh(found, &needs));
    all.extend(busy(found, &needs));
    if found.evidence.unmerged && !found.evidence.merged {
        all.push(("unmerged", found.interval(&alone), Teller::Readings));
    }
    all.into_iter()
        .map(|(name, Interval { value, low, high }, teller)| {
            let from = teller.name();
            (
                name,
                EstimateAnswer {
                    value,
                    low,
                    high,
                    from,
                },
            )
        })
        .collect()
}

/// t0: from a step; from the idle size where the guests were never busy; else from the lab.
fn fresh(found: &Estimate, needs: &Needs) -> (&'static str, Interval, Teller) {
    let frame = &found.frame;
    if found.plan.tells(Sought::Step) {
        let interval = found.interval(&frame.fresh());
        return ("touched", interval, Teller::Readings);
    }
    if frame.keeps == 0.0 {
        let interval = found.interval(&frame.idle());
        return ("touched", interval, Teller::readings(needs.merged));
    }
    let (value, _) = touched(frame, &found.plan, &found.values);
    let interval = Interval {
        value,
        low: value,
        high: value,
    };
    ("touched", interval, Teller::Lab)
}

/// t1, what a guest touches that has been busy, `t0 + (ti − t0)/k`; none where the readings do not tell it.
fn busy(found: &Estimate, needs: &Needs) -> Option<(&'static str, Interval, Teller)> {
    let frame = &found.frame;
    if frame.keeps == 0.0 {
        return None;
    }
    let (fresh, value) = touched(frame, &found.plan, &found.values);
    let start = if found.plan.tells(Sought::Step) {
        frame.fresh()
    } else {
        Linear::constant(fresh)
    };
    let form = start
        .scaled(1.0 - 1.0 / frame.keeps)
        .plus(1.0 / frame.keeps, frame.idle());
    // With a step the idle size is taken from the lab's own t1, and nothing is left of the readings but crumbs.
    found.plan.form(&form)[1..]
        .iter()
        .any(|factor| factor.abs() > 1e-9)
        .then(|| {
            let Interval { low, high, .. } = found.interval(&form);
            let interval = Interval {
                value,
                low: low.max(fresh).min(value),
                high: high.min(frame.memory).max(value),
            };
            let lab = needs.fresh == Need::Lab || needs.merged == Need::Lab;
            ("touched_busy", interval, Teller::readings(need(lab)))
        })
}
