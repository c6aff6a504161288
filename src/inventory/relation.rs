//! Relations between two numbers of one table.

use crate::diagnose::Diagnostic;
use crate::diagnose::ErrorKind;

use super::fields::Fields;
use super::read::{Given, Number, Reader};

/// Relative slack, so that shares that add up to a whole in writing do so in binary too.
pub(super) const SLACK: f64 = 1e-9;

/// A key's name and the number it has.
#[derive(Debug, Clone, Copy)]
pub(super) struct Named<'n> {
    /// The key.
    pub name: &'n str,
    /// The number.
    pub number: Number,
}

impl Number {
    /// A default of that value.
    pub fn default(value: f64) -> Number {
        Number {
            value,
            dimension: crate::unit::parse::Dimension::Number,
            given: Given::Default,
        }
    }

    /// A default that follows from another number, and is as good as that one.
    pub fn following(value: f64, other: Number) -> Number {
        let given = if other.given == Given::Broken {
            Given::Broken
        } else {
            Given::Default
        };
        Number {
            given,
            ..Number::default(value)
        }
    }

    /// Whether a person gave it and it is right so far.
    pub fn is_given(&self) -> bool {
        matches!(self.given, Given::At(_))
    }
}

impl<'t> Reader<'t> {
    /// Demands `low` ≤ `high` of two given numbers; returns `low`, held to `high`.
    pub fn at_most(&mut self, low: Named<'_>, high: Named<'_>) -> f64 {
        // What was reported already judges nothing else.
        let broken = high.number.given == Given::Broken;
        if broken || low.number.value <= high.number.value {
            return low.number.value;
        }
        if let (Given::At(low_place), Given::At(high_place)) = (low.number.given, high.number.given)
            && low.number.value > high.number.value * (1.0 + SLACK)
        {
            let words =
                |place| super::quantity::shorten(self.sources.text(place).trim_matches('"'));
            let message = format!(
                "`{}` must be at most `{}`, but is {} against {}",
                low.name,
                high.name,
                words(low_place),
                words(high_place)
            );
            let error = Diagnostic::new(ErrorKind::PartExceedsWhole, message)
                .at(low_place, format!("more than `{}`", high.name))
                .at(high_place, format!("`{}`", high.name))
                .hint("lower the one or raise the other");
            self.report(error);
        }
        high.number.value
    }

    /// Two numbers in order, each with a default that makes room for a given partner.
    ///
    /// `defaults` are the values that stand in if the partner is left out as well.
    pub fn pair(&mut self, fields: &Fields<'t>, names: [&str; 2], defaults: [f64; 2]) -> [f64; 2] {
        let [low_name, high_name] = names;
        let low = self.number_if_given(fields, low_name);
        let high = self.number_if_given(fields, high_name);
        match (low, high) {
            (Some(low), Some(high)) => {
                let high_value = high.value;
                let low = self.at_most(
                    Named {
                        name: low_name,
                        number: low,
                    },
                    Named {
                        name: high_name,
                        number: high,
                    },
                );
                [low, high_value]
            }
            (Some(low), None) => {
                // Where the default is the partner itself it has nothing to make room for.
                let same = fields.find(high_name).0.default.text() == low_name;
                let held = if same {
                    String::new()
                } else {
                    held(low.value, defaults[1], "at least", low_name)
                };
                self.note_rule(fields, high_name, &held);
                [low.value, defaults[1].max(low.value)]
            }
            (None, Some(high)) => {
                self.note_rule(
                    fields,
                    low_name,
                    &held(defaults[0], high.value, "at most", high_name),
                );
                [defaults[0].min(high.value), high.value]
            }
            (None, None) => {
                self.note_rule(fields, low_name, "");
                self.note_rule(fields, high_name, "");
                [defaults[0], defaults[1].max(defaults[0])]
            }
        }
    }
}

/// What was done to a default where `larger` is above `smaller`, as an addition to its text.
pub(super) fn held(larger: f64, smaller: f64, how: &str, partner: &str) -> String {
    if larger > smaller {
        format!(", {how} {partner}")
    } else {
        String::new()
    }
}
