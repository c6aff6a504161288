//! Which unknowns are fitted, and what the others follow from.

use super::classify::Evidence;
use super::memory::{Affine, MemoryModel, Unknown};
use crate::model::number::Number;

/// The unknowns that are fitted, and each of the four as an affine function of them.
#[derive(Debug, Clone, PartialEq)]
pub struct Parameters {
    /// What is fitted.
    pub fitted: Vec<Unknown>,
    /// Whether merge counters are among the equations.
    pub counters: bool,
    /// B, U, M, T in what is fitted.
    unknowns: [Affine; 4],
}

/// Rounding leaves as much in factors that cancel.
const ROUNDING: f64 = 1e-9;

impl Parameters {
    /// The parameters that the evidence determines; none where it determines none.
    pub fn new(model: &MemoryModel, evidence: Evidence) -> Option<Parameters> {
        let settled = evidence.merged || evidence.unmerged;
        let mut unknowns = Unknown::ALL.map(Unknown::affine);
        let [base, slope, shared, step] = &mut unknowns;
        let mut fitted = Vec::new();
        if evidence.line {
            fitted.push(Unknown::Base);
        } else {
            *base = Affine::of(model.base);
        }
        let lab_shared = Affine::of(model.shared);
        if evidence.step && evidence.merged {
            fitted.extend([Unknown::Slope, Unknown::Step]);
            *shared = model.settled_from_step() - Unknown::Slope.affine();
        } else if evidence.step && settled && model.guest.keeps > 0.0 {
            fitted.extend([Unknown::Slope, Unknown::Step]);
            *shared = lab_shared;
        } else if evidence.step {
            fitted.push(Unknown::Step);
            *shared = lab_shared;
            *slope = model.settled_from_step() - lab_shared;
        } else {
            // T stays out of every equation where there is no step; the lab's own value keeps it a number.
            *step = model.step();
            if evidence.counters || (evidence.merged && evidence.unmerged) {
                fitted.extend([Unknown::Slope, Unknown::Shared]);
            } else if settled {
                fitted.push(Unknown::Slope);
                *shared = lab_shared;
            } else {
                return None;
            }
        }
        Some(Parameters {
            counters: evidence.counters && fitted.contains(&Unknown::Shared),
            fitted,
            unknowns,
        })
    }

    /// An affine function of B, U, M, T as one of what is fitted.
    pub fn form(&self, affine: &Affine) -> Affine {
        let parts = self.unknowns.iter().zip(affine.factors);
        parts.fold(Affine::of(affine.constant), |sum, (unknown, factor)| {
            sum + unknown.scaled(factor)
        })
    }

    /// B, U, M, T at values of what is fitted.
    pub fn values(&self, x: &[f64; 4]) -> [f64; 4] {
        self.unknowns.map(|unknown| unknown.at(x))
    }

    /// Whether the readings determine this unknown at all.
    pub fn determines(&self, unknown: Unknown) -> bool {
        self.form(&unknown.affine()).known().is_none()
    }

    /// Whether an affine function of B, U, M, T depends on what is fitted, beyond rounding.
    pub fn determines_any_of(&self, affine: &Affine) -> bool {
        let form = self.form(affine);
        form.factors.iter().any(|factor| factor.abs() > ROUNDING)
    }
}
