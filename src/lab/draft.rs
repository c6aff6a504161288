//! A table as far as it is given, and its completion by the steps of its section.

use crate::unit::parse::{Dimension, parse};

use super::keys::{Default, Key, Kind};
use super::origin::{DefaultOrigin, Uncertain};
use super::step::{Room, Step, When};
use super::table::{SectionTable, Value};

/// Relative slack, so that shares that add up to a whole in writing do so in binary too.
const SLACK: f64 = 1e-9;

/// What is seen while a table is completed.
#[derive(Debug, Clone, Copy)]
pub enum Event {
    /// A key that is left out has its default.
    Filled(Filled),
    /// The first of two given keys is more than the second.
    Order(&'static str, &'static str),
    /// Given parts are more than the whole.
    Parts,
    /// A given key is more than what others leave.
    Limit,
}

/// A default in the place of a key that is left out.
#[derive(Debug, Clone, Copy)]
pub struct Filled {
    /// The key.
    pub key: &'static str,
    /// The value or rule as a text.
    pub text: &'static str,
    /// What it was made to fit: "at most", "busy_load".
    pub fitted: Option<(&'static str, &'static str)>,
    /// What the default rests on.
    pub origin: DefaultOrigin,
    /// The number, before it was made to fit; none for a flag.
    pub likely: Option<f64>,
}

/// A table as far as it is given.
#[derive(Debug, Clone)]
pub struct Draft<T: 'static> {
    /// The table: what is given, and the fixed defaults.
    pub table: T,
    given: Vec<(&'static str, Given)>,
    /// Its uncertain values.
    pub inputs: Vec<Input>,
    /// The steps to run: all of them until [`Draft::prepare`] leaves out those that never apply.
    steps: Vec<&'static Step<T>>,
    /// Uncertain keys, and the least that each may be drawn so that values that are certain stay as they are.
    lower_bounds: Vec<(&'static str, f64)>,
}

/// An uncertain value of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// The key that holds it.
    pub key: &'static str,
    /// What a drawn number is.
    pub drawn_as: DrawnAs,
    /// Its path and its three values.
    pub uncertain: Uncertain,
}

/// What a drawn number of an input is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DrawnAs {
    /// The value of the key.
    Number,
    /// The same, to the nearest whole number.
    Count,
    /// The entry with that index in the list that the key holds.
    Entry(usize),
    /// The default of the key with all other values likely: in each draw the default is scaled by the drawn over the
    /// likely number.
    Rule,
}

/// How a key is given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Given {
    /// As a value that is valid so far.
    Valid,
    /// As a valid share of another key.
    Share,
    /// Its value is invalid, or it is missing and required; relations with it are not checked.
    Invalid,
}

impl<T: SectionTable> std::default::Default for Draft<T> {
    /// A table with nothing but the fixed defaults.
    fn default() -> Draft<T> {
        let mut table = T::default();
        for key in T::SECTION.keys() {
            if let Some(value) = fixed_default(key) {
                table.put(key.name, &value);
            }
        }
        Draft {
            table,
            given: Vec::new(),
            inputs: Vec::new(),
            steps: T::STEPS.iter().collect(),
            lower_bounds: Vec::new(),
        }
    }
}

impl<T: SectionTable> Draft<T> {
    /// Gives a key its value, or a placeholder for an invalid one.
    pub fn give(&mut self, key: &'static str, value: &Value<'_>, given: Given) {
        self.table.put(key, value);
        self.given.push((key, given));
    }

    /// Leaves out the steps that never apply and finds how low values may be drawn, once before many draws.
    pub fn prepare(&mut self) {
        self.lower_bounds.clear();
        // Twice, since what a key needs may raise the key above it, whose relation comes first.
        for step in T::STEPS.iter().chain(T::STEPS) {
            let (whole, least) = match *step {
                Step::AtMost(low, high, _) => (high, self.certain(low).max(self.lower_bound(low))),
                Step::Parts(parts, whole) => {
                    let shares = parts
                        .iter()
                        .filter(|part| self.state(part) == Some(Given::Share));
                    let shares: f64 = shares.map(|part| self.table.number(part)).sum();
                    let bytes: f64 = parts.iter().map(|part| self.certain(part)).sum();
                    (whole, bytes / (1.0 - shares).max(SLACK))
                }
                _ => continue,
            };
            if least > self.lower_bound(whole) && self.inputs.iter().any(|one| one.key == whole) {
                self.lower_bounds.retain(|(key, _)| *key != whole);
                self.lower_bounds.push((whole, least));
            }
        }
        let mut steps = std::mem::take(&mut self.steps);
        steps.retain(|step| self.applies(step));
        self.steps = steps;
    }

    /// The number of a key that is given as one value, 0 where it is not.
    fn certain(&self, key: &str) -> f64 {
        let is_certain = self.state(key) == Some(Given::Valid)
            && !self.inputs.iter().any(|input| input.key == key);
        if is_certain {
            self.table.number(key)
        } else {
            0.0
        }
    }

