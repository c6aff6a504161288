//! The estimate of a guest and its host from readings.

use super::consistency::{check, outliers};
use super::fit::{BaseEnd, Fit, Interval, fit};
use super::memory::Affine;
use super::prior::BasePrior;
use super::question::Question;
use crate::diagnose::Diagnostic;

/// The fit of the readings, checked, with the doubt about `base`.
#[derive(Debug, Clone)]
pub struct Estimate {
    /// What fits best.
    pub fit: Fit,
    /// How sure the host's own memory is.
    pub base: BasePrior,
    /// The fits with it at either end of its interval.
    pub ends: Vec<BaseEnd>,
    /// Readings farther off than errors explain.
    pub outliers: Vec<usize>,
}

/// Fits the readings.
///
/// # Errors
/// Where they are too few or contradict one another.
pub fn estimate(question: &Question) -> Result<Estimate, Diagnostic> {
    let fit = fit(question)?;
    let base = if fit.evidence.line {
        BasePrior::Determined
    } else {
        BasePrior::of(question)
    };
    let ends = base.ends(question);
    // Readings that agree with another base within its doubt are no contradiction.
    if ends.iter().all(|end| end.contradicted) {
        check(question, &fit, &ends)?;
    }
    Ok(Estimate {
        outliers: outliers(question, &fit),
        fit,
        base,
        ends,
    })
}

impl Estimate {
    /// An affine function of B, U, M, T with its interval.
    pub fn interval(&self, affine: &Affine) -> Interval {
        self.fit.interval(affine, &self.ends)
    }
}
