//! What the readings say beside the estimate: which one to take next, how swap does, what memory a guest needs.

use super::classify::Use;
use super::estimate::{CONFIDENCE, Estimate, Question, quantile};
use super::law::{Frame, Linear, Sought};
use super::readings::Reading;
use super::solve::{dot, variance};
use crate::lab::{Lab, Mode, Source};
use crate::model::MIB;
use crate::sizing::fit::{find_all, plain_sum};
use crate::sizing::host::HostModel;
use crate::unit::format;

/// The reading that would narrow the answer most.
#[derive(Debug, Clone, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct Next {
    /// Guests to read at.
    pub guests: u64,
    /// Width of the interval of memory at the safe count then, over its width now; none where the reading would tell a
    /// number that is taken from the lab now.
    pub narrows_to: Option<f64>,
    /// What to do.
    pub text: String,
}

/// Says which reading to take next; `fits` is the count that the plan aims at.
#[must_use]
pub fn next(question: &Question, found: &Estimate, fits: Option<u64>) -> Option<Next> {
    let most = question
        .readings
        .iter()
        .map(|reading| reading.guests)
        .max()
        .unwrap_or(0);
    let batch = (most / 10).max(1);
    let open = |guests, text: String| {
        Some(Next {
            guests,
            narrows_to: None,
            text,
        })
    };
    if !found.evidence.line && found.frame.mode == Mode::Adaptive && found.evidence.merged {
        // Where a reading above the threshold is there, a second one has to be at another count.
        let least = if found.uses.contains(&Use::HoveringTaken) {
            most
        } else {
            most + (most / 20).max(1)
        };
        let Some(guests) = above_threshold(found, least) else {
            let text = "a settled reading with the scanner at a fixed speed: an adaptive one hovers at its threshold with \
                        any count this host holds, and a reading there only bounds what merged guests take";
            return open(most, text.to_owned());
        };
        let text = format!(
            "a settled reading with {}: above its threshold an adaptive scanner works at its fastest, so it tells what \
             merged guests take, where one at the threshold only bounds it",
            format::plural(guests, "guest", "guests")
        );
        return open(guests, text);
    }
    if !found.evidence.line {
        let guests = fits.map_or(most / 2, |fits| {
            if fits > most {
                fits.min(2 * most.max(1))
            } else {
                most / 2
            }
        });
        let text = format!(
            "a settled reading with {}: two different counts tell the guests from the host itself, whose memory is \
             taken from the lab now",
            format::plural(guests, "guest", "guests")
        );
        return open(guests, text);
    }
    if !found.plan.tells(Sought::Shared) && found.frame.mode != Mode::Off {
        let text = format!(
            "a reading right after the start of {}, beside one right before: it tells what a fresh guest touches, and \
             with that what guests share from what the host itself takes",
            format::plural(batch, "more guest", "more guests")
        );
        return open(most + batch, text);
    }
    let goal_n = fits.filter(|fits| *fits > 0).unwrap_or(most.max(1));
    let kappa = found.kappa.last().copied().unwrap_or(1.0);
    let goal = found.plan.form(&found.frame.merged(goal_n as f64, kappa));
    let now = variance(&goal[1..], &found.solution.covariance);
    let wider = [0, most, goal_n.min(2 * most.max(1))].map(|n| {
        (
            n,
            candidate(&found.frame, n, kappa),
            "a settled reading with",
        )
    });
    let step = found
        .frame
        .merged(most as f64, kappa)
        .plus(batch as f64, Linear::of(Sought::Step));
    let step = (
        most + batch,
        step,
        "a reading right after a start, beside one right before, with",
    );
    let tells_step = found.plan.tells(Sought::Step);
    let best = wider
        .into_iter()
        .chain(Some(step).filter(|_| tells_step))
        .map(|(n, linear, words)| (left_after(found, &goal[1..], &linear), n, words))
        .min_by(|one, other| one.0.total_cmp(&other.0))?;
    let tails = quantile(0.5 + CONFIDENCE / 2.0, found.freedom + 1) / found.quantile;
    let narrows_to = if now > 0.0 {
        (best.0 / now).sqrt() * tails
    } else {
        1.0
    };
    let guests = format::plural(best.1, "guest", "guests");
    Some(Next {
        guests: best.1,
        narrows_to: Some(narrows_to),
        text: format!(
            "{} {guests}: it leaves the interval of what {} hold at about {} of its width",
            best.2,
            format::plural(goal_n, "guest", "guests"),
            format::share(narrows_to.min(1.0))
        ),
    })
}

/// Clear of an adaptive scanner's threshold `[share of visible memory]` (assumption, a little more than what counts as
/// hovering).
const CLEAR: f64 = 0.03;

/// The smallest count, not below `least`, whose merged guests stand clear above the scanner's threshold; none where they
/// would not be within memory.
fn above_threshold(found: &Estimate, least: u64) -> Option<u64> {
    let kappa = found.kappa.last().copied().unwrap_or(1.0);
    let held = |n: u64| found.frame.merged(n as f64, kappa).at(&found.values);
    let wanted = found.frame.ceiling + CLEAR * found.frame.visible;
    let slope = held(least + 1) - held(least);
    if slope <= 0.0 {
        return None;
    }
    let more = ((wanted - held(least)) / slope).max(0.0).ceil();
    let guests = least.saturating_add(more as u64);
    (held(guests) < found.frame.visible).then_some(guests)
}

