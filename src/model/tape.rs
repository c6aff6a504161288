//! Numbers that remember how they came about: a law over them is its own worked formula.

use std::cell::RefCell;
use std::ops::{Add, Div, Mul, Sub};

use super::DAY;
use super::number::{Measure, Number};
use crate::unit::format::exact;

/// Text of a number that has no bound.
const NO_BOUND: &str = "no bound";

/// The numbers of a computation, and the operations that made them.
#[derive(Debug, Default)]
pub struct Tape {
    entries: RefCell<Vec<Entry>>,
}

/// How one number came about.
#[derive(Debug, Clone)]
enum Entry {
    /// The value of a key of the inventory.
    Key(String, Measure),
    /// A number by its name, shown as one number; where it came from is known.
    Named(Option<usize>, Measure),
    /// An operation on these.
    Worked(Operation, Vec<(Place, f64)>),
}

/// An operation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Operation {
    Plus,
    Minus,
    Times,
    Over,
    Sum,
    Max,
    Min,
    Ceiling,
}

/// Where a number is.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Place {
    /// On no tape: a constant, as a part of this whole.
    Constant(f64, Measure),
    /// On no tape: 1 less a part of this whole.
    Rest(f64),
    /// An entry of the tape.
    Entry(usize),
}

/// A number on a tape, or a constant.
///
/// # Example
/// ```
/// use berthage::model::memory::usable;
/// use berthage::model::number::{Measure, Number};
/// use berthage::model::tape::Tape;
/// use berthage::model::GIB;
/// let tape = Tape::default();
/// let [visible, base, cache] = [("visible", 60.0), ("base", 2.0), ("cache", 4.0)]
///     .map(|(key, size)| tape.key(key, size * GIB, Measure::Bytes));
/// let keep_free = tape.key("keep_free", 0.1, Measure::Share);
/// let usable = usable(visible, base, cache, keep_free);
/// assert_eq!(usable.formula(), "60 GiB − 2 GiB − 4 GiB − 10 %·60 GiB");
/// assert_eq!(usable.value(), 48.0 * GIB);
/// assert_eq!(usable.keys(), ["visible", "base", "cache", "keep_free"]);
/// // The law names its result, so a formula that uses it shows one number.
/// assert_eq!((usable / Term::of(2.0)).formula(), "48 GiB/2");
/// # use berthage::model::tape::Term;
/// ```
#[derive(Debug, Clone, Copy)]
pub struct Term<'t> {
    value: f64,
    tape: Option<&'t Tape>,
    place: Place,
}

/// Precedence of a formula: whether it needs brackets beside a sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Level {
    Sum,
    Product,
    Atom,
}

impl Tape {
    /// The value of a key of the inventory.
    pub fn key(&self, path: impl Into<String>, value: f64, measure: Measure) -> Term<'_> {
        self.add(Entry::Key(path.into(), measure), value)
    }

    /// A number that comes from elsewhere: a search, or a chance.
    pub fn number(&self, value: f64, measure: Measure) -> Term<'_> {
        self.add(Entry::Named(None, measure), value)
    }

    fn add(&self, entry: Entry, value: f64) -> Term<'_> {
        let mut entries = self.entries.borrow_mut();
        entries.push(entry);
        Term {
            value,
            tape: Some(self),
            place: Place::Entry(entries.len() - 1),
        }
    }

    fn text(&self, place: Place, value: f64) -> (String, Level) {
        let Place::Entry(index) = place else {
            return constant(place, value);
        };
        match &self.entries.borrow()[index] {
            Entry::Key(_, measure) | Entry::Named(_, measure) => atom(measure.text(value)),
            Entry::Worked(operation, parts) => {
                // What adds nothing to a sum says nothing.
                let shown = parts
                    .iter()
                    .filter(|(_, value)| *operation != Operation::Sum || *value != 0.0);
                operation.text(shown.map(|(place, value)| self.text(*place, *value)))
            }
        }
    }

    fn keys(&self, place: Place, found: &mut Vec<String>) {
        let Place::Entry(index) = place else { return };
        match &self.entries.borrow()[index] {
            Entry::Key(path, _) if found.contains(path) => {}
            Entry::Key(path, _) => found.push(path.clone()),
            Entry::Named(..) => {}
            Entry::Worked(_, parts) => {
                parts.iter().for_each(|(place, _)| self.keys(*place, found));
            }
        }
    }
}

impl Term<'_> {
    /// Its value.
    pub fn value(self) -> f64 {
        self.value
    }

    /// The formula with its numbers, written so that working it out gives the value.
    pub fn formula(self) -> String {
        match self.tape {
            Some(tape) => tape.text(self.definition(), self.value).0,
            None => constant(self.place, self.value).0,
        }
    }

    /// The keys of the inventory in the formula, each once, in the order of the formula.
    pub fn keys(self) -> Vec<String> {
        let mut found = Vec::new();
        if let Some(tape) = self.tape {
            tape.keys(self.definition(), &mut found);
        }
        found
    }

    /// What a number with a name came from.
    fn definition(self) -> Place {
        let (Some(tape), Place::Entry(index)) = (self.tape, self.place) else {
            return self.place;
        };
        match tape.entries.borrow()[index] {
            Entry::Named(Some(from), _) => Place::Entry(from),
            _ => self.place,
        }
    }

    fn is(self, value: f64) -> bool {
        self.tape.is_none() && self.value == value
    }
}

