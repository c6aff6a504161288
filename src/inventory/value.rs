//! Checks single values: type, unit, range.

use crate::diagnose::Diagnostic;
use crate::lab::draft::{Draft, DrawnAs, Given, Input};
use crate::lab::keys::range;
use crate::lab::keys::{Key, Kind, LONGEST_NAME, Section};
use crate::lab::table::{SectionTable, Value as Field};
use crate::lab::{OTHERWISE, Uncertain, is_name};
use crate::unit::parse::{self, Dimension};
use crate::unit::printable::is_printable;

use super::check::{Checker, join};
use super::fields::Fields;
use super::problem::keys;
use super::problem::values::{KeyValue, LONGEST_LIST, RangeFault, invalid_price};
use super::tree::{Entry, Node, Value};

/// Sizes that memory modules come in, as their labels have them.
const MODULES: [f64; 8] = [8.0, 16.0, 24.0, 32.0, 48.0, 64.0, 96.0, 128.0];

/// The keys of an uncertain value.
pub(super) const RANGE: [&str; 3] = ["low", "likely", "high"];

/// A number in base units, and what it is a number of.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Amount {
    /// The number; of an uncertain value the likely one.
    value: f64,
    /// What it measures; of a size-or-share the one that was written.
    dimension: Dimension,
}

impl<'t> Checker<'t> {
    /// Checks the value of a key and gives it to the draft.
    pub fn value<T: SectionTable>(
        &mut self,
        fields: &Fields<'t>,
        value: KeyValue<'t>,
        draft: &mut Draft<T>,
    ) {
        let key = value.key;
        let field = match key.kind {
            Kind::Name | Kind::Reference | Kind::Title => self.valid(text(value)).map(Field::Text),
            Kind::Word(words) => self.valid(word(value, words)).map(Field::Text),
            Kind::Flag => self.valid(flag(value)).map(Field::Flag),
            Kind::Sizes => return self.sizes(fields, value, draft),
            Kind::ShareByPeriod if is_by_period(value.node) => {
                return self.by_period(fields, value, draft);
            }
            Kind::Prices => self.prices(fields, value).map(Field::Prices),
            _ => {
                let drawn_as = match key.kind {
                    Kind::Count => DrawnAs::Count,
                    _ => DrawnAs::Number,
                };
                let path = join(&fields.path, key.name);
                let amount = self.input(fields, value, path, drawn_as, draft);
                let given = match amount {
                    None => Given::Invalid,
                    Some(amount) if amount.is_share_of(key) => Given::Share,
                    Some(_) => Given::Valid,
                };
                let number = amount.map_or(1.0, |amount| amount.value);
                let field = match key.kind {
                    Kind::Count => Field::Count(number),
                    _ => Field::Number(number),
                };
                return draft.give(key.name, &field, given);
            }
        };
        if let Some(field) = field {
            draft.give(key.name, &field, Given::Valid);
        }
    }

    /// What was read, if it is valid; else the error is reported.
    fn valid<V>(&mut self, read: Result<V, Diagnostic>) -> Option<V> {
        read.map_err(|error| self.report(error)).ok()
    }

    /// Whether what was read since there were so many errors is valid.
    fn given_since(&self, errors: usize) -> Given {
        if self.errors.len() == errors {
            Given::Valid
        } else {
            Given::Invalid
        }
    }

    /// A number of a table; an uncertain one becomes an input of the draft.
    fn input<T: SectionTable>(
        &mut self,
        fields: &Fields<'t>,
        value: KeyValue<'t>,
        path: String,
        drawn_as: DrawnAs,
        draft: &mut Draft<T>,
    ) -> Option<Amount> {
        let before = self.uncertain.len();
        let amount = self.number(fields, value, path)?;
        let inputs = self.uncertain[before..].iter().map(|uncertain| Input {
            key: value.key.name,
            drawn_as,
            uncertain: uncertain.clone(),
        });
        draft.inputs.extend(inputs);
        Some(amount)
    }

