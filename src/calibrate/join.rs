//! Joins everything that the readings say into one answer.

use std::collections::BTreeMap;

use super::advice;
use super::answer::{CalibrateAnswer, EstimateAnswer, HeldOut, ReadingAnswer, WrittenAnswer};
use super::apply::touched;
use super::classify::Use;
use super::estimate::{CONFIDENCE, Estimate, Interval, Question};
use super::law::{Linear, Lived, Sought};
use super::predict::predict;
use super::readings::Readings;
use super::solve::variance;
use super::written::{Written, written};
use crate::model::DAY;
use crate::sizing::fit::CONTRACT;
use crate::sizing::storage::write_factors;

/// Joins everything that the readings say.
#[must_use]
pub fn answer(question: &Question, readings: &Readings, found: &Estimate) -> CalibrateAnswer {
    let (lab, host, guest) = (
        question.lab,
        &question.lab.hosts[question.host],
        &question.lab.guests[question.guest],
    );
    let predicts = predict(question, found);
    let rows: Vec<ReadingAnswer> = (0..readings.list.len())
        .map(|index| reading(question, found, index))
        .collect();
    let fitted = rows.len().saturating_sub(question.held_out);
    let used = |index: &usize| {
        found.uses[*index].is_settled() || matches!(found.uses[*index], Use::Step(_))
    };
    let squares: Vec<f64> = (0..fitted)
        .filter(used)
        .map(|index| (rows[index].read - rows[index].modelled).powi(2))
        .collect();
    CalibrateAnswer {
        report: "calibrate",
        version: CONTRACT,
        lab: lab.name.clone(),
        host: host.name.clone(),
        guest: guest.name.clone(),
        age: if question.lived == Lived::No || guest.busy == 0.0 {
            "fresh"
        } else {
            "lived_in"
        },
        confidence: CONFIDENCE,
        estimates: estimates(found),
        residual_rms: (squares.iter().sum::<f64>() / squares.len().max(1) as f64).sqrt(),
        held_out: held_out(&rows, &found.uses, question.held_out),
        readings: rows,
        predicts,
        written: bytes_written(question, readings).map(|written| written_answer(&written)),
        swap: advice::swap(&readings.list),
        smaller_memory: advice::smaller(question, &found.calibrated.lab),
        next: advice::next(question, found, predicts.fits.value),
        notes: super::notes::notes(question, readings, found),
        cautions: super::notes::cautions(question, readings, found),
        visible: found.frame.visible,
    }
}

/// The numbers and their intervals.
#[must_use]
pub fn estimates(found: &Estimate) -> BTreeMap<&'static str, EstimateAnswer> {
    let frame = &found.frame;
    let share = frame.common_share;
    let of = |sought| Linear::of(sought);
    let common = of(Sought::Shared).scaled(share);
    let (fresh, busy) = touched(frame, &found.plan, &found.values);
    let busy = busy_form(found, fresh).map(|form| {
        let Interval { low, high, .. } = found.interval(&form);
        let interval = Interval {
            value: busy,
            low: low.max(fresh).min(busy),
            high: high.min(frame.memory).max(busy),
        };
        ("touched_busy", interval, true)
    });
    let touched = if found.plan.tells(Sought::Step) {
        found.interval(&frame.fresh())
    } else if frame.keeps == 0.0 {
        found.interval(&frame.idle())
    } else {
        Interval {
            value: fresh,
            low: fresh,
            high: fresh,
        }
    };
    let told = |sought| found.plan.tells(sought);
    let fresh_told = told(Sought::Step) || frame.keeps == 0.0;
    [
        (
            "unique",
            found.interval(&of(Sought::Slope)),
            told(Sought::Slope),
        ),
        ("common", found.interval(&common), told(Sought::Shared)),
        (
            "repeats",
            found.interval(&of(Sought::Shared).scaled(1.0 - share)),
            told(Sought::Shared),
        ),
        ("touched", touched, fresh_told),
        (
            "base",
            found.interval(&of(Sought::Base)),
            told(Sought::Base),
        ),
        (
            "base_and_common",
            found.interval(&of(Sought::Base).plus(1.0, common)),
            told(Sought::Base),
        ),
    ]
    .into_iter()
    .chain(busy)
    .map(|(name, Interval { value, low, high }, told)| {
        (
            name,
            EstimateAnswer {
                value,
                low,
                high,
                from: if told { "readings" } else { "lab" },
            },
        )
    })
    .collect()
}

