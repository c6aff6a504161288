//! The numbers that fit the readings best, and how far they may be off.

use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

use super::apply::{Calibrated, apply};
use super::classify::{Use, classify, evidence};
use super::doubt::{End, Known, ends};
use super::equations::{bounds, demand, equations, should_be};
use super::judge::{judge, outliers};
use super::law::{Frame, Linear, Lived, counts};
use super::plan::{Evidence, Plan};
use super::readings::Reading;
use super::solve::{Equation, Solution, dot, solve, variance};
use crate::lab::Lab;
use crate::model::footprint::Age;
use crate::model::scanner;
use crate::model::scanner::Scan;
use crate::sizing::host::HostModel;

/// Share of the cases in which a stated interval holds the truth.
pub const CONFIDENCE: f64 = 0.9;
/// Relative error of a reading where there are just as many readings as unknowns, so that nothing tells it (assumption).
const ASSUMED_ERROR: f64 = 0.01;
/// How often the merged share is taken from the result of the time before; it changes little.
const ROUNDS: usize = 5;

/// What is asked.
#[derive(Debug, Clone, Copy)]
pub struct Question<'a> {
    /// The lab.
    pub lab: &'a Lab,
    /// Place of the host in it.
    pub host: usize,
    /// Place of the guest in it.
    pub guest: usize,
    /// Whether the guests that were read had been busy.
    pub lived: Lived,
    /// The readings.
    pub readings: &'a [Reading],
    /// How many of them, the last ones, are left out of the fit.
    pub held_out: usize,
}

/// A number with the interval it lies in, nine times of ten. `[B]`
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Best value.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq)]
pub enum Refusal {
    /// Too few readings.
    TooFew,
    /// A bound is passed by more than errors explain: which one, and by how much it would be passed `[B]`.
    Contradiction(Broken, f64),
    /// The readings scatter more than any error explains: relative error, and the reading that is farthest off.
    Scatter(f64, usize),
}

/// A bound that sound readings keep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Broken {
    /// The host's own memory is less than nothing.
    Base,
    /// One more guest takes less than its process.
    Slope,
    /// Guests share less than nothing.
    Shared,
    /// A fresh guest touches less than nothing.
    Touched,
    /// A guest shares more than it touches.
    TouchedShared,
    /// A settled guest holds less than a fresh one.
    Idle,
    /// A guest holds more than its memory.
    Memory,
}

/// What the readings say.
#[derive(Debug, Clone)]
pub struct Estimate {
    /// What the lab fixes.
    pub frame: Frame,
    /// How each reading is used.
    pub uses: Vec<Use>,
    /// What is fitted.
    pub plan: Plan,
    /// What kinds of equations there were.
    pub evidence: Evidence,
    /// What fits best.
    pub solution: Solution,
    /// Relative error of a reading.
    pub error: f64,
    /// Equations beyond the number of unknowns.
    pub freedom: usize,
    /// Half of an interval is this many standard errors.
    pub quantile: f64,
    /// B, U, M, T `[B]`.
    pub values: [f64; 4],
    /// What each reading should say `[B]`.
    pub modelled: Vec<Linear>,
    /// What each reading says, memory in swap added `[B]`.
    pub demand: Vec<f64>,
    /// Share of what can merge that is merged at each reading.
    pub kappa: Vec<f64>,
    /// Readings farther off than errors explain.
    pub outliers: Vec<usize>,
    /// The lab with these numbers.
    pub calibrated: Calibrated,
    /// How sure the host's own memory is.
    pub base: Known,
    /// What the readings say with it at either end of its doubt.
    pub ends: Vec<End>,
}

/// Fits the readings.
///
/// # Errors
/// Where they are too few or contradict one another.
pub fn estimate(question: &Question) -> Result<Estimate, Refusal> {
    let mut found = fit(question)?;
    found.ends = ends(question, &found);
    let judged = judge(question, &found);
    // What another base within its doubt would mend is no contradiction.
    if found.ends.iter().all(|end| end.contradicted) {
        judged?;
    }
    found.outliers = outliers(&found, question);
    Ok(found)
}

/// Fits the readings, with nothing said yet of whether they can be.
pub(super) fn fit(question: &Question) -> Result<Estimate, Refusal> {
    let Question {
        lab, host, guest, ..
    } = *question;
    let mut model_lab = lab.clone();
    let mut found = None;
    for _ in 0..ROUNDS {
        let next = round(question, &model_lab)?;
        model_lab = next.calibrated.lab.clone();
        found = Some(next);
    }
    let mut found = found.ok_or(Refusal::TooFew)?;
    found.calibrated = apply(lab, (host, guest), &found.frame, &found.plan, &found.values);
    if !found.evidence.line {
        found.base = Known::of(lab, host);
    }
    Ok(found)
}

