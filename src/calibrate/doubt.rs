//! The doubt about the host's own memory where the readings cannot tell it.

use super::estimate::{CONFIDENCE, Estimate, Question, fit};
use super::law::Linear;
use crate::lab::key_path;
use crate::lab::{Lab, Source};
use crate::model::GIB;
use crate::model::pert::Pert;

/// What hosts need for themselves: low, likely, high `[B]` (reported by owners, 6 sources, two of them readings of a
/// real machine). It stands in where nobody gave `base`.
const REPORTED: [f64; 3] = [1.0 * GIB, 2.0 * GIB, 4.0 * GIB];

/// How sure `base` is where it stays as in the lab.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Known {
    /// The readings tell it.
    Read,
    /// The lab gives one value, which is taken as exact.
    Plain,
    /// The lab gives a range; it lies between these nine times of ten `[B]`.
    Range(f64, f64),
    /// Nobody gave it; what owners report lies between these nine times of ten `[B]`.
    Reported(f64, f64),
}

impl Known {
    /// What the lab says of `base` of one of its hosts.
    #[must_use]
    pub fn of(lab: &Lab, host: usize) -> Known {
        let path = key_path(&["host", &lab.hosts[host].name, "memory", "base"]);
        let ends = |[low, likely, high]: [f64; 3]| {
            let pert = Pert::new(low, likely, high);
            let tail = (1.0 - CONFIDENCE) / 2.0;
            (pert.quantile(tail), pert.quantile(1.0 - tail))
        };
        if let Some(one) = lab.uncertain.iter().find(|one| one.path == path) {
            let (low, high) = ends([one.low, one.likely, one.high]);
            return Known::Range(low, high);
        }
        match lab.origins.get(&path).map(|origin| &origin.source) {
            Some(Source::Default(_)) => {
                let (low, high) = ends(REPORTED);
                Known::Reported(low, high)
            }
            _ => Known::Plain,
        }
    }

    /// The two ends, where there is a doubt `[B]`.
    #[must_use]
    pub fn ends(self) -> Option<[f64; 2]> {
        match self {
            Known::Read | Known::Plain => None,
            Known::Range(low, high) | Known::Reported(low, high) => Some([low, high]),
        }
    }
}

/// What the readings say if `base` lies at one end of its doubt.
#[derive(Debug, Clone)]
pub struct End {
    /// B, U, M, T then `[B]`.
    pub values: [f64; 4],
    /// The calibrated lab then.
    pub lab: Lab,
    /// Whether the readings contradict that end.
    pub contradicted: bool,
}

/// Fits once more with `base` at both ends of its doubt; none where the readings tell it or the lab is sure of it.
pub(super) fn ends(question: &Question, found: &Estimate) -> Vec<End> {
    let at = |base: f64| {
        let mut lab = question.lab.clone();
        lab.hosts[question.host].memory.base = base;
        let question = Question {
            lab: &lab,
            ..*question
        };
        let found = fit(&question).ok()?;
        Some(End {
            contradicted: super::judge::judge(&question, &found).is_err(),
            values: found.values,
            lab: found.calibrated.lab,
        })
    };
    let both = found.base.ends().into_iter().flatten();
    both.filter_map(at).collect()
}

impl Estimate {
    /// How much less and how much more a linear form of B, U, M, T may be for the doubt about `base` `[B]`.
    #[must_use]
    pub fn doubt(&self, linear: &Linear) -> (f64, f64) {
        let value = linear.at(&self.values);
        self.ends
            .iter()
            .map(|end| linear.at(&end.values) - value)
            .fold((0.0, 0.0), |(less, more), off| {
                (f64::max(less, -off), f64::max(more, off))
            })
    }
}