fn candidate(frame: &Frame, n: u64, kappa: f64) -> Linear {
    if n == 0 {
        frame.unmerged(0.0)
    } else {
        frame.merged(n as f64, kappa)
    }
}

/// Variance of a form once one more reading is there (Sherman–Morrison).
fn left_after(found: &Estimate, goal: &[f64], reading: &Linear) -> f64 {
    let form = found.plan.form(reading);
    let covariance = &found.solution.covariance;
    let toward: Vec<f64> = covariance.iter().map(|row| dot(row, &form[1..])).collect();
    let sigma = reading.at(&found.values).max(1.0);
    let gain = dot(goal, &toward).powi(2) / (sigma.powi(2) + dot(&form[1..], &toward));
    (variance(goal, covariance) - gain).max(0.0)
}

/// Slower than this nobody notices `[B/s]` (assumption).
const QUIET: f64 = 100e3;
/// From here on guests wait for it `[B/s]` (assumption).
const CHURNING: f64 = 1e6;
/// Share of the time waiting for memory from which on a host suffers (assumption).
const SUFFERING: f64 = 0.10;

/// Whether swap is quiet or churning, in words; none where the readings do not say.
#[must_use]
pub fn swap(readings: &[Reading]) -> Option<String> {
    let most =
        |figure: fn(&Reading) -> Option<f64>| readings.iter().filter_map(figure).reduce(f64::max);
    let used = most(|reading| reading.swap_used);
    let rate = most(|reading| reading.swap_rate);
    let pressure = most(|reading| reading.memory_pressure);
    if used.is_none() && rate.is_none() {
        return None;
    }
    let (held, moved, waited) = (
        used.unwrap_or(0.0),
        rate.unwrap_or(0.0),
        pressure.unwrap_or(0.0),
    );
    let figures = format!(
        "at most {} in it, {} in and out, tasks wait for memory {} of the time",
        format::bytes(held),
        rate.map_or_else(|| "rate not read".to_owned(), format::byte_rate),
        pressure.map_or_else(|| "an unknown part".to_owned(), format::share)
    );
    Some(if moved >= CHURNING || waited >= SUFFERING {
        format!(
            "Swap is churning: guests wait for memory that is fetched back again and again ({figures})."
        )
    } else if held == 0.0 && moved == 0.0 {
        format!("Swap is empty ({figures}).")
    } else if moved < QUIET {
        format!("Swap is quiet: what lies in it is not asked for ({figures}).")
    } else {
        format!("Swap is used now and then ({figures}).")
    })
}

/// A smaller `memory` for the guest, and what it would gain.
#[derive(Debug, Clone, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct Smaller {
    /// The memory it has now `[B]`.
    pub now: f64,
    /// The most that any guest has touched `[B]`.
    pub highest: f64,
    /// The memory that would do `[B]`.
    pub enough: f64,
    /// Largest N within every limit now and then.
    pub fits: [Option<u64>; 2],
    /// The plain sum now and then.
    pub plain_sum: [Option<u64>; 2],
}

/// Room above the highest use, and the step that memory is given in (common practice, no source).
const ROOM: f64 = 1.1;
const STEP: f64 = 64.0 * MIB;
/// A change smaller than this is not worth a restart (assumption).
const WORTH: f64 = 0.9;

/// Suggests a smaller `memory` where the highest use is known: from the readings, or from a `touched_busy` that a person
/// gave. None where it is not known or the guest needs what it has.
#[must_use]
pub fn smaller(question: &Question, lab: &Lab) -> Option<Smaller> {
    let guest = &lab.guests[question.guest];
    let path = crate::lab::key_path(&["guest", &guest.name, "touched_busy"]);
    let given = question
        .lab
        .origins
        .get(&path)
        .filter(|origin| !matches!(origin.source, Source::Default(_)));
    let read = question
        .readings
        .iter()
        .filter_map(|reading| reading.highest)
        .reduce(f64::max);
    let highest = read.or(given.map(|_| question.lab.guests[question.guest].touched_busy))?;
    let enough = (highest * ROOM / STEP).ceil() * STEP;
    if enough > WORTH * guest.memory {
        return None;
    }
    let mut smaller = lab.clone();
    let changed = &mut smaller.guests[question.guest];
    changed.memory = enough;
    changed.touched_busy = changed.touched_busy.min(enough);
    changed.touched = changed.touched.min(changed.touched_busy);
    let shrink = (changed.touched / (changed.common + changed.repeats).max(1.0)).min(1.0);
    changed.common *= shrink;
    changed.repeats *= shrink;
    let both = [lab, &smaller].map(|lab| HostModel::new(lab, &lab.hosts[question.host]));
    Some(Smaller {
        now: guest.memory,
        highest,
        enough,
        fits: [0, 1].map(|index: usize| {
            find_all(&both[index])
                .first()
                .and_then(|found| found.largest.bound())
        }),
        plain_sum: [0, 1].map(|index: usize| plain_sum(&both[index]).bound()),
    })
}