    /// A number; of an uncertain one the likely value, and all three are kept with its path.
    fn number(&mut self, fields: &Fields<'t>, value: KeyValue<'t>, path: String) -> Option<Amount> {
        let Value::Table(table) = &value.node.value else {
            return self.valid(amount(value));
        };
        let mut entries = table.entries.iter();
        let stray = entries.find(|entry| !RANGE.contains(&entry.key.as_str()));
        let fault = match (RANGE.map(|word| table.node(word)), stray) {
            _ if fields.section.is_chosen(value.key) => RangeFault::Chosen,
            ([Some(low), Some(likely), Some(high)], None) => {
                let [low, likely, high] =
                    [low, likely, high].map(|node| self.valid(amount(KeyValue { node, ..value })));
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
        self.report(value.invalid_range(&fault));
        None
    }

    /// A list that holds at least one entry; none where it is invalid.
    pub fn list(&mut self, value: KeyValue<'t>) -> &'t [Node] {
        let error = match &value.node.value {
            Value::List(list) if (1..=LONGEST_LIST).contains(&list.len()) => return list,
            Value::List(list) => value.list_length(list.len()),
            _ => value.wrong_type(),
        };
        self.report(error);
        &[]
    }

    /// A list of sizes.
    fn sizes<T: SectionTable>(
        &mut self,
        fields: &Fields<'t>,
        value: KeyValue<'t>,
        draft: &mut Draft<T>,
    ) {
        let errors = self.errors.len();
        let list = self.list(value);
        let mut sizes = Vec::with_capacity(list.len());
        let path = join(&fields.path, value.key.name);
        for (index, node) in list.iter().enumerate() {
            let path = join(&path, &(index + 1).to_string());
            let entry = KeyValue { node, ..value };
            let size = self.input(fields, entry, path, DrawnAs::Entry(index), draft);
            sizes.push(size.map_or(1.0, |size| size.value));
        }
        draft.give(
            value.key.name,
            &Field::Sizes(sizes),
            self.given_since(errors),
        );
    }

    /// A share for each period of the lab: by its name, or the one for all others.
    fn by_period<T: SectionTable>(
        &mut self,
        fields: &Fields<'t>,
        value: KeyValue<'t>,
        draft: &mut Draft<T>,
    ) {
        let errors = self.errors.len();
        let KeyValue { key, node, .. } = value;
        let entries = node.table().map_or(&[][..], |table| &table.entries);
        let names = self.periods.clone();
        for entry in entries {
            if entry.key != OTHERWISE && !names.contains(&entry.key) {
                self.report(keys::no_period(key, entry, &names));
            }
        }
        let own = |name: &str| entries.iter().find(|entry| entry.key == name);
        let mut shares = Vec::with_capacity(names.len());
        for (place, name) in names.iter().enumerate() {
            let Some(entry) = own(name).or(own(OTHERWISE)) else {
                self.report(keys::no_share(key, node, name));
                continue;
            };
            let path = join(&join(&fields.path, key.name), name);
            let node = &entry.node;
            let entry = KeyValue { node, ..value };
            let share = self.input(fields, entry, path, DrawnAs::Entry(place), draft);
            shares.push(share.map_or(1.0, |share| share.value));
        }
        draft.give(key.name, &Field::Sizes(shares), self.given_since(errors));
    }

    /// The prices in a table, by what they are the price of (in base units), ascending.
    fn prices(&mut self, fields: &Fields<'t>, value: KeyValue<'t>) -> Option<Vec<(f64, f64)>> {
        let key = value.key;
        let Some(table) = value.node.table() else {
            self.report(value.wrong_type());
            return None;
        };
        // The table's own row says "a table from size to price"; a price is checked like the price of a host.
        let price_key = Section::Host.key("price").unwrap_or(key);
        let (dimension, ..) = key.priced_quantity();
        let allowed = match dimension {
            Dimension::BitRate => range::SOME_BIT_RATE,
            _ => range::SOME_SIZE,
        };
        let path = join(&fields.path, key.name);
        let mut prices = Vec::new();
        for entry in &table.entries {
            // A price may be uncertain like any other number; no answer depends on it, so that it is not drawn.
            let price = KeyValue {
                key: price_key,
                node: &entry.node,
                ..value
            };
            let price = self.number(fields, price, join(&path, &entry.key));
            let price = price.map_or(1.0, |price| price.value);
            let error = match parse::parse(&entry.key, dimension) {
                Ok(size) if allowed.holds(size) => {
                    prices.push((of_module(key, size), price));
                    continue;
                }
                Ok(_) => None,
                Err(error) => Some(error),
            };
            self.report(invalid_price(key, entry, allowed, error));
        }
        prices.sort_by(|one, other| one.0.total_cmp(&other.0));
        Some(prices)
    }
}

impl Amount {
    /// Whether it was written as a share where the key takes a size as well.
    fn is_share_of(self, key: &Key) -> bool {
        key.kind == Kind::SizeOrShare && self.dimension == Dimension::Share
    }
}

fn flag(value: KeyValue<'_>) -> Result<bool, Diagnostic> {
    match value.node.value {
        Value::Flag(flag) => Ok(flag),
        _ => Err(value.wrong_type()),
    }
}

/// One of a few words.
fn word(value: KeyValue<'_>, words: &[&'static str]) -> Result<&'static str, Diagnostic> {
    let given = value.node.text().ok_or_else(|| value.wrong_type())?;
    let known = words.iter().find(|word| **word == given);
    known.copied().ok_or_else(|| value.unknown_choice(given))
}

/// A name, the name of something else, or free text.
fn text(value: KeyValue<'_>) -> Result<&str, Diagnostic> {
    let text = value.node.text().ok_or_else(|| value.wrong_type())?;
    let is_title = value.key.kind == Kind::Title
        && text.chars().all(is_printable)
        && text.chars().count() <= LONGEST_NAME;
    if is_name(text) || is_title {
        Ok(text)
    } else {
        Err(value.invalid_name(text))
    }
}

/// One plain number.
fn amount(given: KeyValue<'_>) -> Result<Amount, Diagnostic> {
    let KeyValue { key, node, sources } = given;
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
        _ => return Err(given.wrong_type()),
    };
    let value = value.map_err(|error| given.no_quantity(&error))?;
    if key.kind == Kind::Count && value.fract() != 0.0 {
        return Err(given.not_whole(value));
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
    Err(given.out_of_range(range, value, dimension))
}

/// Whether a table holds values by period, and not the three of an uncertain one.
fn is_by_period(node: &Node) -> bool {
    let is_period = |entry: &Entry| !RANGE.contains(&entry.key.as_str());
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
