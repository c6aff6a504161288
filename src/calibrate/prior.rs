//! What is known of the host's own memory where the readings do not determine it.

use super::consistency::check;
use super::fit::{BaseEnd, CONFIDENCE, fit};
use super::question::Question;
use crate::lab::{Uncertain, key_path};
use crate::model::pert::Pert;

/// How sure `base` is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BasePrior {
    /// The readings determine it.
    Determined,
    /// The lab gives one value, which is taken as exact.
    Exact,
    /// The lab gives a range; its 90 % interval `[B]`.
    Range(f64, f64),
    /// It is not given; the 90 % interval of its default, which owners report `[B]`.
    Reported(f64, f64),
}

impl BasePrior {
    /// What the lab gives for `base` of the host.
    pub fn of(question: &Question) -> BasePrior {
        let lab = question.lab;
        let path = key_path(&["host", &question.host().name, "memory", "base"]);
        let ends = |one: &Uncertain| {
            let pert = Pert::new(one.low, one.likely, one.high);
            let tail = (1.0 - CONFIDENCE) / 2.0;
            (pert.quantile(tail), pert.quantile(1.0 - tail))
        };
        let own = |list: &[Uncertain]| list.iter().find(|one| one.path == path).map(ends);
        if let Some((low, high)) = own(&lab.uncertain) {
            BasePrior::Range(low, high)
        } else if let Some((low, high)) = own(&lab.guessed) {
            BasePrior::Reported(low, high)
        } else {
            BasePrior::Exact
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