impl<'t> Term<'t> {
    fn worked(operation: Operation, parts: &[Term<'t>], value: f64) -> Term<'t> {
        match parts.iter().find_map(|part| part.tape) {
            Some(tape) => {
                let parts = parts.iter().map(|part| (part.place, part.value)).collect();
                tape.add(Entry::Worked(operation, parts), value)
            }
            None => Term {
                value,
                tape: None,
                place: operation.folded(parts),
            },
        }
    }
}

fn constant(place: Place, value: f64) -> (String, Level) {
    match place {
        Place::Constant(whole, _) if whole != 1.0 && value != 0.0 => {
            let text = format!("{}/{whole}", value * whole);
            (text, Level::Product)
        }
        Place::Constant(_, measure) => atom(measure.text(value)),
        Place::Rest(whole) => {
            let text = format!("1 − {}/{whole}", (1.0 - value) * whole);
            (text, Level::Sum)
        }
        Place::Entry(_) => atom(exact::number(value)),
    }
}

fn atom(text: String) -> (String, Level) {
    let level = if text.starts_with('-') {
        Level::Sum
    } else {
        Level::Atom
    };
    (text, level)
}

impl Operation {
    /// What the result of constants is a part of.
    fn folded(self, parts: &[Term]) -> Place {
        if let (Operation::Minus, [one, part]) = (self, parts)
            && let Place::Constant(whole, _) = part.place
            && one.is(1.0)
            && whole != 1.0
        {
            return Place::Rest(whole);
        }
        let is_sum = matches!(self, Operation::Plus | Operation::Minus);
        let is_sign = is_sum || matches!(self, Operation::Times | Operation::Over);
        match parts.iter().map(|part| part.place).collect::<Vec<_>>()[..] {
            [Place::Constant(one, measure), Place::Constant(other, _)] if is_sign => {
                let is_part = is_sum && (one == other || one.min(other) == 1.0);
                Place::Constant(if is_part { one.max(other) } else { 1.0 }, measure)
            }
            _ => Place::Constant(1.0, Measure::Plain),
        }
    }

    /// The texts of the parts put together.
    fn text(self, parts: impl Iterator<Item = (String, Level)>) -> (String, Level) {
        let (before, after) = match self {
            Operation::Max => ("max(", ")"),
            Operation::Min => ("min(", ")"),
            Operation::Ceiling => ("⌈", "⌉"),
            _ => {
                let text = parts.reduce(|left, right| self.between(left, right));
                return text.unwrap_or_else(|| atom(exact::number(0.0)));
            }
        };
        let parts: Vec<String> = parts.map(|(text, _)| text).collect();
        atom(format!("{before}{}{after}", parts.join(", ")))
    }

    /// Two texts with the sign between them, in brackets where they need them.
    fn between(self, left: (String, Level), right: (String, Level)) -> (String, Level) {
        let right_of_sum = if right.0.starts_with('-') {
            Level::Product
        } else {
            Level::Sum
        };
        let (sign, level, left_needs, right_needs) = match self {
            Operation::Minus => (" − ", Level::Sum, Level::Sum, Level::Product),
            Operation::Times => ("·", Level::Product, Level::Product, Level::Product),
            Operation::Over => ("/", Level::Product, Level::Product, Level::Atom),
            _ => (" + ", Level::Sum, Level::Sum, right_of_sum),
        };
        let inside = |(text, own): (String, Level), needs| {
            if own < needs {
                format!("({text})")
            } else {
                text
            }
        };
        let text = format!(
            "{}{sign}{}",
            inside(left, left_needs),
            inside(right, right_needs)
        );
        (text, level)
    }
}

impl Measure {
    /// A value as a worked formula writes it: six digits.
    pub fn text(self, value: f64) -> String {
        if !value.is_finite() {
            return NO_BOUND.to_owned();
        }
        match self {
            Measure::Plain => exact::number(value),
            Measure::Share => exact::share(value),
            Measure::Bytes => exact::bytes(value),
            Measure::DiskBytes => exact::decimal_bytes(value),
            Measure::BytesPerDay => exact::bytes_per_day(value * DAY),
            Measure::ByteRate => exact::byte_rate(value),
            Measure::BitRate => exact::bit_rate(value),
            Measure::Seconds => exact::seconds(value),
            Measure::Watts => exact::power(value),
        }
    }
}

impl Number for Term<'_> {
    fn of(value: f64) -> Self {
        Self::measured(value, Measure::Plain)
    }

    fn ratio(part: f64, whole: f64) -> Self {
        Term {
            value: part / whole,
            tape: None,
            place: Place::Constant(whole, Measure::Plain),
        }
    }

    fn measured(value: f64, measure: Measure) -> Self {
        Term {
            value,
            tape: None,
            place: Place::Constant(1.0, measure),
        }
    }

    fn known(self) -> Option<f64> {
        Some(self.value)
    }

    fn max(self, other: Self) -> Self {
        Term::worked(Operation::Max, &[self, other], self.value.max(other.value))
    }

    fn min(self, other: Self) -> Self {
        Term::worked(Operation::Min, &[self, other], self.value.min(other.value))
    }

    fn ceil(self) -> Self {
        Term::worked(Operation::Ceiling, &[self], Number::ceil(self.value))
    }

    fn sum(parts: impl IntoIterator<Item = Self>) -> Self {
        let parts: Vec<Self> = parts.into_iter().filter(|part| !part.is(0.0)).collect();
        let value = Number::sum(parts.iter().map(|part| part.value));
        match parts.as_slice() {
            [one] => *one,
            all => Term::worked(Operation::Sum, all, value),
        }
    }

    fn named(self, measure: Measure) -> Self {
        match (self.tape, self.place) {
            (Some(tape), Place::Entry(from)) => {
                tape.add(Entry::Named(Some(from), measure), self.value)
            }
            _ => Term::measured(self.value, measure),
        }
    }
}

impl<'t> Add for Term<'t> {
    type Output = Term<'t>;
    fn add(self, other: Term<'t>) -> Term<'t> {
        if self.is(0.0) {
            other
        } else if other.is(0.0) {
            self
        } else {
            Term::worked(Operation::Plus, &[self, other], self.value + other.value)
        }
    }
}

impl<'t> Sub for Term<'t> {
    type Output = Term<'t>;
    fn sub(self, other: Term<'t>) -> Term<'t> {
        if other.is(0.0) {
            self
        } else {
            Term::worked(Operation::Minus, &[self, other], self.value - other.value)
        }
    }
}

impl<'t> Mul for Term<'t> {
    type Output = Term<'t>;
    fn mul(self, other: Term<'t>) -> Term<'t> {
        if self.is(1.0) || other.is(0.0) {
            other
        } else if other.is(1.0) || self.is(0.0) {
            self
        } else {
            Term::worked(Operation::Times, &[self, other], self.value * other.value)
        }
    }
}

impl<'t> Div for Term<'t> {
    type Output = Term<'t>;
    fn div(self, other: Term<'t>) -> Term<'t> {
        if other.is(1.0) || self.is(0.0) {
            self
        } else {
            Term::worked(Operation::Over, &[self, other], self.value / other.value)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Tape, Term};
    use crate::model::number::{Measure, Number};

    #[test]
    fn brackets_stand_where_they_are_needed() {
        let tape = Tape::default();
        let n = |value: f64| tape.number(value, Measure::Plain);
        let bytes = tape.number(2048.0, Measure::Bytes);
        let half = tape.number(0.5, Measure::Share);
        for (term, text) in [
            (n(1.0) + n(2.0) * n(3.0), "1 + 2·3"),
            ((n(1.0) + n(2.0)) * n(3.0), "(1 + 2)·3"),
            (n(1.0) - (n(2.0) - n(3.0)), "1 − (2 − 3)"),
            (n(6.0) / (n(2.0) * n(3.0)), "6/(2·3)"),
            (n(6.0) / n(2.0) * n(3.0), "6/2·3"),
            (n(6.0) + n(-2.0), "6 + (-2)"),
            (n(6.0) - n(-2.0), "6 − (-2)"),
            (n(6.0) * n(-2.0), "6·(-2)"),
            ((n(5.0) / n(4.0)).ceil() * bytes, "⌈5/4⌉·2 KiB"),
            (half * Term::sum([n(0.0), n(0.0)]), "50 %·0"),
        ] {
            assert_eq!(term.formula(), text);
        }
    }

    #[test]
    fn constants_are_folded_and_those_that_change_nothing_left_out() {
        let tape = Tape::default();
        let x = tape.key("x", 3.0, Measure::Plain);
        let n = Term::of;
        let tables = Term::ratio(16.0, 4096.0);
        for (term, text) in [
            (n(1.0) * x + n(0.0), "3"),
            (n(0.0) * x + n(2.0), "2"),
            ((n(2.0) + n(3.0)) * x, "5·3"),
            (tables * x, "16/4096·3"),
            (x * (n(1.0) - tables), "3·(1 − 16/4096)"),
            (
                x * (n(1.0) + tables + Term::ratio(64.0, 4096.0)),
                "3·4176/4096",
            ),
            (Term::sum([x, n(0.0), x]), "3 + 3"),
        ] {
            assert_eq!(term.formula(), text);
        }
        let named = (x + n(1.0)).named(Measure::Bytes);
        assert_eq!((named * x).formula(), "4 B·3");
        assert_eq!(
            (named.formula(), named.keys()),
            ("3 + 1".to_owned(), vec!["x".to_owned()])
        );
    }
}
