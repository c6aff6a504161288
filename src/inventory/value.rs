//! Checks single values: type, unit, range.

use crate::diagnose::source::Sources;
use crate::lab::draft::{Draft, Given, Input, Settled, Takes};
use crate::lab::keys::range;
use crate::lab::keys::{Key, Kind, LONGEST_NAME, Section};
use crate::lab::table::Value as Field;
use crate::lab::{OTHERWISE, Uncertain};
use crate::unit::parse::{self, Dimension};
use crate::unit::printable::is_printable;

use super::check::{Checker, join};
use super::fields::Fields;
use super::problem::keys::KeyProblem;
use super::problem::values::{
    LONGEST_LIST, NameFault, PriceProblem, RangeFault, ValueFault, ValueProblem,
};
use super::tree::{Entry, Node, Table, Value};

/// Sizes that memory modules come in, as their labels have them.
const MODULES: [f64; 8] = [8.0, 16.0, 24.0, 32.0, 48.0, 64.0, 96.0, 128.0];

/// A number in base units, and what it is a number of.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Amount {
    /// The number; of an uncertain value the likely one.
    value: f64,
    /// What it measures; of a size-or-share the one that was written.
    dimension: Dimension,
}

impl<'t> Checker<'t> {
    /// Checks what stands under a key and gives it to the draft.
    pub fn value<T: Settled>(
        &mut self,
        fields: &Fields<'t>,
        key: &'static Key,
        node: &'t Node,
        draft: &mut Draft<T>,
    ) {
        let value = match key.kind {
            Kind::Name | Kind::Reference | Kind::Title => {
                self.sound(key, node, text(key, node)).map(Field::Text)
            }
            Kind::Word(words) => self.sound(key, node, word(node, words)).map(Field::Text),
            Kind::Flag => self.sound(key, node, flag(node)).map(Field::Flag),
            Kind::Sizes => return self.sizes(fields, key, node, draft),
            Kind::ShareByPeriod if is_by_period(node) => {
                return self.by_period(fields, key, node, draft);
            }
            Kind::Prices => self.prices(fields, key, node).map(Field::Prices),
            _ => {
                let amount = self.number(fields, key, node, None, draft);
                let given = match amount {
                    None => Given::Wrong,
                    Some(amount) if amount.is_share_of(key) => Given::Share,
                    Some(_) => Given::Right,
                };
                let value = amount.map_or(1.0, |amount| amount.value);
                let value = match key.kind {
                    Kind::Count => Field::Count(value),
                    _ => Field::Number(value),
                };
                return draft.give(key.name, &value, given);
            }
        };
        if let Some(value) = value {
            draft.give(key.name, &value, Given::Right);
        }
    }

    /// Reports a value that its key does not take.
    pub fn refuse(&mut self, key: &Key, node: &Node, fault: ValueFault<'_>) {
        let problem = ValueProblem { key, node, fault };
        self.report(problem.at(self.sources));
    }

    /// What was read, if it is right; what is wrong is reported.
    fn sound<V>(&mut self, key: &Key, node: &Node, read: Result<V, ValueFault<'_>>) -> Option<V> {
        read.map_err(|fault| self.refuse(key, node, fault)).ok()
    }

    /// One plain number, if it is right; what is wrong is reported.
    fn amount(&mut self, key: &Key, node: &Node) -> Option<Amount> {
        self.sound(key, node, amount(key, node, self.sources))
    }

    /// Whether what was given is right, by the number of errors before it was read.
    fn given_since(&self, errors: usize) -> Given {
        if self.errors.len() == errors {
            Given::Right
        } else {
            Given::Wrong
        }
    }

    /// A number, plain or uncertain; `entry` is its place in the list that the key holds.
    fn number<T: Settled>(
        &mut self,
        fields: &Fields<'t>,
        key: &'static Key,
        node: &'t Node,
        entry: Option<usize>,
        draft: &mut Draft<T>,
    ) -> Option<Amount> {
        let Value::Table(table) = &node.value else {
            return self.amount(key, node);
        };
        let mut path = join(&fields.path, key.name);
        if let Some(index) = entry {
            path = join(&path, &(index + 1).to_string());
        }
        let amount = self.uncertain(path, fields.section, key, node, table)?;
        let takes = match entry {
            Some(entry) => Takes::Entry(entry),
            None if key.kind == Kind::Count => Takes::Count,
            None => Takes::Number,
        };
        draft.inputs.push(Input {
            key: key.name,
            takes,
            uncertain: self.uncertain.last()?.clone(),
        });
        Some(amount)
    }

