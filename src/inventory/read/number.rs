//! Numbers, plain and uncertain.

use crate::diagnose::Diagnostic;
use crate::diagnose::ErrorKind;
use crate::inventory::fields::Fields;
use crate::inventory::locate;
use crate::inventory::quantity::{self, Amount};
use crate::inventory::tree::{Node, Table, Value};
use crate::lab::Uncertain;
use crate::lab::keys::{Default, Key, Kind};
use crate::unit::parse::{Dimension, parse};

use super::{Given, Number, Pass, Reader};

impl<'t> Reader<'t> {
    /// A number that is required or has a fixed default.
    pub fn number(&mut self, fields: &Fields<'t>, name: &str) -> Number {
        let (key, entry) = fields.find(name);
        if let Some(entry) = entry {
            return self.number_at(fields, key, &entry.node);
        }
        match key.default {
            Default::Fixed(text, origin) => {
                self.note_default(fields, name, text, origin);
                let dimension = match key.kind {
                    Kind::Quantity(dimension) => dimension,
                    _ => Dimension::Number,
                };
                Number {
                    value: parse(text, dimension).unwrap_or(0.0),
                    dimension,
                    given: Given::Default,
                }
            }
            _ => {
                self.missing(fields, key);
                Number {
                    value: 1.0,
                    dimension: Dimension::Number,
                    given: Given::Broken,
                }
            }
        }
    }

    /// A number that may be left out or has a default that depends on others.
    pub fn number_if_given(&mut self, fields: &Fields<'t>, name: &str) -> Option<Number> {
        let (key, entry) = fields.find(name);
        entry.map(|entry| self.number_at(fields, key, &entry.node))
    }

    /// The value of a number that may be left out.
    pub fn optional(&mut self, fields: &Fields<'t>, name: &str) -> Option<f64> {
        self.number_if_given(fields, name)
            .map(|number| number.value)
    }

    /// A whole number that is required or has a fixed default.
    pub fn count(&mut self, fields: &Fields<'t>, name: &str) -> u64 {
        whole(self.number(fields, name).value)
    }

    /// A number of `key` written at a node.
    fn number_at(&mut self, fields: &Fields<'t>, key: &'static Key, node: &'t Node) -> Number {
        let number = match &node.value {
            Value::Table(table) => {
                self.uncertain_at(locate::join(&fields.path, key.name), key, node, table)
            }
            _ => self.plain(key, node),
        };
        self.note_given(fields, key.name, node);
        number
    }

    /// A number of `key` that is not uncertain.
    pub fn plain(&mut self, key: &'static Key, node: &Node) -> Number {
        match quantity::amount(key, node, self.sources) {
            Ok(Amount { value, dimension }) => Number {
                value,
                dimension,
                given: Given::At(node.place),
            },
            Err(error) => {
                self.report(*error);
                Number {
                    value: 1.0,
                    dimension: Dimension::Number,
                    given: Given::Broken,
                }
            }
        }
    }

    /// An uncertain number: `likely` in a first reading, the drawn one in a repeated reading.
    pub fn uncertain_at(
        &mut self,
        path: String,
        key: &'static Key,
        node: &'t Node,
        table: &'t Table,
    ) -> Number {
        let broken = Number {
            value: 1.0,
            dimension: Dimension::Number,
            given: Given::Broken,
        };
        let wrong = |message: String| {
            Diagnostic::new(ErrorKind::InvalidUncertainValue, message)
                .at(node.place, key.meaning)
                .hint(format!(
                    "write {} = {{ low = …, likely = …, high = … }} with low ≤ likely ≤ high",
                    key.name
                ))
        };
        if path.starts_with("lab.") || path.starts_with("policy.") {
            self.report(wrong(format!(
                "`{}` cannot be uncertain, only what hosts, images and guests are",
                key.name
            )));
            return broken;
        }
        let [Some(low), Some(likely), Some(high)] =
            ["low", "likely", "high"].map(|word| table.get(word))
        else {
            self.report(wrong(format!(
                "`{}` is a table without `low`, `likely` and `high`",
                key.name
            )));
            return broken;
        };
        if let Some(other) = table
            .entries
            .iter()
            .find(|entry| !["low", "likely", "high"].contains(&entry.key.as_str()))
        {
            self.report(wrong(format!(
                "`{}` does not belong beside `low`, `likely` and `high`",
                other.key
            )));
            return broken;
        }
        let [low, likely, high] = [low, likely, high].map(|entry| self.plain(key, &entry.node));
        if [low, likely, high]
            .iter()
            .any(|number| number.given == Given::Broken)
        {
            return broken;
        }
        let like = |number: Number| number.dimension == likely.dimension;
        if !(like(low) && like(high) && low.value <= likely.value && likely.value <= high.value) {
            self.report(wrong(format!(
                "`{}` must have low ≤ likely ≤ high, all three of one kind",
                key.name
            )));
            return broken;
        }
        let value = match self.pass {
            Pass::Strict => likely.value,
            Pass::Drawn(drawn) => {
                let drawn = drawn
                    .get(&path)
                    .copied()
                    .unwrap_or(likely.value)
                    .clamp(low.value, high.value);
                if key.kind == Kind::Count {
                    drawn.round()
                } else {
                    drawn
                }
            }
        };
        if self.is_strict() {
            self.uncertain.push(Uncertain {
                path,
                low: low.value,
                likely: likely.value,
                high: high.value,
            });
        }
        Number {
            value,
            given: Given::At(node.place),
            ..likely
        }
    }
}

/// A checked whole number as an integer.
pub(in crate::inventory) fn whole(value: f64) -> u64 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "counts are 1 to 1,000,000"
    )]
    let whole = value as u64;
    whole
}
