//! What is known of the host's own memory where the readings do not determine it.

use super::consistency::check;
use super::fit::{BaseEnd, CONFIDENCE, fit};
use super::question::Question;
use crate::lab::Source;
use crate::lab::key_path;
use crate::model::GIB;
use crate::model::pert::Pert;

/// What hosts need for themselves: low, likely, high `[B]` (reported by owners, 6 sources, two of them readings of a
/// real machine). It stands in where nobody gave `base`.
const REPORTED: [f64; 3] = [1.0 * GIB, 2.0 * GIB, 4.0 * GIB];

/// How sure `base` is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BasePrior {
    /// The readings determine it.
    Determined,
    /// The lab gives one value, which is taken as exact.
    Exact,
    /// The lab gives a range; it lies between these nine times of ten `[B]`.
    Range(f64, f64),
    /// Nobody gave it; what owners report lies between these nine times of ten `[B]`.
    Reported(f64, f64),
}

impl BasePrior {
    /// What the lab gives for `base` of the host.
    #[must_use]
    pub fn of(question: &Question) -> BasePrior {
        let lab = question.lab;
        let path = key_path(&["host", &question.host().name, "memory", "base"]);
        let ends = |[low, likely, high]: [f64; 3]| {
            let pert = Pert::new(low, likely, high);
            let tail = (1.0 - CONFIDENCE) / 2.0;
            (pert.quantile(tail), pert.quantile(1.0 - tail))
        };
        if let Some(one) = lab.uncertain.iter().find(|one| one.path == path) {
            let (low, high) = ends([one.low, one.likely, one.high]);
            return BasePrior::Range(low, high);
        }
        match lab.origins.get(&path).map(|origin| &origin.source) {
            Some(Source::Default(_)) => {
                let (low, high) = ends(REPORTED);
                BasePrior::Reported(low, high)
            }
            _ => BasePrior::Exact,
        }
    }

    /// Fits once more with `base` at both ends; none where the readings determine it or the lab is sure of it.
    pub(super) fn ends(self, question: &Question) -> Vec<BaseEnd> {
        let (BasePrior::Range(low, high) | BasePrior::Reported(low, high)) = self else {
            return Vec::new();
        };
        let at = |base: f64| {
            let mut lab = question.lab.clone();
            lab.hosts[question.host].memory.base = base;
            let question = Question {
                lab: &lab,
                ..*question
            };
            let fit = fit(&question).ok()?;
            Some(BaseEnd {
                contradicted: check(&question, &fit, &[]).is_err(),
                values: fit.values,
                lab: fit.calibrated.lab,
            })
        };
        [low, high].into_iter().filter_map(at).collect()
    }
}