    /// The likely value of an uncertain number; all three are kept with its path.
    fn uncertain(
        &mut self,
        path: String,
        section: Section,
        key: &'static Key,
        node: &'t Node,
        table: &'t Table,
    ) -> Option<Amount> {
        let words = ["low", "likely", "high"];
        let stray = table
            .entries
            .iter()
            .find(|entry| !words.contains(&entry.key.as_str()));
        let fault = match (words.map(|word| table.node(word)), stray) {
            _ if section.is_chosen(key) => RangeFault::Chosen,
            ([Some(low), Some(likely), Some(high)], None) => {
                let [low, likely, high] = [low, likely, high].map(|node| self.amount(key, node));
                let (low, likely, high) = (low?, likely?, high?);
                let like = |one: Amount| one.dimension == likely.dimension;
                let ordered = low.value <= likely.value && likely.value <= high.value;
                if like(low) && like(high) && ordered {
                    self.uncertain.push(Uncertain {
                        path,
                        low: low.value,
                        likely: likely.value,
                        high: high.value,
                    });
                    return Some(likely);
                }
                RangeFault::NotInOrder
            }
            ([Some(_), Some(_), Some(_)], Some(other)) => RangeFault::Stray(&other.key),
            _ => RangeFault::NotThree,
        };
        self.refuse(key, node, ValueFault::NoRange(fault));
        None
    }

    /// A list that holds at least one entry; none where it is wrong.
    pub fn list(&mut self, key: &'static Key, node: &'t Node) -> &'t [Node] {
        let fault = match &node.value {
            Value::List(list) if (1..=LONGEST_LIST).contains(&list.len()) => return list,
            Value::List(list) => ValueFault::ListLength(list.len()),
            _ => ValueFault::WrongType,
        };
        self.refuse(key, node, fault);
        &[]
    }

    /// A list of sizes.
    fn sizes<T: Settled>(
        &mut self,
        fields: &Fields<'t>,
        key: &'static Key,
        node: &'t Node,
        draft: &mut Draft<T>,
    ) {
        let errors = self.errors.len();
        let list = self.list(key, node);
        let mut sizes = Vec::with_capacity(list.len());
        for (index, node) in list.iter().enumerate() {
            let size = self.number(fields, key, node, Some(index), draft);
            sizes.push(size.map_or(1.0, |size| size.value));
        }
        draft.give(key.name, &Field::Sizes(sizes), self.given_since(errors));
    }

    /// A share for each period of the lab: by its name, or the one for all others.
    fn by_period<T: Settled>(
        &mut self,
        fields: &Fields<'t>,
        key: &'static Key,
        node: &'t Node,
        draft: &mut Draft<T>,
    ) {
        let errors = self.errors.len();
        let entries = node.table().map_or(&[][..], |table| &table.entries);
        let names = self.periods.clone();
        for entry in entries {
            if entry.key != OTHERWISE && !names.contains(&entry.key) {
                self.report(KeyProblem::NoPeriod(key, entry, &names));
            }
        }
        let own = |name: &str| entries.iter().find(|entry| entry.key == name);
        let mut shares = Vec::with_capacity(names.len());
        for (place, name) in names.iter().enumerate() {
            let Some(entry) = own(name).or(own(OTHERWISE)) else {
                self.report(KeyProblem::NoShare(key, node, name));
                continue;
            };
            let share = match &entry.node.value {
                Value::Table(table) => {
                    let path = join(&join(&fields.path, key.name), name);
                    let share = self.uncertain(path, fields.section, key, &entry.node, table);
                    if let (Some(_), Some(uncertain)) = (share, self.uncertain.last()) {
                        draft.inputs.push(Input {
                            key: key.name,
                            takes: Takes::Entry(place),
                            uncertain: uncertain.clone(),
                        });
                    }
                    share
                }
                _ => self.amount(key, &entry.node),
            };
            shares.push(share.map_or(1.0, |share| share.value));
        }
        draft.give(key.name, &Field::Sizes(shares), self.given_since(errors));
    }

    /// The prices in a table, by what they are the price of (in base units), ascending.
    fn prices(
        &mut self,
        fields: &Fields<'t>,
        key: &'static Key,
        node: &'t Node,
    ) -> Option<Vec<(f64, f64)>> {
        let Some(table) = node.table() else {
            self.refuse(key, node, ValueFault::WrongType);
            return None;
        };
        // The table's own row says "a table from size to price"; a price is judged like the price of a host.
        let price_key = Section::Host.key("price").unwrap_or(key);
        let (dimension, ..) = key.priced_by();
        let allowed = match dimension {
            Dimension::BitRate => range::SOME_BIT_RATE,
            _ => range::SOME_SIZE,
        };
        let path = join(&fields.path, key.name);
        let mut prices = Vec::new();
        for entry in &table.entries {
            let price = self.price(
                fields.section,
                price_key,
                join(&path, &entry.key),
                &entry.node,
            );
            let error = match parse::parse(&entry.key, dimension) {
                Ok(size) if allowed.holds(size) => {
                    prices.push((of_module(key, size), price));
                    continue;
                }
                Ok(_) => None,
                Err(error) => Some(error),
            };
            self.report(PriceProblem {
                key,
                entry,
                range: allowed,
                error,
            });
        }
        prices.sort_by(|one, other| one.0.total_cmp(&other.0));
        Some(prices)
    }

    /// A price, which may be uncertain like any other number; no answer depends on it, so that it is not drawn.
    fn price(&mut self, section: Section, key: &'static Key, path: String, node: &'t Node) -> f64 {
        let amount = match &node.value {
            Value::Table(table) => self.uncertain(path, section, key, node, table),
            _ => self.amount(key, node),
        };
        amount.map_or(1.0, |amount| amount.value)
    }
}

