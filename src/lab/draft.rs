//! A table as far as it is given, and the steps that make it whole: defaults that follow from other keys, and relations
//! that hold between keys.
//!
//! The steps of a section are data and run in their order, because a default may follow from a value that a relation
//! has lowered. They run when a file is read, for tables made by hand, and again in each draw.

use crate::unit::parse::{Dimension, parse};

use super::keys::{Default, Key, Kind};
use super::origin::{DefaultOrigin, Uncertain};
use super::table::{Table, Value};

/// Relative slack, so that shares that add up to a whole in writing do so in binary too.
const SLACK: f64 = 1e-9;

/// A section with the steps that make a table of it whole.
pub trait Settled: Table + 'static {
    /// The key that defaults follow from: where it is wrong, so are they.
    const BASIS: &'static str = "";
    /// Defaults and relations, in the order in which they are applied.
    const STEPS: &'static [Step<Self>];
}

/// A default or a relation.
#[derive(Debug)]
pub enum Step<T> {
    /// A value for a key that is left out; of several for one key the first that applies counts.
    Fill(Fill<T>),
    /// Another value for the default of a key that is left out, without a word: room for a given partner.
    MakeRoom(&'static str, fn(&T) -> f64),
    /// One key is at most another, and is lowered to it.
    AtMost(AtMost),
    /// A key that was given as a share of another, in bytes.
    InBytes(&'static str, &'static str),
    /// Two keys are parts of a third; the first is lowered before the second.
    Parts([&'static str; 2], &'static str),
    /// A key is at most what others leave, and is lowered to it.
    Limit(&'static str, [&'static str; 2], fn(&T) -> f64),
}

/// A value for a key that is left out.
#[derive(Debug)]
pub struct Fill<T> {
    key: &'static str,
    when: fn(&T) -> bool,
    value: fn(&T) -> Value<'static>,
    /// Text and origin; none: those of the key's row.
    text: Option<(&'static str, DefaultOrigin)>,
    room: Room,
}

/// The room that a default makes for a partner.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Room {
    /// It makes none.
    Any,
    /// At most the partner, if that is given.
    Below(&'static str),
    /// At least the partner.
    Above(&'static str),
    /// At most what the first, if given, leaves of the second.
    Beside(&'static str, &'static str),
}

/// One key is at most another.
#[derive(Debug)]
pub struct AtMost {
    low: &'static str,
    high: &'static str,
    when: When,
}

/// When a relation is looked at.
#[derive(Debug, Clone, Copy)]
enum When {
    LowGiven,
    HighGiven,
    BothGiven,
    /// The lower is given and this one is not.
    LowWithout(&'static str),
}

/// The default of the row, of that value.
pub(super) const fn fill<T>(
    key: &'static str,
    room: Room,
    value: fn(&T) -> Value<'static>,
) -> Step<T> {
    Step::Fill(Fill {
        key,
        when: |_| true,
        value,
        text: None,
        room,
    })
}

/// A default with a text of its own, where `when` applies.
pub(super) const fn case<T>(
    key: &'static str,
    when: fn(&T) -> bool,
    value: fn(&T) -> Value<'static>,
    text: &'static str,
    origin: DefaultOrigin,
) -> Step<T> {
    Step::Fill(Fill {
        key,
        when,
        value,
        text: Some((text, origin)),
        room: Room::Any,
    })
}

/// Moves a fixed default out of the way of a given partner.
pub(super) const fn make_room<T>(key: &'static str, value: fn(&T) -> f64) -> Step<T> {
    Step::MakeRoom(key, value)
}

const fn ordered<T>(low: &'static str, high: &'static str, when: When) -> Step<T> {
    Step::AtMost(AtMost { low, high, when })
}

/// `low` ≤ `high`, where `low` is given.
pub(super) const fn at_most<T>(low: &'static str, high: &'static str) -> Step<T> {
    ordered(low, high, When::LowGiven)
}

/// `low` ≤ `high`, where `low` is given and `other` is not.
pub(super) const fn at_most_without<T>(
    low: &'static str,
    high: &'static str,
    other: &'static str,
) -> Step<T> {
    ordered(low, high, When::LowWithout(other))
}

/// `low` ≤ `high`, where both are given; defaults make room for each other.
pub(super) const fn both<T>(low: &'static str, high: &'static str) -> Step<T> {
    ordered(low, high, When::BothGiven)
}

/// `low`, given or not, is lowered to a given `high`.
pub(super) const fn lowered<T>(low: &'static str, high: &'static str) -> Step<T> {
    ordered(low, high, When::HighGiven)
}

/// Takes a share of `whole` as so many bytes.
pub(super) const fn in_bytes<T>(part: &'static str, whole: &'static str) -> Step<T> {
    Step::InBytes(part, whole)
}

/// The sum of `parts` ≤ `whole`.
pub(super) const fn parts<T>(parts: [&'static str; 2], whole: &'static str) -> Step<T> {
    Step::Parts(parts, whole)
}

/// `key` ≤ what others leave, which is wrong where one of `of` is.
pub(super) const fn limit<T>(
    key: &'static str,
    of: [&'static str; 2],
    most: fn(&T) -> f64,
) -> Step<T> {
    Step::Limit(key, of, most)
}

/// What is seen while a table is made whole.
pub trait Watch {
    /// A default stands in for a key; `held` says what it was made to fit: "at most", "busy_load".
    fn filled(
        &mut self,
        key: &'static str,
        text: &'static str,
        held: Option<(&'static str, &'static str)>,
        origin: DefaultOrigin,
    );
    /// Given values do not go together.
    fn exceeded(&mut self, excess: Excess);
}

/// Nobody watches.
impl Watch for () {
    fn filled(
        &mut self,
        _: &'static str,
        _: &'static str,
        _: Option<(&'static str, &'static str)>,
        _: DefaultOrigin,
    ) {
    }
    fn exceeded(&mut self, _: Excess) {}
}

/// Given values that do not go together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Excess {
    /// The first is more than the second.
    Order(&'static str, &'static str),
    /// The parts are more than the whole.
    Parts([&'static str; 2], &'static str),
    /// The key is more than what these leave.
    Limit(&'static str, [&'static str; 2]),
}

/// A table as far as it is given.
#[derive(Debug, Clone)]
pub struct Draft<T> {
    table: T,
    given: Vec<Given>,
    inputs: Vec<Input>,
}

/// An uncertain value of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// The key that holds it.
    pub key: &'static str,
    /// Its place in the list that the key holds.
    pub entry: Option<usize>,
    /// Whether it is a whole number.
    pub is_count: bool,
    /// Its path and its three values.
    pub uncertain: Uncertain,
}

impl Input {
    /// A drawn number as a value of the key.
    fn value(&self, drawn: f64) -> Value<'static> {
        let drawn = drawn.clamp(self.uncertain.low, self.uncertain.high);
        match self.entry {
            _ if self.is_count => Value::Count(drawn.round()),
            Some(entry) => Value::Size(entry, drawn),
            None => Value::Number(drawn),
        }
    }
}

/// A key that is given.
#[derive(Debug, Clone, Copy)]
struct Given {
    key: &'static str,
    /// Whether its value is right so far; relations with one that is not are not judged.
    is_sound: bool,
    /// Whether it was given as a share of another.
    is_share: bool,
}

impl<T: Settled> Draft<T> {
    /// A table with nothing but the fixed defaults.
    pub fn new() -> Draft<T> {
        let mut table = T::blank();
        for key in T::SECTION.keys() {
            if let Some(value) = fixed(key) {
                table.put(key.name, &value);
            }
        }
        Draft {
            table,
            given: Vec::new(),
            inputs: Vec::new(),
        }
    }

    /// Gives a key its value.
    pub fn give(&mut self, key: &'static str, value: &Value<'_>) {
        self.put(key, value, true, false);
    }

    /// Gives a key its value as a share of another.
    pub fn give_share(&mut self, key: &'static str, share: f64) {
        self.put(key, &Value::Number(share), true, true);
    }

    /// Says that a key is given, or should be, and is wrong; the table gets `stand_in`.
    pub fn give_wrong(&mut self, key: &'static str, stand_in: &Value<'_>) {
        self.put(key, stand_in, false, false);
    }

    fn put(&mut self, key: &'static str, value: &Value<'_>, is_sound: bool, is_share: bool) {
        self.table.put(key, value);
        self.given.push(Given {
            key,
            is_sound,
            is_share,
        });
    }

    /// The table as far as it is given.
    pub fn table(&self) -> &T {
        &self.table
    }

    /// Replaces the value of a key that is given.
    pub fn replace(&mut self, key: &str, value: &Value<'_>) {
        self.table.put(key, value);
    }

    fn state(&self, key: &str) -> Option<&Given> {
        self.given.iter().find(|given| given.key == key)
    }

    /// Whether the key is given, rightly or wrongly.
    pub fn is_given(&self, key: &str) -> bool {
        self.state(key).is_some()
    }

    /// Whether the key is given and right so far.
    pub fn is_right(&self, key: &str) -> bool {
        self.state(key).is_some_and(|given| given.is_sound)
    }

    /// Whether the value of the key is right so far, given or not.
    pub fn is_sound(&self, key: &str) -> bool {
        let state = self.state(key).or_else(|| self.state(T::BASIS));
        state.is_none_or(|given| given.is_sound)
    }

    /// The whole table: defaults filled in, relations kept.
    pub fn settled(&self, watch: &mut impl Watch) -> T {
        self.settle(self.table.clone(), watch)
    }

    /// The whole table with drawn numbers in place of uncertain ones: `drawn` is asked for each by its place.
    ///
    /// Defaults follow from what is drawn, and what was pushed past another value is lowered to it.
    pub fn drawn(&self, drawn: impl Fn(usize) -> Option<f64>) -> T {
        let mut table = self.table.clone();
        for (place, input) in self.inputs.iter().enumerate() {
            if let Some(number) = drawn(place) {
                table.put(input.key, &input.value(number));
            }
        }
        self.settle(table, &mut ())
    }

    fn settle(&self, mut table: T, watch: &mut impl Watch) -> T {
        let mut filled = "";
        for step in T::STEPS {
            match step {
                Step::Fill(fill) => {
                    if fill.key != filled && !self.is_given(fill.key) && (fill.when)(&table) {
                        self.fill(fill, &mut table, watch);
                        filled = fill.key;
                    }
                }
                Step::MakeRoom(key, value) if !self.is_given(key) => {
                    let value = value(&table);
                    table.put(key, &Value::Number(value));
                }
                Step::MakeRoom(..) => {}
                Step::AtMost(relation) => self.at_most(relation, &mut table, watch),
                Step::InBytes(part, whole) => {
                    if self.state(part).is_some_and(|given| given.is_share) {
                        let bytes = table.number(part) * table.number(whole);
                        table.put(part, &Value::Number(bytes));
                    }
                }
                Step::Parts(parts, whole) => self.parts(*parts, whole, &mut table, watch),
                Step::Limit(key, of, most) => {
                    let (value, most) = (table.number(key), most(&table));
                    let judged = self.is_right(key) && of.iter().all(|of| self.is_sound(of));
                    if judged && value > most * (1.0 + SLACK) {
                        watch.exceeded(Excess::Limit(key, *of));
                    }
                    table.put(key, &Value::Number(value.min(most)));
                }
            }
        }
        table
    }

    fn fill(&self, fill: &Fill<T>, table: &mut T, watch: &mut impl Watch) {
        let mut value = (fill.value)(table);
        let mut held = None;
        if let Value::Number(number) = &mut value {
            let (how, partner, limit) = match fill.room {
                Room::Below(partner) if self.is_given(partner) => {
                    ("at most", partner, table.number(partner))
                }
                Room::Above(partner) => ("at least", partner, table.number(partner)),
                Room::Beside(partner, whole) => {
                    let taken = if self.is_given(partner) {
                        table.number(partner)
                    } else {
                        0.0
                    };
                    let left = (table.number(whole) - taken).max(0.0);
                    ("what is left beside", partner, left)
                }
                _ => ("", "", *number),
            };
            let fits = if how == "at least" {
                number.max(limit)
            } else {
                number.min(limit)
            };
            if fits != *number {
                held = Some((how, partner));
                *number = fits;
            }
        }
        table.put(fill.key, &value);
        let row = T::SECTION.key(fill.key).map(|key| key.default);
        let own = match row {
            Some(Default::Rule(text, origin) | Default::Fixed(text, origin)) => {
                Some((text, origin))
            }
            _ => None,
        };
        if let Some((text, origin)) = fill.text.or(own) {
            watch.filled(fill.key, text, held, origin);
        }
    }

    fn at_most(&self, relation: &AtMost, table: &mut T, watch: &mut impl Watch) {
        let AtMost { low, high, when } = *relation;
        let applies = match when {
            When::LowGiven => self.is_given(low),
            When::HighGiven => self.is_given(high),
            When::BothGiven => self.is_given(low) && self.is_given(high),
            When::LowWithout(other) => self.is_given(low) && !self.is_given(other),
        };
        // What is wrong already judges nothing else.
        if !applies || self.state(high).is_some_and(|given| !given.is_sound) {
            return;
        }
        let (value, most) = (table.number(low), table.number(high));
        if value <= most {
            return;
        }
        if self.is_right(low) && self.is_right(high) && value > most * (1.0 + SLACK) {
            watch.exceeded(Excess::Order(low, high));
        }
        table.put(low, &Value::Number(most));
    }

    fn parts(
        &self,
        parts: [&'static str; 2],
        whole: &'static str,
        table: &mut T,
        watch: &mut impl Watch,
    ) {
        let [first, second] = parts.map(|part| table.number(part));
        let most = table.number(whole);
        let given = |part, value: f64| if self.is_given(part) { value } else { 0.0 };
        let sum = given(parts[0], first) + given(parts[1], second);
        let judged = self.is_sound(whole)
            && parts
                .iter()
                .all(|part| !self.is_given(part) || self.is_right(part));
        if judged && sum > most * (1.0 + SLACK) {
            watch.exceeded(Excess::Parts(parts, whole));
        }
        let first = first.min(most);
        table.put(parts[0], &Value::Number(first));
        let left = second.min(most - first).max(0.0);
        table.put(parts[1], &Value::Number(left));
    }

    /// Rows whose rule no step of this table has filled in: the rule itself is the default.
    pub fn bare_rules(&self) -> impl Iterator<Item = (&'static Key, &'static str, DefaultOrigin)> {
        let is_filled = |key: &Key| {
            T::STEPS
                .iter()
                .any(|step| matches!(step, Step::Fill(fill) if fill.key == key.name))
        };
        T::SECTION
            .keys()
            .iter()
            .filter_map(move |key| match key.default {
                Default::Rule(text, origin) if !self.is_given(key.name) && !is_filled(key) => {
                    Some((key, text, origin))
                }
                _ => None,
            })
    }
}

impl<T> Draft<T> {
    /// Adds an uncertain value.
    pub fn vary(&mut self, input: Input) {
        self.inputs.push(input);
    }

    /// The uncertain values.
    pub fn inputs(&self) -> &[Input] {
        &self.inputs
    }
}

impl<T: Settled> std::default::Default for Draft<T> {
    fn default() -> Self {
        Draft::new()
    }
}

/// The fixed default of a key.
fn fixed(key: &Key) -> Option<Value<'static>> {
    let Default::Fixed(text, _) = key.default else {
        return None;
    };
    let number = |dimension| parse(text, dimension).unwrap_or(0.0);
    Some(match key.kind {
        Kind::Flag => Value::Flag(text == "true"),
        Kind::Count => Value::Count(number(Dimension::Number)),
        Kind::Quantity(dimension) => Value::Number(number(dimension)),
        _ => Value::Text(text),
    })
}