/// t1, what a guest touches that has been busy, `t0 + (ti − t0)/k`; none where the readings do not tell it.
fn busy_form(found: &Estimate, fresh: f64) -> Option<Linear> {
    let frame = &found.frame;
    if frame.keeps == 0.0 {
        return None;
    }
    let fresh = if found.plan.tells(Sought::Step) {
        frame.fresh()
    } else {
        Linear::constant(fresh)
    };
    let form = fresh
        .scaled(1.0 - 1.0 / frame.keeps)
        .plus(1.0 / frame.keeps, frame.idle());
    let told = found.plan.form(&form)[1..]
        .iter()
        .any(|factor| factor.abs() > 1e-9);
    told.then_some(form)
}

/// One reading against the model.
fn reading(question: &Question, found: &Estimate, index: usize) -> ReadingAnswer {
    let read = &question.readings[index];
    let modelled = &found.modelled[index];
    let form = found.plan.form(modelled);
    let value = modelled.at(&found.values);
    let n = read.guests as f64;
    let most = match found.uses[index] {
        Use::Bound | Use::Settling | Use::Hovering => {
            Some(found.frame.unmerged(n).at(&found.values))
        }
        _ => None,
    };
    // A new reading is off by its own error too.
    let spread = variance(&form[1..], &found.solution.covariance) + value.powi(2);
    let reach = found.quantile * found.error * spread.sqrt();
    let (less, more) = found.doubt(modelled);
    let held_out = index + question.held_out >= question.readings.len();
    let words = found.uses[index].words();
    ReadingAnswer {
        line: read.line,
        guests: read.guests,
        read: found.demand[index],
        modelled: value,
        modelled_most: most,
        low: (value - reach.hypot(less)).max(0.0),
        high: most.unwrap_or(value) + reach.hypot(more),
        used_as: if held_out {
            format!("held out ({words})")
        } else {
            words.to_owned()
        },
        outlier: found.outliers.contains(&index),
    }
}

fn held_out(rows: &[ReadingAnswer], uses: &[Use], count: usize) -> Option<HeldOut> {
    let first = rows.len().saturating_sub(count);
    // A bound says where memory lies between, so there is no error on it.
    let left: Vec<&ReadingAnswer> = rows
        .iter()
        .skip(first)
        .filter(|row| row.modelled_most.is_none())
        .collect();
    debug_assert_eq!(rows.len(), uses.len());
    let errors: Vec<f64> = left
        .iter()
        .map(|row| (row.modelled / row.read - 1.0).abs())
        .collect();
    (count > 0).then(|| HeldOut {
        readings: left.len(),
        error_rms: (errors.iter().map(|error| error * error).sum::<f64>()
            / errors.len().max(1) as f64)
            .sqrt(),
        error_most: errors.iter().copied().fold(0.0, f64::max),
        within: left
            .iter()
            .filter(|row| (row.low..=row.high).contains(&row.read))
            .count(),
    })
}

/// What a guest writes, by the disks' counters; the first pool is meant where the guest names none.
#[must_use]
pub fn bytes_written(question: &Question, readings: &Readings) -> Option<Written> {
    let (host, guest) = (
        &question.lab.hosts[question.host],
        &question.lab.guests[question.guest],
    );
    let named = |name: &String| host.disks.iter().find(|pool| pool.name == *name);
    let pool = guest.disk.as_ref().map_or(host.disks.first(), named);
    let factor = pool.map_or(1.0, |pool| {
        let factors = write_factors(pool);
        factors.file_system * factors.layout
    });
    written(
        &readings.list,
        factor,
        pool.map_or(0.0, |pool| pool.base_written),
    )
}

fn written_answer(written: &Written) -> WrittenAnswer {
    WrittenAnswer {
        value: written.guest.value * DAY,
        low: written.guest.low * DAY,
        high: Some(written.guest.high * DAY).filter(|high| high.is_finite()),
        base: written.base * DAY,
        tells_base: written.tells_base,
        seconds: written.seconds,
    }
}
