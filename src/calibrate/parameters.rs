//! Which unknowns are fitted, and what the others follow from.

use super::classify::Evidence;
use super::least_squares::dot;
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

/// An affine function of what is fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct Form {
    /// The part that is not fitted `[B]`.
    pub constant: f64,
    /// Factors of what is fitted.
    pub factors: Vec<f64>,
}

/// Rounding leaves as much in factors that cancel.
const ROUNDING: f64 = 1e-9;

impl Form {
    /// Its value at values of what is fitted.
    pub fn at(&self, x: &[f64]) -> f64 {
        self.constant + dot(&self.factors, x)
    }

    /// Whether it does not depend on what is fitted, but for rounding.
    pub fn is_constant(&self) -> bool {
        self.factors.iter().all(|factor| factor.abs() <= ROUNDING)
    }
}

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
    pub fn form(&self, affine: &Affine) -> Form {
        let parts = self.unknowns.iter().zip(affine.factors);
        let sum = parts.fold(Affine::of(affine.constant), |sum, (unknown, factor)| {
            sum + unknown.scaled(factor)
        });
        let fitted = self.fitted.iter();
        Form {
            constant: sum.constant,
            factors: fitted
                .map(|unknown| sum.factors[*unknown as usize])
                .collect(),
        }
    }

    /// B, U, M, T at values of what is fitted.
    pub fn values(&self, x: &[f64]) -> [f64; 4] {
        let mut values = [0.0; 4];
        for (unknown, x) in self.fitted.iter().zip(x) {
            values[*unknown as usize] = *x;
        }
        self.unknowns.map(|unknown| unknown.at(&values))
    }

    /// Whether the readings determine this unknown at all.
    pub fn determines(&self, unknown: Unknown) -> bool {
        let form = self.form(&unknown.affine());
        form.factors.iter().any(|factor| *factor != 0.0)
    }
}
