//! Checks single values: type, unit, range.

use crate::lab::Uncertain;
use crate::lab::draft::{Draft, Given, Input, Settled};
use crate::lab::keys::range::{self, Range};
use crate::lab::keys::{Key, Kind, LONGEST_NAME, Section, is_unprintable};
use crate::lab::table::Value as Field;
use crate::unit::parse::{self, Dimension};

use super::check::{Checker, join, stand_in};
use super::fields::Fields;
use super::problem::{Fault, LONGEST_LIST, ValueProblem};
use super::tree::{Node, Table, Value};

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
            Kind::Name | Kind::Reference | Kind::Title => self.text(key, node).map(Field::Text),
            Kind::Word(words) => self.word(key, node, words).map(Field::Text),
            Kind::Flag => self.flag(key, node).map(Field::Flag),
            Kind::Sizes => return self.sizes(fields, key, node, draft),
            Kind::Prices => self.prices(fields, key, node).map(Field::Prices),
            _ => match self.number(fields, key, node, None, draft) {
                Some(amount) if key.kind == Kind::Count => Some(Field::Count(amount.value)),
                Some(amount) if amount.is_share_of(key) => {
                    return draft.give(key.name, &Field::Number(amount.value), Given::Share);
                }
                Some(amount) => Some(Field::Number(amount.value)),
                None => return draft.give(key.name, &stand_in(key), Given::Wrong),
            },
        };
        if let Some(value) = value {
            draft.give(key.name, &value, Given::Right);
        }
    }

    fn wrong(&mut self, key: &'static Key, node: &'t Node, fault: Fault<'t>) {
        self.report(&ValueProblem { key, node, fault });
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
            return self.plain(key, node);
        };
        let mut path = join(&fields.path, key.name);
        if let Some(index) = entry {
            path = join(&path, &(index + 1).to_string());
        }
        let (amount, uncertain) = self.uncertain(path, fields.section, key, node, table)?;
        draft.inputs.push(Input {
            key: key.name,
            entry,
            is_count: key.kind == Kind::Count,
            uncertain: uncertain.clone(),
        });
        self.uncertain.push(uncertain);
        Some(amount)
    }

    /// A number that is not uncertain.
    fn plain(&mut self, key: &'static Key, node: &'t Node) -> Option<Amount> {
        match amount(key, node, self.sources.text(node.place)) {
            Ok(amount) => Some(amount),
            Err(fault) => {
                self.wrong(key, node, fault);
                None
            }
        }
    }

    /// The likely value of an uncertain number, and all three with its path.
    fn uncertain(
        &mut self,
        path: String,
        section: Section,
        key: &'static Key,
        node: &'t Node,
        table: &'t Table,
    ) -> Option<(Amount, Uncertain)> {
        let words = ["low", "likely", "high"];
        let stray = table
            .entries
            .iter()
            .find(|entry| !words.contains(&entry.key.as_str()));
        let fault = match (words.map(|word| table.get(word)), stray) {
            _ if matches!(section, Section::Lab | Section::Policy) => Fault::Decided,
            ([Some(low), Some(likely), Some(high)], None) => {
                let [low, likely, high] =
                    [low, likely, high].map(|entry| self.plain(key, &entry.node));
                let (low, likely, high) = (low?, likely?, high?);
                let like = |one: Amount| one.dimension == likely.dimension;
                let ordered = low.value <= likely.value && likely.value <= high.value;
                if like(low) && like(high) && ordered {
                    let uncertain = Uncertain {
                        path,
                        low: low.value,
                        likely: likely.value,
                        high: high.value,
                    };
                    return Some((likely, uncertain));
                }
                Fault::Unordered
            }
            ([Some(_), Some(_), Some(_)], Some(other)) => Fault::Stray(&other.key),
            _ => Fault::Incomplete,
        };
        self.wrong(key, node, fault);
        None
    }

    fn flag(&mut self, key: &'static Key, node: &'t Node) -> Option<bool> {
        if let Value::Flag(flag) = node.value {
            return Some(flag);
        }
        self.wrong(key, node, Fault::WrongType);
        None
    }

    /// One of a few words.
    fn word(
        &mut self,
        key: &'static Key,
        node: &'t Node,
        words: &[&'static str],
    ) -> Option<&'static str> {
        let Some(given) = node.text() else {
            self.wrong(key, node, Fault::WrongType);
            return None;
        };
        let known = words.iter().find(|word| **word == given);
        if known.is_none() {
            self.wrong(key, node, Fault::UnknownChoice(given));
        }
        known.copied()
    }

    /// A name, the name of something else, or free text.
    fn text(&mut self, key: &'static Key, node: &'t Node) -> Option<&'t str> {
        let Some(text) = node.text() else {
            self.wrong(key, node, Fault::WrongType);
            return None;
        };
        let fault = if text.chars().any(is_unprintable) {
            "holds control characters"
        } else if text.chars().count() > LONGEST_NAME {
            "is longer than 64 characters"
        } else if text.trim().is_empty() && key.kind != Kind::Title {
            "is empty"
        } else {
            return Some(text);
        };
        self.wrong(key, node, Fault::InvalidName(fault));
        None
    }

    /// A list that holds at least one entry; none where it is wrong.
    pub fn list(&mut self, key: &'static Key, node: &'t Node) -> &'t [Node] {
        let Value::List(list) = &node.value else {
            self.wrong(key, node, Fault::WrongType);
            return &[];
        };
        if (1..=LONGEST_LIST).contains(&list.len()) {
            return list;
        }
        self.wrong(key, node, Fault::ListLength(list.len()));
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
        let given = if self.errors.len() == errors {
            Given::Right
        } else {
            Given::Wrong
        };
        draft.give(key.name, &Field::Sizes(sizes), given);
    }

    /// The prices in a table, by what they are the price of (in base units), ascending.
    fn prices(
        &mut self,
        fields: &Fields<'t>,
        key: &'static Key,
        node: &'t Node,
    ) -> Option<Vec<(f64, f64)>> {
        let Some(table) = node.table() else {
            self.wrong(key, node, Fault::WrongType);
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
            match parse::parse(&entry.key, dimension) {
                Ok(size) if allowed.holds(size) => prices.push((size, price)),
                Ok(_) => self.wrong(key, node, Fault::PricedOutOfRange(entry, allowed)),
                Err(error) => {
                    self.wrong(key, node, Fault::PricedByNothing(entry, allowed, error));
                }
            }
        }
        prices.sort_by(|one, other| one.0.total_cmp(&other.0));
        Some(prices)
    }

    /// A price, which may be uncertain like any other number; no answer depends on it, so that it is not drawn.
    fn price(&mut self, section: Section, key: &'static Key, path: String, node: &'t Node) -> f64 {
        let amount = match &node.value {
            Value::Table(table) => {
                let found = self.uncertain(path, section, key, node, table);
                found.map(|(amount, uncertain)| {
                    self.uncertain.push(uncertain);
                    amount
                })
            }
            _ => self.plain(key, node),
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

/// One plain number for `key`, of which `written` is the text in the file.
fn amount<'t>(key: &Key, node: &Node, written: &str) -> Result<Amount, Fault<'t>> {
    let dimension = match key.kind {
        Kind::Quantity(dimension) => dimension,
        Kind::Count => Dimension::Number,
        Kind::SizeOrShare if is_share(node) => Dimension::Share,
        _ => Dimension::Bytes,
    };
    let value = match &node.value {
        Value::Whole(value) | Value::Real(value) => parse::from_number(*value, written, dimension),
        Value::Text(text) if dimension != Dimension::Number => parse::parse(text, dimension),
        _ => return Err(Fault::WrongType),
    };
    let value = value.map_err(Fault::NoQuantity)?;
    if key.kind == Kind::Count && value.fract() != 0.0 {
        return Err(Fault::NotWhole(value));
    }
    let amount = Amount { value, dimension };
    let range: Range = if amount.is_share_of(key) {
        range::SHARE
    } else {
        key.range
    };
    if range.holds(value) {
        Ok(amount)
    } else {
        Err(Fault::OutOfRange(range, value, dimension))
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
