//! Joins everything that the readings say into one answer.

use super::advice;
use super::answer::{CalibrateAnswer, HeldOut, ReadingAnswer, WrittenAnswer};
use super::classify::Use;
use super::estimate::{CONFIDENCE, Estimate, Question};
use super::estimates::estimates;
use super::law::Lived;
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
        cautions: super::cautions::cautions(question, readings, found),
        visible: found.frame.visible,
    }
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