/// One fit, with the merged share of `model_lab`.
fn round(question: &Question, model_lab: &Lab) -> Result<Estimate, Refusal> {
    let Question {
        lab,
        host,
        guest,
        lived,
        readings,
        held_out,
    } = *question;
    let model = HostModel::new(lab, &lab.hosts[host]);
    let frame = Frame::new(&model, &lab.guests[guest], lived);
    let likely = HostModel::new(model_lab, &model_lab.hosts[host]);
    let age = if lived == Lived::No {
        Age::Fresh
    } else {
        Age::LivedIn
    };
    let drifts = |n: u64| {
        let resident = likely.resident(&counts(lab, guest, n), age);
        !scanner::may_rest(resident, model.visible, model.host.merging.threshold)
    };
    let uses = classify(readings, &frame, drifts);
    let kappa: Vec<f64> = readings
        .iter()
        .map(|reading| {
            likely
                .sharing(&counts(lab, guest, reading.guests), age, Scan::Steady)
                .kappa[guest]
        })
        .collect();
    let modelled: Vec<Linear> = (0..readings.len())
        .map(|index| should_be(&frame, readings, &uses, &kappa, index))
        .collect();
    let demand: Vec<f64> = readings
        .iter()
        .map(|reading| demand(&model, reading))
        .collect();
    let fitted = |index: usize| index + held_out < readings.len();
    let all = evidence(readings, &uses, fitted);
    for evidence in narrower(all) {
        let Some(plan) = Plan::new(&frame, evidence) else {
            continue;
        };
        let equations = equations(&plan, &frame, question, &uses, &kappa, &modelled, &demand);
        let Some(solution) = solve(&equations, &bounds(&plan, &frame)) else {
            continue;
        };
        let freedom = equations.len().saturating_sub(plan.fitted.len());
        let error = error(&equations, &solution, freedom, readings, &demand);
        let values = plan.values(&solution.x);
        let calibrated = apply(lab, (host, guest), &frame, &plan, &values);
        return Ok(Estimate {
            quantile: quantile(0.5 + CONFIDENCE / 2.0, freedom),
            outliers: Vec::new(),
            frame,
            uses,
            plan,
            evidence,
            solution,
            error,
            freedom,
            values,
            modelled,
            demand,
            kappa,
            calibrated,
            base: Known::Read,
            ends: Vec::new(),
        });
    }
    Err(Refusal::TooFew)
}

/// The evidence, then less and less of it, for when the readings do not determine all that they seem to.
///
/// Merge counters come after unmerged readings: they leave out the empty parts of 2 MiB pages, which come back to the
/// host when merging splits them.
fn narrower(all: Evidence) -> [Evidence; 4] {
    let without_counters = Evidence {
        counters: false,
        ..all
    };
    let one_kind = Evidence {
        unmerged: all.unmerged && !all.merged,
        ..without_counters
    };
    let first = if all.merged && all.unmerged {
        without_counters
    } else {
        all
    };
    [
        first,
        all,
        one_kind,
        Evidence {
            line: false,
            ..one_kind
        },
    ]
}

/// Relative error of a reading.
fn error(
    equations: &[Equation],
    solution: &Solution,
    freedom: usize,
    readings: &[Reading],
    demand: &[f64],
) -> f64 {
    let rounding = readings
        .iter()
        .zip(demand)
        .map(|(reading, demand)| (reading.rounding / demand).powi(2) / 12.0);
    let rounding = (rounding.sum::<f64>() / readings.len().max(1) as f64).sqrt();
    if freedom == 0 {
        return rounding.max(ASSUMED_ERROR);
    }
    let cost = super::solve::cost(equations, &solution.free);
    (cost / freedom as f64).sqrt().max(rounding)
}

/// Quantile of Student's t; of the normal distribution where the error was not estimated.
#[must_use]
pub fn quantile(probability: f64, freedom: usize) -> f64 {
    let normal = || {
        Normal::new(0.0, 1.0)
            .map(|normal| normal.inverse_cdf(probability))
            .unwrap_or(1.645)
    };
    match freedom {
        0 => normal(),
        freedom => StudentsT::new(0.0, 1.0, freedom as f64)
            .map_or_else(|_| normal(), |student| student.inverse_cdf(probability)),
    }
}

impl Estimate {
    /// Standard error of a linear form of what is fitted `[B]`.
    #[must_use]
    pub fn standard_error(&self, factors: &[f64]) -> f64 {
        self.error * variance(factors, &self.solution.covariance).sqrt()
    }

    /// A linear form of B, U, M, T and the interval it lies in; never below nothing.
    ///
    /// The error of the readings and the doubt about the host's own memory are independent, so their reaches add as
    /// squares.
    #[must_use]
    pub fn interval(&self, linear: &Linear) -> Interval {
        let form = self.plan.form(linear);
        let value = linear.at(&self.values).max(0.0);
        let free = form[0] + dot(&form[1..], &self.solution.free);
        let reach = self.quantile * self.standard_error(&form[1..]);
        let (less, more) = self.doubt(linear);
        Interval {
            value,
            low: (free - reach.hypot(less)).max(0.0).min(value),
            high: (free + reach.hypot(more)).max(value),
        }
    }
}