    /// The least that a key may be drawn.
    fn lower_bound(&self, key: &str) -> f64 {
        let mut bounds = self.lower_bounds.iter();
        let found = bounds.find(|(name, _)| *name == key);
        found.map_or(0.0, |(_, least)| *least)
    }

    fn state(&self, key: &str) -> Option<Given> {
        let mut given = self.given.iter();
        let found = given.find(|(name, _)| *name == key);
        found.map(|(_, state)| *state)
    }

    /// Whether the key is given, valid or not.
    pub fn is_given(&self, key: &str) -> bool {
        self.state(key).is_some()
    }

    /// Whether the key is given and valid so far.
    pub fn is_given_valid(&self, key: &str) -> bool {
        self.state(key).is_some_and(|given| given != Given::Invalid)
    }

    /// Whether the value of the key is valid so far, given or not.
    pub fn is_valid(&self, key: &str) -> bool {
        let state = self.state(key).or_else(|| self.state(T::BASIS));
        state != Some(Given::Invalid)
    }

    /// Whether a step applies to what is given.
    fn applies(&self, step: &Step<T>) -> bool {
        match *step {
            Step::Fill(key, ..)
            | Step::Case(key, ..)
            | Step::Flag(key, _)
            | Step::MakeRoom(key, _) => !self.is_given(key),
            Step::AtMost(low, high, when) => match when {
                When::LowGiven => self.is_given(low),
                When::HighGiven => self.is_given(high),
                When::BothGiven => self.is_given(low) && self.is_given(high),
                When::LowWithout(other) => self.is_given(low) && !self.is_given(other),
            },
            Step::InBytes(part, _) => self.state(part) == Some(Given::Share),
            Step::Parts(..) | Step::Limit(..) => true,
        }
    }

    /// The complete table: defaults filled in, relations kept; `report` gets what is seen on the way.
    pub fn complete(&self, mut report: impl FnMut(Event)) -> T {
        let completion = Completion {
            draft: self,
            table: self.table.clone(),
            factors: Vec::new(),
            report: Some(&mut report),
        };
        completion.run(self.steps.iter().filter(|step| self.applies(step)))
    }

