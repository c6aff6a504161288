//! Single values that are wrong.

use crate::diagnose::source::Sources;
use crate::diagnose::{Diagnostic, ErrorKind, suggest};
use crate::inventory::tree::{Entry, Node, Value};
use crate::inventory::written::{as_given, shorten};
use crate::lab::keys::range::Range;
use crate::lab::keys::{Key, Kind};
use crate::unit::parse::{Dimension, ParseError, ParseFault};

use super::text::Problem;

/// Largest number of modules or groups in one list.
pub(in crate::inventory) const LONGEST_LIST: usize = 1024;

/// What people call a choice, and the word for it here.
const HABITS: [(&str, &str); 7] = [
    ("linked", "overlay"),
    ("thin", "overlay"),
    ("full", "copy"),
    ("machine", "vm"),
    ("virtual machine", "vm"),
    ("on", "adaptive"),
    ("none", "off"),
];

/// A value that its key does not take.
#[derive(Debug)]
pub(in crate::inventory) struct ValueProblem<'t> {
    /// The key.
    pub key: &'static Key,
    /// The value.
    pub node: &'t Node,
    /// What is wrong with it.
    pub fault: Fault<'t>,
}

/// What is wrong with a value.
#[derive(Debug)]
pub(in crate::inventory) enum Fault<'t> {
    /// A type the key does not take.
    WrongType,
    /// The pools of a host are no list.
    PoolsNotAList,
    /// A count that is no whole number.
    NotWhole(f64),
    /// A number the key does not allow.
    OutOfRange(Range, f64, Dimension),
    /// A text that is no quantity of the key's dimension.
    NoQuantity(ParseError),
    /// What the owner decides cannot be uncertain.
    Decided,
    /// An uncertain value without one of its three numbers.
    Incomplete,
    /// Something else stands beside the three.
    Stray(&'t str),
    /// The three are not in order or not of one kind.
    Unordered,
    /// A word that is none of the key's choices.
    UnknownChoice(&'t str),
    /// A name with letters that cannot be printed, too long, or empty.
    InvalidName(&'static str),
    /// A list of too few or too many entries.
    ListLength(usize),
    /// A price beside a size or speed out of range.
    PricedOutOfRange(&'t Entry, Range),
    /// A price beside a text that is no size or speed.
    PricedByNothing(&'t Entry, Range, ParseError),
}

impl Problem for ValueProblem<'_> {
    fn diagnostic(&self, sources: &Sources) -> Diagnostic {
        let ValueProblem { key, node, fault } = self;
        match fault {
            Fault::NoQuantity(error) => return self.no_quantity(error),
            Fault::PricedOutOfRange(entry, range) => {
                return priced_out_of_range(key, entry, *range);
            }
            Fault::PricedByNothing(entry, range, error) => {
                return priced_by_nothing(key, entry, *range, error);
            }
            _ => {}
        }
        Diagnostic::new(self.kind(), self.message(sources))
            .at(node.place, key.meaning)
            .hint(self.hint())
    }
}

impl ValueProblem<'_> {
    fn kind(&self) -> ErrorKind {
        match self.fault {
            Fault::NotWhole(_) => ErrorKind::NotWhole,
            Fault::OutOfRange(..) | Fault::ListLength(_) => ErrorKind::OutOfRange,
            Fault::Decided | Fault::Incomplete | Fault::Stray(_) | Fault::Unordered => {
                ErrorKind::InvalidUncertainValue
            }
            Fault::UnknownChoice(_) => ErrorKind::UnknownChoice,
            Fault::InvalidName(_) => ErrorKind::InvalidName,
            _ => ErrorKind::WrongType,
        }
    }

    fn message(&self, sources: &Sources) -> String {
        let (key, node) = (self.key, self.node);
        let name = key.name;
        match &self.fault {
            Fault::NotWhole(_) => {
                let given = as_given(node, sources);
                format!("`{name}` must be {}, but is {given}", key.range.words)
            }
            Fault::OutOfRange(range, ..) => {
                let given = as_given(node, sources);
                format!("{} must be {}, but is {given}", subject(key), range.words)
            }
            Fault::Decided => {
                format!("`{name}` cannot be uncertain, only what hosts, images and guests are")
            }
            Fault::Incomplete => {
                format!("`{name}` is a table without `low`, `likely` and `high`")
            }
            Fault::Stray(other) => {
                format!("`{other}` does not belong beside `low`, `likely` and `high`")
            }
            Fault::Unordered => {
                format!("`{name}` must have low ≤ likely ≤ high, all three of one kind")
            }
            Fault::UnknownChoice(given) => {
                let given = shorten(given);
                format!("`{name}` must be {}, but is \"{given}\"", key.wanted())
            }
            Fault::InvalidName(fault) => format!("`{name}` {fault}"),
            Fault::ListLength(length) => {
                format!("`{name}` must hold 1 to {LONGEST_LIST} entries, but holds {length}")
            }
            _ => {
                let given = match node.value {
                    Value::Table(_) | Value::List(_) | Value::Date => node.noun().to_owned(),
                    Value::Text(_) => format!("the text \"{}\"", as_given(node, sources)),
                    _ => as_given(node, sources),
                };
                format!("`{name}` must be {}, but is {given}", key.wanted())
            }
        }
    }

    fn hint(&self) -> String {
        let (key, node) = (self.key, self.node);
        let name = key.name;
        match self.fault {
            Fault::PoolsNotAList => "open each pool with [[host.disk]], in two brackets".to_owned(),
            Fault::NotWhole(value) => {
                let (floor, ceil) = (value.floor().max(1.0), value.ceil().max(1.0));
                format!("write {name} = {floor} or {ceil}")
            }
            Fault::OutOfRange(range, value, dimension) => {
                likely_meant(key, node, range, value, dimension)
            }
            Fault::Decided | Fault::Incomplete | Fault::Stray(_) | Fault::Unordered => format!(
                "write {name} = {{ low = …, likely = …, high = … }} with low ≤ likely ≤ high"
            ),
            Fault::UnknownChoice(given) => likely_choice(key, given),
            Fault::InvalidName(_) => {
                "a name has 1 to 64 characters and no control characters".to_owned()
            }
            Fault::ListLength(_) => format!("write {}", key.example()),
            _ => wrong_type_hint(key, node),
        }
    }

    fn no_quantity(&self, error: &ParseError) -> Diagnostic {
        let ValueProblem { key, node, .. } = self;
        let kind = match error.fault {
            ParseFault::TooLarge => ErrorKind::OutOfRange,
            ParseFault::MissingUnit => ErrorKind::MissingUnit,
            ParseFault::NotFinite => ErrorKind::NotFinite,
            ParseFault::UnknownUnit(_) | ParseFault::OtherUnit(..) => ErrorKind::WrongUnit,
            ParseFault::Empty | ParseFault::NoNumber | ParseFault::Comma => ErrorKind::WrongType,
        };
        // A reading that is out of range as well is none to offer.
        let is_out_of_range = match error.fault {
            ParseFault::TooLarge => true,
            ParseFault::MissingUnit => !error.readings().any(|value| key.range.holds(value)),
            _ => false,
        };
        let (allowed, hint) = if is_out_of_range {
            let example = format!("for example {}", key.one_example());
            (key.range.words.to_owned(), example)
        } else if key.kind == Kind::Sizes {
            (Dimension::Bytes.noun().to_owned(), error.hint())
        } else {
            (key.wanted(), error.hint())
        };
        let message = format!("{} must be {allowed}, but {error}", subject(key));
        Diagnostic::new(kind, message)
            .at(node.place, key.meaning)
            .hint(hint)
    }
}

/// What a sentence about a number is about: the key, or an entry of the list it holds.
fn subject(key: &Key) -> String {
    if key.kind == Kind::Sizes {
        format!("an entry of `{}`", key.name)
    } else {
        format!("`{}`", key.name)
    }
}

fn wrong_type_hint(key: &Key, node: &Node) -> String {
    match (&node.value, key.kind) {
        (Value::Text(text), Kind::Count | Kind::Quantity(Dimension::Number))
            if text.trim().parse::<f64>().is_ok() =>
        {
            format!("write {} = {} without quotes", key.name, text.trim())
        }
        (Value::Text(text), Kind::Quantity(Dimension::Number)) if leading(text).is_some() => {
            let number = leading(text).unwrap_or_default();
            format!(
                "write {} = {number}, a number without quotes or unit",
                key.name
            )
        }
        (Value::Text(text), Kind::Flag) if matches!(text.as_str(), "true" | "false") => {
            format!("write {} = {text} without quotes", key.name)
        }
        _ => format!("write {}", key.example()),
    }
}

/// The number that a text begins with, "600" of "600 EUR".
fn leading(text: &str) -> Option<&str> {
    let number = text.split_whitespace().next()?;
    number
        .parse::<f64>()
        .is_ok_and(f64::is_finite)
        .then_some(number)
}

/// A value in range that was likely meant, or any that is in range.
fn likely_meant(key: &Key, node: &Node, range: Range, value: f64, dimension: Dimension) -> String {
    let example = || format!("for example {}", key.one_example());
    if dimension != Dimension::Share || value <= 0.0 {
        return example();
    }
    let bare = match &node.value {
        Value::Text(text) => text.trim().parse::<f64>().is_ok(),
        _ => true,
    };
    // A bare number was meant as percent; in a text one zero too many is a likely slip, other digits are not.
    let zero_too_many = value > 1.0 && (value * 10.0).round() / 10.0 == value;
    let meant = match (bare, zero_too_many) {
        (true, _) => vec![value / 100.0, value / 1000.0],
        (false, true) => vec![value / 10.0],
        (false, false) => Vec::new(),
    };
    match meant.into_iter().find(|share| range.holds(*share)) {
        Some(share) => {
            // Rounded, because 0.12 · 100 is 12.000000000000002.
            let percent = (share * 1e8).round() / 1e6;
            format!("write \"{percent} %\" for {percent} %")
        }
        None => example(),
    }
}

fn likely_choice(key: &Key, given: &str) -> String {
    let Kind::Word(words) = key.kind else {
        return String::new();
    };
    let habit = HABITS
        .iter()
        .find(|(habit, word)| given.eq_ignore_ascii_case(habit) && words.contains(word));
    let near = suggest::closest(given, words.iter().copied()).or(habit.map(|(_, word)| *word));
    match near {
        Some(near) => format!("did you mean \"{near}\"?"),
        None => format!("for example {}", key.example()),
    }
}

fn priced_out_of_range(key: &Key, entry: &Entry, range: Range) -> Diagnostic {
    let (_, _, what, _) = key.priced_by();
    let given = shorten(&entry.key);
    let message = format!("a {what} must be {}, but is {given}", range.words);
    Diagnostic::new(ErrorKind::OutOfRange, message)
        .at(entry.key_place, what)
        .hint(format!("for example {}", key.example()))
}

fn priced_by_nothing(key: &Key, entry: &Entry, range: Range, error: &ParseError) -> Diagnostic {
    let (dimension, _, what, _) = key.priced_by();
    let (kind, allowed) = match error.fault {
        ParseFault::TooLarge => (ErrorKind::OutOfRange, range.words),
        _ => (ErrorKind::WrongUnit, dimension.noun()),
    };
    let message = format!("a {what} must be {allowed}, but {error}");
    Diagnostic::new(kind, message)
        .at(entry.key_place, what)
        .hint(error.hint())
}