impl Amount {
    /// Whether it was written as a share where the key takes a size as well.
    fn is_share_of(self, key: &Key) -> bool {
        key.kind == Kind::SizeOrShare && self.dimension == Dimension::Share
    }
}

fn flag(node: &Node) -> Result<bool, ValueFault<'_>> {
    match node.value {
        Value::Flag(flag) => Ok(flag),
        _ => Err(ValueFault::WrongType),
    }
}

/// One of a few words.
fn word<'t>(node: &'t Node, words: &[&'static str]) -> Result<&'static str, ValueFault<'t>> {
    let given = node.text().ok_or(ValueFault::WrongType)?;
    let known = words.iter().find(|word| **word == given);
    known.copied().ok_or(ValueFault::UnknownChoice(given))
}

/// A name, the name of something else, or free text.
fn text<'t>(key: &Key, node: &'t Node) -> Result<&'t str, ValueFault<'t>> {
    let text = node.text().ok_or(ValueFault::WrongType)?;
    let fault = if !text.chars().all(is_printable) {
        NameFault::Control
    } else if text.chars().count() > LONGEST_NAME {
        NameFault::Long
    } else if text.trim().is_empty() && key.kind != Kind::Title {
        NameFault::Empty
    } else {
        return Ok(text);
    };
    Err(ValueFault::InvalidName(fault))
}

/// One plain number for `key`.
fn amount<'t>(key: &Key, node: &'t Node, sources: &Sources) -> Result<Amount, ValueFault<'t>> {
    let dimension = match key.kind {
        Kind::Quantity(dimension) => dimension,
        Kind::Count => Dimension::Number,
        Kind::SizeOrShare if is_share(node) => Dimension::Share,
        Kind::ShareByPeriod => Dimension::Share,
        _ => Dimension::Bytes,
    };
    let value = match &node.value {
        Value::Whole(value) | Value::Real(value) => {
            parse::from_number(*value, sources.text(node.place), dimension)
        }
        Value::Text(text) if dimension != Dimension::Number => parse::parse(text, dimension),
        _ => return Err(ValueFault::WrongType),
    };
    let value = value.map_err(ValueFault::NoQuantity)?;
    if key.kind == Kind::Count && value.fract() != 0.0 {
        return Err(ValueFault::NotWhole(value));
    }
    let value = of_module(key, value);
    let amount = Amount { value, dimension };
    let range = if amount.is_share_of(key) {
        range::SHARE
    } else {
        key.range
    };
    if range.holds(value) {
        return Ok(amount);
    }
    Err(ValueFault::OutOfRange(range, value, dimension))
}

/// Whether a table holds values by period, and not the three of an uncertain one.
fn is_by_period(node: &Node) -> bool {
    let words = ["low", "likely", "high"];
    let is_period = |entry: &Entry| !words.contains(&entry.key.as_str());
    node.table()
        .is_some_and(|table| table.entries.iter().any(is_period))
}

/// A size `[B]`; that of a memory module is counted in GiB where it was written in GB, as its label says it.
fn of_module(key: &Key, size: f64) -> f64 {
    let is_module = matches!(key.name, "modules" | "max_module" | "module_prices");
    if is_module && MODULES.contains(&(size / 1e9)) {
        size / 1e9 * 1_073_741_824.0
    } else {
        size
    }
}

/// Whether a size-or-share was written as a share.
fn is_share(node: &Node) -> bool {
    match &node.value {
        Value::Text(text) => {
            let text = text.trim_end();
            text.ends_with('%') || text.ends_with("percent")
        }
        // A bare number up to 1 can only be a share; a larger one is a size without its unit.
        Value::Whole(value) | Value::Real(value) => value.abs() <= 1.0,
        _ => false,
    }
}