    /// The complete table with drawn numbers in place of uncertain ones, after [`Draft::prepare`].
    ///
    /// Defaults follow from what is drawn. What is drawn past another value is lowered to it, and what is drawn below a
    /// value that is certain is raised to it.
    pub fn drawn<'i>(&self, drawn: impl Iterator<Item = (&'i Input, f64)>) -> T {
        let mut table = self.table.clone();
        let mut factors = Vec::new();
        for (input, number) in drawn {
            let Uncertain {
                low, likely, high, ..
            } = input.uncertain;
            let number = number.clamp(low, high);
            let number = number.max(self.lower_bound(input.key).min(likely));
            let value = match input.drawn_as {
                DrawnAs::Number => Value::Number(number),
                DrawnAs::Count => Value::Count(number.round()),
                DrawnAs::Entry(entry) => Value::Size(entry, number),
                DrawnAs::Rule => {
                    factors.push((input.key, number / likely));
                    continue;
                }
            };
            table.put(input.key, &value);
        }
        let completion = Completion {
            draft: self,
            table,
            factors,
            report: None,
        };
        completion.run(self.steps.iter())
    }

    /// Rows whose rule no step of this table has filled in: the rule itself is the default.
    pub fn rules_without_step(
        &self,
    ) -> impl Iterator<Item = (&'static Key, &'static str, DefaultOrigin)> {
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

/// A table of which these keys are given; defaults follow from them.
///
/// # Example
/// ```
/// use berthage::lab::{Guest, table::Value, with_given};
/// let given = [("kind", Value::Text("container")), ("memory", Value::Number(2e9)), ("touched", Value::Number(1e9))];
/// let guest: Guest = with_given(&given);
/// assert_eq!((guest.common, guest.keeps), (0.2e9, 0.0));
/// ```
pub fn with_given<T: SectionTable>(given: &[(&'static str, Value<'_>)]) -> T {
    let mut draft = Draft::default();
    for (key, value) in given {
        draft.give(key, value, Given::Valid);
    }
    draft.complete(|_| ())
}

/// A table that the steps of its draft are being applied to.
struct Completion<'d, T: 'static> {
    draft: &'d Draft<T>,
    table: T,
    /// Keys whose default is drawn, and what it is scaled by.
    factors: Vec<(&'static str, f64)>,
    report: Option<&'d mut dyn FnMut(Event)>,
}

impl<'d, T: SectionTable> Completion<'d, T> {
    fn run(mut self, steps: impl Iterator<Item = &'d &'static Step<T>>) -> T {
        let draft = self.draft;
        let mut filled = "";
        for step in steps {
            match **step {
                Step::AtMost(low, high, _) => self.keep_order(low, high),
                Step::InBytes(part, whole) => {
                    let bytes = self.table.number(part) * self.table.number(whole);
                    self.put(part, bytes);
                }
                Step::Parts(parts, whole) => self.keep_parts(parts, whole),
                Step::Limit(key, of, most) => {
                    let (value, most) = (self.table.number(key), most(&self.table));
                    let is_checked =
                        draft.is_given_valid(key) && of.iter().all(|of| draft.is_valid(of));
                    if is_checked && value > most * (1.0 + SLACK) {
                        self.say(Event::Limit);
                    }
                    self.put(key, value.min(most));
                }
                Step::MakeRoom(key, value) => {
                    let value = value(&self.table);
                    self.put(key, value);
                }
                Step::Fill(key, ..) | Step::Case(key, ..) | Step::Flag(key, _) => {
                    if key != filled && self.fill(step) {
                        filled = key;
                    }
                }
            }
        }
        self.table
    }

    fn put(&mut self, key: &str, number: f64) {
        self.table.put(key, &Value::Number(number));
    }

    fn say(&mut self, event: Event) {
        if let Some(report) = &mut self.report {
            report(event);
        }
    }

    /// A default as it is drawn.
    fn scaled(&self, key: &str, value: f64) -> f64 {
        let mut factors = self.factors.iter();
        let own = factors.find(|(name, _)| *name == key);
        own.map_or(value, |(_, factor)| {
            (value * factor).max(self.draft.lower_bound(key))
        })
    }

    /// Fills in the default of a step; false where its condition does not hold.
    fn fill(&mut self, step: &Step<T>) -> bool {
        let (key, default, fitted, likely) = match *step {
            Step::Fill(key, room, value) => {
                let likely = self.scaled(key, value(&self.table));
                let (value, fitted) = self.fitted(room, likely);
                self.put(key, value);
                (key, None, fitted, Some(likely))
            }
            Step::Case(key, when, value, default) if when(&self.table) => {
                let likely = value(&self.table);
                let value = match default {
                    (_, DefaultOrigin::Derived) => likely,
                    _ => self.scaled(key, likely),
                };
                self.put(key, value);
                (key, Some(default), None, Some(likely))
            }
            Step::Flag(key, value) => {
                let flag = value(&self.table);
                self.table.put(key, &Value::Flag(flag));
                let text = if flag { "true" } else { "false" };
                (key, Some((text, DefaultOrigin::Derived)), None, None)
            }
            _ => return false,
        };
        if self.report.is_some() {
            let of_row = || T::SECTION.key(key)?.default.value();
            if let Some((text, origin)) = default.or_else(of_row) {
                self.say(Event::Filled(Filled {
                    key,
                    text,
                    fitted,
                    origin,
                    likely,
                }));
            }
        }
        true
    }

    /// A default made to fit beside a given partner, and what it was made to fit.
    fn fitted(&self, room: Room, value: f64) -> (f64, Option<(&'static str, &'static str)>) {
        let given = |key| self.draft.is_given(key).then(|| self.table.number(key));
        let (fits, how, partner) = match room {
            Room::Below(partner) => {
                let limit = given(partner).unwrap_or(value);
                (value.min(limit), "at most", partner)
            }
            Room::Above(partner) => (value.max(self.table.number(partner)), "at least", partner),
            Room::Beside(partner, whole) => {
                let left = self.table.number(whole) - given(partner).unwrap_or(0.0);
                (value.min(left.max(0.0)), "what is left beside", partner)
            }
            Room::Any => (value, "", ""),
        };
        (fits, (fits != value).then_some((how, partner)))
    }

    /// Lowers a key to the one that it is at most.
    fn keep_order(&mut self, low: &'static str, high: &'static str) {
        let (value, most) = (self.table.number(low), self.table.number(high));
        // Nothing is checked against an invalid value.
        if self.draft.state(high) == Some(Given::Invalid) || value <= most {
            return;
        }
        let is_checked = [low, high].iter().all(|key| self.draft.is_given_valid(key));
        if is_checked && value > most * (1.0 + SLACK) {
            self.say(Event::Order(low, high));
        }
        self.put(low, most);
    }

    /// Lowers two keys to the whole that they are parts of.
    fn keep_parts(&mut self, parts: [&'static str; 2], whole: &'static str) {
        let draft = self.draft;
        let [first, second] = parts.map(|part| self.table.number(part));
        let most = self.table.number(whole);
        let given = |part, value: f64| if draft.is_given(part) { value } else { 0.0 };
        let sum = given(parts[0], first) + given(parts[1], second);
        let is_invalid = |part: &&str| draft.state(part) == Some(Given::Invalid);
        if draft.is_valid(whole) && !parts.iter().any(is_invalid) && sum > most * (1.0 + SLACK) {
            self.say(Event::Parts);
        }
        let first = first.min(most);
        self.put(parts[0], first);
        self.put(parts[1], second.min(most - first).max(0.0));
    }
}

/// The fixed default of a key.
pub fn fixed_default(key: &Key) -> Option<Value<'static>> {
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
