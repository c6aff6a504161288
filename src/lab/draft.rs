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
    const STEPS: &'static [Step<Self>] = &[];
}

/// A default or a relation.
#[derive(Debug)]
pub enum Step<T> {
    /// The default of its row, of that value, for a key that is left out.
    Fill(&'static str, Room, fn(&T) -> f64),
    /// A default with a text and an origin of its own, where the condition holds; of several steps for one key the
    /// first that applies counts.
    Case(
        &'static str,
        fn(&T) -> bool,
        fn(&T) -> f64,
        (&'static str, DefaultOrigin),
    ),
    /// The default of a flag that follows from other keys.
    Flag(&'static str, fn(&T) -> bool),
    /// Another value for the default of a key that is left out, without a word: room for a given partner.
    MakeRoom(&'static str, fn(&T) -> f64),
    /// The first key is at most the second, and is lowered to it.
    AtMost(&'static str, &'static str, When),
    /// A key that was given as a share of another, in bytes.
    InBytes(&'static str, &'static str),
    /// Two keys are parts of a third; the first is lowered before the second.
    Parts([&'static str; 2], &'static str),
    /// A key is at most what others leave, and is lowered to it; that is wrong where one of the others is.
    Limit(&'static str, [&'static str; 2], fn(&T) -> f64),
}

/// The room that a default makes for a partner.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Room {
    /// It makes none.
    Any,
    /// At most the partner, if that is given.
    Below(&'static str),
    /// At least the partner.
    Above(&'static str),
    /// At most what the first, if given, leaves of the second.
    Beside(&'static str, &'static str),
}

/// When a relation between two keys is looked at.
#[derive(Debug, Clone, Copy)]
pub enum When {
    /// The lower is given.
    LowGiven,
    /// The higher is given; the lower may be a default.
    HighGiven,
    /// Both are given; defaults make room for each other.
    BothGiven,
    /// The lower is given and this one is not.
    LowWithout(&'static str),
}

/// What is seen while a table is made whole.
#[derive(Debug, Clone, Copy)]
pub enum Event {
    /// A default stands in for a key.
    Filled {
        /// The key.
        key: &'static str,
        /// The value or rule as a text.
        text: &'static str,
        /// What it was made to fit: "at most", "busy_load".
        fitted: Option<(&'static str, &'static str)>,
        /// What the default rests on.
        origin: DefaultOrigin,
        /// The number, before it was made to fit; none for a flag.
        likely: Option<f64>,
    },
    /// The first of two given keys is more than the second.
    Order(&'static str, &'static str),
    /// Given parts are more than the whole.
    Parts,
    /// A given key is more than what others leave.
    Limit,
}

/// A table as far as it is given.
#[derive(Debug, Clone)]
pub struct Draft<T: 'static> {
    table: T,
    given: Vec<(&'static str, Given)>,
    /// Its uncertain values.
    pub inputs: Vec<Input>,
    /// The steps that what is given leaves to be done; all of them until that is worked out.
    left: Option<Vec<&'static Step<T>>>,
    /// Uncertain keys, and the least that each may be drawn so that values that are known stay as they are.
    least: Vec<(&'static str, f64)>,
}

/// An uncertain value of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// The key that holds it.
    pub key: &'static str,
    /// What a drawn number is.
    pub takes: Takes,
    /// Its path and its three values.
    pub uncertain: Uncertain,
}

/// What a drawn number of an input is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Takes {
    /// The value of the key.
    Number,
    /// The same, to the nearest whole number.
    Count,
    /// The entry with that place in the list that the key holds.
    Entry(usize),
    /// The default of the key, where other values drawn are likely: in each draw the default is as many times what the
    /// rule gives there.
    Rule,
}

/// How a key is given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Given {
    /// As a value that is right so far.
    Right,
    /// Rightly, as a share of another.
    Share,
    /// It is, or should be, and is wrong; relations with it are not judged.
    Wrong,
}

impl<T: Settled> Draft<T> {
    /// A table with nothing but the fixed defaults.
    pub fn new() -> Draft<T> {
        let mut table = T::BLANK;
        for key in T::SECTION.keys() {
            if let Some(value) = fixed(key) {
                table.put(key.name, &value);
            }
        }
        Draft {
            table,
            given: Vec::new(),
            inputs: Vec::new(),
            left: None,
            least: Vec::new(),
        }
    }

    /// Gives a key its value, or one that stands in for a wrong one.
    pub fn give(&mut self, key: &'static str, value: &Value<'_>, given: Given) {
        self.table.put(key, value);
        self.given.push((key, given));
        self.left = None;
    }

    /// Works out which steps what is given leaves to be done and how low values may be drawn, once before many draws.
    pub fn prepare(&mut self) {
        self.least.clear();
        // Twice, since what a key needs may raise the key above it, whose relation comes first.
        for step in T::STEPS.iter().chain(T::STEPS) {
            let (whole, least) = match *step {
                Step::AtMost(low, high, _) => (high, self.known(low).max(self.least_of(low))),
                Step::Parts(parts, whole) => {
                    let shares = parts
                        .iter()
                        .filter(|part| self.state(part) == Some(Given::Share));
                    let shares: f64 = shares.map(|part| self.table.number(part)).sum();
                    let bytes: f64 = parts.iter().map(|part| self.known(part)).sum();
                    (whole, bytes / (1.0 - shares).max(SLACK))
                }
                _ => continue,
            };
            if least > self.least_of(whole) && self.inputs.iter().any(|one| one.key == whole) {
                self.least.retain(|(key, _)| *key != whole);
                self.least.push((whole, least));
            }
        }
        let left = |step: &&Step<T>| match **step {
            Step::Fill(key, ..)
            | Step::Case(key, ..)
            | Step::Flag(key, _)
            | Step::MakeRoom(key, _) => !self.is_given(key),
            Step::AtMost(low, high, when) => self.applies(low, high, when),
            Step::InBytes(part, _) => self.state(part) == Some(Given::Share),
            Step::Parts(..) | Step::Limit(..) => true,
        };
        self.left = Some(T::STEPS.iter().filter(left).collect());
    }

    /// The number of a key that is given plainly, 0 where it is not.
    fn known(&self, key: &str) -> f64 {
        let is_known = self.state(key) == Some(Given::Right)
            && !self.inputs.iter().any(|input| input.key == key);
        if is_known {
            self.table.number(key)
        } else {
            0.0
        }
    }

    /// The least that a key may be drawn.
    fn least_of(&self, key: &str) -> f64 {
        let mut least = self.least.iter();
        least
            .find(|(name, _)| *name == key)
            .map_or(0.0, |(_, least)| *least)
    }

    /// The table as far as it is given.
    pub fn table(&self) -> &T {
        &self.table
    }

    /// Replaces the value of a key that is given.
    pub fn replace(&mut self, key: &str, value: &Value<'_>) {
        self.table.put(key, value);
    }

    fn state(&self, key: &str) -> Option<Given> {
        let mut given = self.given.iter();
        given
            .find(|(name, _)| *name == key)
            .map(|(_, state)| *state)
    }

    /// Whether the key is given, rightly or wrongly.
    pub fn is_given(&self, key: &str) -> bool {
        self.state(key).is_some()
    }

    /// Whether the key is given and right so far.
    pub fn is_right(&self, key: &str) -> bool {
        self.state(key).is_some_and(|given| given != Given::Wrong)
    }

    /// Whether the value of the key is right so far, given or not.
    pub fn is_sound(&self, key: &str) -> bool {
        let state = self.state(key).or_else(|| self.state(T::BASIS));
        state != Some(Given::Wrong)
    }

    /// The whole table: defaults filled in, relations kept; `report` gets what is seen on the way.
    pub fn settled(&self, report: &mut impl FnMut(Event)) -> T {
        self.settle(self.table.clone(), &[], report)
    }

    /// The whole table with drawn numbers in place of uncertain ones.
    ///
    /// Defaults follow from what is drawn. What is drawn past another value is lowered to it, and what is drawn below a
    /// value that is known is raised to it.
    pub fn drawn<'i>(&self, drawn: impl Iterator<Item = (&'i Input, f64)>) -> T {
        let mut table = self.table.clone();
        let mut times = Vec::new();
        for (input, number) in drawn {
            let Uncertain {
                low, likely, high, ..
            } = input.uncertain;
            let number = number.clamp(low, high);
            let number = number.max(self.least_of(input.key).min(likely));
            let value = match input.takes {
                Takes::Number => Value::Number(number),
                Takes::Count => Value::Count(number.round()),
                Takes::Entry(entry) => Value::Size(entry, number),
                Takes::Rule => {
                    times.push((input.key, number / likely));
                    continue;
                }
            };
            table.put(input.key, &value);
        }
        self.settle(table, &times, &mut |_| ())
    }

    /// Runs the steps; the default of a key in `times` is that many times what its rule gives.
    fn settle(
        &self,
        mut table: T,
        times: &[(&'static str, f64)],
        report: &mut impl FnMut(Event),
    ) -> T {
        let every: Vec<&Step<T>>;
        let steps = match &self.left {
            Some(left) => left,
            None => {
                every = T::STEPS.iter().collect();
                &every
            }
        };
        let mut filled = "";
        for step in steps {
            match **step {
                Step::AtMost(low, high, when) => self.at_most(low, high, when, &mut table, report),
                Step::InBytes(part, whole) if self.state(part) == Some(Given::Share) => {
                    let bytes = table.number(part) * table.number(whole);
                    table.put(part, &Value::Number(bytes));
                }
                Step::Parts(parts, whole) => self.parts(parts, whole, &mut table, report),
                Step::Limit(key, of, most) => {
                    let (value, most) = (table.number(key), most(&table));
                    let judged = self.is_right(key) && of.iter().all(|of| self.is_sound(of));
                    if judged && value > most * (1.0 + SLACK) {
                        report(Event::Limit);
                    }
                    table.put(key, &Value::Number(value.min(most)));
                }
                Step::MakeRoom(key, value) if !self.is_given(key) => {
                    let value = value(&table);
                    table.put(key, &Value::Number(value));
                }
                Step::Fill(key, ..) | Step::Case(key, ..) | Step::Flag(key, _)
                    if key != filled
                        && !self.is_given(key)
                        && self.default(step, times, &mut table, report) =>
                {
                    filled = key;
                }
                _ => {}
            }
        }
        table
    }

    /// Fills in the default of a step, if its condition holds.
    fn default(
        &self,
        step: &Step<T>,
        times: &[(&'static str, f64)],
        table: &mut T,
        report: &mut impl FnMut(Event),
    ) -> bool {
        let drawn = |key: &str, value: f64| {
            let own = times.iter().find(|(name, _)| *name == key);
            own.map_or(value, |(_, times)| (value * times).max(self.least_of(key)))
        };
        match *step {
            Step::Fill(key, room, value) => {
                let value = drawn(key, value(table));
                self.fill(key, room, value, table, report);
            }
            Step::Case(key, when, value, (text, origin)) if when(table) => {
                let likely = value(table);
                let value = match origin {
                    DefaultOrigin::Derived => likely,
                    _ => drawn(key, likely),
                };
                table.put(key, &Value::Number(value));
                report(default(key, text, origin, Some(likely)));
            }
            Step::Flag(key, value) => {
                let flag = value(table);
                table.put(key, &Value::Flag(flag));
                let text = if flag { "true" } else { "false" };
                report(default(key, text, DefaultOrigin::Derived, None));
            }
            _ => return false,
        }
        true
    }

    fn fill(
        &self,
        key: &'static str,
        room: Room,
        value: f64,
        table: &mut T,
        report: &mut impl FnMut(Event),
    ) {
        let given = |key| self.is_given(key).then(|| table.number(key));
        let (how, partner, fits) = match room {
            Room::Below(partner) => {
                let limit = given(partner).unwrap_or(value);
                ("at most", partner, value.min(limit))
            }
            Room::Above(partner) => ("at least", partner, value.max(table.number(partner))),
            Room::Beside(partner, whole) => {
                let left = table.number(whole) - given(partner).unwrap_or(0.0);
                ("what is left beside", partner, value.min(left.max(0.0)))
            }
            Room::Any => ("", "", value),
        };
        table.put(key, &Value::Number(fits));
        if let Some(Default::Rule(text, origin) | Default::Fixed(text, origin)) =
            T::SECTION.key(key).map(|key| key.default)
        {
            report(Event::Filled {
                key,
                text,
                fitted: (fits != value).then_some((how, partner)),
                origin,
                likely: Some(value),
            });
        }
    }

    /// Whether the relation between two keys is looked at.
    fn applies(&self, low: &str, high: &str, when: When) -> bool {
        match when {
            When::LowGiven => self.is_given(low),
            When::HighGiven => self.is_given(high),
            When::BothGiven => self.is_given(low) && self.is_given(high),
            When::LowWithout(other) => self.is_given(low) && !self.is_given(other),
        }
    }

    fn at_most(
        &self,
        low: &'static str,
        high: &'static str,
        when: When,
        table: &mut T,
        report: &mut impl FnMut(Event),
    ) {
        let (value, most) = (table.number(low), table.number(high));
        // What is wrong already judges nothing else.
        if !self.applies(low, high, when) || self.state(high) == Some(Given::Wrong) || value <= most
        {
            return;
        }
        if self.is_right(low) && self.is_right(high) && value > most * (1.0 + SLACK) {
            report(Event::Order(low, high));
        }
        table.put(low, &Value::Number(most));
    }

    fn parts(
        &self,
        parts: [&'static str; 2],
        whole: &'static str,
        table: &mut T,
        report: &mut impl FnMut(Event),
    ) {
        let [first, second] = parts.map(|part| table.number(part));
        let most = table.number(whole);
        let given = |part, value: f64| if self.is_given(part) { value } else { 0.0 };
        let sum = given(parts[0], first) + given(parts[1], second);
        let is_wrong = |part: &&str| self.state(part) == Some(Given::Wrong);
        if self.is_sound(whole) && !parts.iter().any(is_wrong) && sum > most * (1.0 + SLACK) {
            report(Event::Parts);
        }
        let first = first.min(most);
        table.put(parts[0], &Value::Number(first));
        let left = second.min(most - first).max(0.0);
        table.put(parts[1], &Value::Number(left));
    }

    /// Rows whose rule no step of this table has filled in: the rule itself is the default.
    pub fn bare_rules(&self) -> impl Iterator<Item = (&'static Key, &'static str, DefaultOrigin)> {
        let is_filled = |key: &Key| {
            T::STEPS.iter().any(|step| match step {
                Step::Fill(name, ..) | Step::Case(name, ..) | Step::Flag(name, _) => {
                    *name == key.name
                }
                _ => false,
            })
        };
        let rows = T::SECTION.keys().iter();
        rows.filter_map(move |key| match key.default {
            Default::Rule(text, origin) if !self.is_given(key.name) && !is_filled(key) => {
                Some((key, text, origin))
            }
            _ => None,
        })
    }
}

impl<T: Settled> std::default::Default for Draft<T> {
    fn default() -> Self {
        Draft::new()
    }
}

/// A default that fits as it is.
fn default(
    key: &'static str,
    text: &'static str,
    origin: DefaultOrigin,
    likely: Option<f64>,
) -> Event {
    Event::Filled {
        key,
        text,
        fitted: None,
        origin,
        likely,
    }
}

/// The fixed default of a key.
pub fn fixed(key: &Key) -> Option<Value<'static>> {
    let Default::Fixed(text, _) = key.default else {
        return None;
    };
    let number = |dimension| parse(text, dimension).unwrap_or(0.0);
    Some(match key.kind {
        Kind::Flag => Value::Flag(text == "true"),
        Kind::Count => Value::Count(number(Dimension::Number)),
        Kind::Quantity(dimension) => Value::Number(number(dimension)),
        Kind::ShareByPeriod => Value::Number(number(Dimension::Share)),
        _ => Value::Text(text),
    })
}
