//! Which numbers the readings can tell apart, and what the others follow from.

use super::law::{Frame, Linear, Sought};

/// What kinds of equations there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Evidence {
    /// Settled readings at two counts or more.
    pub line: bool,
    /// Settled readings of merged guests.
    pub merged: bool,
    /// Settled readings of guests that nothing merges.
    pub unmerged: bool,
    /// Readings right before and right after a batch was started.
    pub step: bool,
    /// Merge counters beside merged readings.
    pub counters: bool,
}

/// The numbers that are fitted, and each of the four as a linear form of them.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// What is fitted.
    pub fitted: Vec<Sought>,
    /// Whether merge counters are among the equations.
    pub counters: bool,
    /// B, U, M, T: the constant, then the factors of what is fitted.
    forms: [Vec<f64>; 4],
}

impl Plan {
    /// The plan that the evidence allows; none where it allows none.
    #[must_use]
    pub fn new(frame: &Frame, evidence: Evidence) -> Option<Plan> {
        let base = if evidence.line {
            vec![Sought::Base]
        } else {
            Vec::new()
        };
        let settled = evidence.merged || evidence.unmerged;
        let lab = |value: f64| Some(Linear::constant(value));
        let shared = lab(frame.shared);
        // T stays out of every equation where there is no step; the lab's own value keeps it a number.
        let step =
            lab(frame.overhead + frame.touched * (1.0 + crate::model::footprint::TABLES_MACHINE));
        let (fitted, slope, shared, step): (&[Sought], _, _, _) =
            if evidence.step && evidence.merged {
                (
                    &[Sought::Slope, Sought::Step],
                    None,
                    Some(frame.shared_from_step()),
                    None,
                )
            } else if evidence.step && settled && frame.keeps > 0.0 {
                (&[Sought::Slope, Sought::Step], None, shared, None)
            } else if evidence.step {
                (&[Sought::Step], Some(frame.slope_from_step()), shared, None)
            } else if evidence.counters || (evidence.merged && evidence.unmerged) {
                (&[Sought::Slope, Sought::Shared], None, None, step)
            } else if settled {
                (&[Sought::Slope], None, shared, step)
            } else {
                return None;
            };
        let fitted: Vec<Sought> = base.into_iter().chain(fitted.iter().copied()).collect();
        let mut plan = Plan {
            forms: Default::default(),
            counters: evidence.counters && fitted.contains(&Sought::Shared),
            fitted,
        };
        let fixed = [
            (!evidence.line).then_some(Linear::constant(frame.base)),
            slope,
            shared,
            step,
        ];
        for sought in [Sought::Base, Sought::Step, Sought::Slope, Sought::Shared] {
            plan.forms[sought as usize] = match &fixed[sought as usize] {
                None => plan.unit(sought),
                Some(linear) => plan.constant(linear.constant),
            };
        }
        // What follows from others follows once the others stand; U and M never both do.
        for sought in [Sought::Shared, Sought::Slope] {
            if let Some(linear) = &fixed[sought as usize] {
                plan.forms[sought as usize] = plan.form(linear);
            }
        }
        Some(plan)
    }

    /// A number that is fitted itself.
    fn unit(&self, sought: Sought) -> Vec<f64> {
        let mut form = self.constant(0.0);
        if let Some(index) = self.fitted.iter().position(|fitted| *fitted == sought) {
            form[1 + index] = 1.0;
        }
        form
    }

    fn constant(&self, constant: f64) -> Vec<f64> {
        let mut form = vec![0.0; 1 + self.fitted.len()];
        form[0] = constant;
        form
    }

    /// A linear form of B, U, M, T as one of what is fitted: the constant, then the factors.
    #[must_use]
    pub fn form(&self, linear: &Linear) -> Vec<f64> {
        let mut form = self.constant(linear.constant);
        for (own, factor) in self.forms.iter().zip(linear.factors) {
            for (sum, part) in form.iter_mut().zip(own) {
                *sum += factor * part;
            }
        }
        form
    }

    /// B, U, M, T at values of what is fitted.
    #[must_use]
    pub fn values(&self, x: &[f64]) -> [f64; 4] {
        [0, 1, 2, 3].map(|index| {
            let form = &self.forms[index];
            form[0] + super::solve::dot(&form[1..], x)
        })
    }

    /// Whether the readings tell this number at all.
    #[must_use]
    pub fn tells(&self, sought: Sought) -> bool {
        self.forms[sought as usize][1..]
            .iter()
            .any(|factor| *factor != 0.0)
    }
}
