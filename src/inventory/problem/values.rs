//! What can be wrong with a single value: the one place of these errors' texts.

use crate::diagnose::source::Sources;
use crate::diagnose::{Diagnostic, ErrorKind, suggest};
use crate::inventory::tree::{Entry, Node, Value};
use crate::inventory::written::{shorten, source_text};
use crate::lab::keys::range::Range;
use crate::lab::keys::{Key, Kind, LONGEST_NAME};
use crate::unit::parse::{Dimension, ParseError, ParseFault, parse};
use crate::unit::printable::is_printable;

/// Largest number of modules or groups in one list.
pub const LONGEST_LIST: usize = 1024;

/// Keys whose bare number may be one of MiB.
const MEMORY: [&str; 9] = [
    "memory",
    "touched",
    "touched_busy",
    "common",
    "common_busy",
    "repeats",
    "base",
    "file_cache",
    "swap",
];
/// A bare number from here on is taken for one of MiB (assumption).
const FEWEST_MEBIBYTES: f64 = 512.0;
/// 2^20 bytes.
const MIB: f64 = 1_048_576.0;

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

/// What is wrong with an uncertain value.
#[derive(Debug)]
pub enum RangeFault<'t> {
    /// The key is a choice of the owner, not a fact.
    Chosen,
    /// Not low ≤ likely ≤ high, or not of one kind.
    NotInOrder,
    /// Another key beside the three.
    Stray(&'t str),
    /// Not all three.
    NotThree,
}

/// A value under its key, and the texts.
#[derive(Debug, Clone, Copy)]
pub struct KeyValue<'t> {
    /// The key.
    pub key: &'static Key,
    /// What is written there.
    pub node: &'t Node,
    /// The texts.
    pub sources: &'t Sources,
}

impl KeyValue<'_> {
    /// The error at the value; what its key means is shown there.
    fn error(self, kind: ErrorKind, message: String, hint: String) -> Diagnostic {
        Diagnostic::new(kind, message)
            .at(self.node.place, self.key.meaning)
            .hint(hint)
    }

    /// A type that the key does not take.
    pub fn wrong_type(self) -> Diagnostic {
        let hint = wrong_type_hint(self.key, self.node);
        self.error(ErrorKind::WrongType, self.not_expected(), hint)
    }

    /// The pools of a host are no list.
    pub fn pools_not_a_list(self) -> Diagnostic {
        let hint = "open each pool with [[host.disk]], in two brackets".to_owned();
        self.error(ErrorKind::WrongType, self.not_expected(), hint)
    }

    /// A count that is not a whole number.
    pub fn not_whole(self, value: f64) -> Diagnostic {
        let (floor, ceil) = (value.floor().max(1.0), value.ceil().max(1.0));
        let hint = format!("write {} = {floor} or {ceil}", self.key.name);
        self.error(ErrorKind::NotWhole, self.not_within(self.key.range), hint)
    }

    /// A number that is not in the range, in base units of what it measures.
    pub fn out_of_range(self, range: Range, value: f64, dimension: Dimension) -> Diagnostic {
        let hint = likely_meant(self.key, self.node, range, value, dimension);
        self.error(ErrorKind::OutOfRange, self.not_within(range), hint)
    }

    /// Low, likely and high are not all there, not in order, or not taken at all.
    pub fn invalid_range(self, fault: &RangeFault<'_>) -> Diagnostic {
        let name = self.key.name;
        let message = match fault {
            RangeFault::Chosen => {
                format!("`{name}` cannot be uncertain, only what hosts, images and guests are")
            }
            RangeFault::NotInOrder => {
                format!("`{name}` must have low ≤ likely ≤ high, all three of one kind")
            }
            RangeFault::Stray(other) => {
                format!("`{other}` does not belong beside `low`, `likely` and `high`")
            }
            RangeFault::NotThree => {
                format!("`{name}` is a table without `low`, `likely` and `high`")
            }
        };
        let hint =
            format!("write {name} = {{ low = …, likely = …, high = … }} with low ≤ likely ≤ high");
        self.error(ErrorKind::InvalidUncertainValue, message, hint)
    }

    /// A word that is none of the key's choices.
    pub fn unknown_choice(self, given: &str) -> Diagnostic {
        let (name, expected, short) = (self.key.name, self.key.expected(), shorten(given));
        let message = format!("`{name}` must be {expected}, but is \"{short}\"");
        let hint = likely_choice(self.key, given);
        self.error(ErrorKind::UnknownChoice, message, hint)
    }

    /// A text that is no name, or no title where the key takes one.
    pub fn invalid_name(self, text: &str) -> Diagnostic {
        let fault = if !text.chars().all(is_printable) {
            "holds control characters".to_owned()
        } else if text.chars().count() > LONGEST_NAME {
            format!("is longer than {LONGEST_NAME} characters")
        } else {
            "is empty".to_owned()
        };
        let message = format!("`{}` {fault}", self.key.name);
        let hint = format!("a name has 1 to {LONGEST_NAME} characters and no control characters");
        self.error(ErrorKind::InvalidName, message, hint)
    }

    /// A list of too few or too many entries.
    pub fn list_length(self, length: usize) -> Diagnostic {
        let name = self.key.name;
        let message = format!("`{name}` must hold 1 to {LONGEST_LIST} entries, but holds {length}");
        let hint = format!("write {}", self.key.example());
        self.error(ErrorKind::OutOfRange, message, hint)
    }

    /// A text that is no quantity of the key's dimension.
    pub fn no_quantity(self, error: &ParseError) -> Diagnostic {
        let (kind, message, hint) = quantity_fault(self.key, error);
        self.error(kind, message, hint)
    }

    fn not_expected(self) -> String {
        let given = match self.node.value {
            Value::Table(_) | Value::List(_) | Value::Date => self.node.noun().to_owned(),
            Value::Text(_) => format!("the text \"{}\"", self.given()),
            _ => self.given(),
        };
        let (name, expected) = (self.key.name, self.key.expected());
        format!("`{name}` must be {expected}, but is {given}")
    }

    fn not_within(self, range: Range) -> String {
        let (subject, given) = (subject(self.key), self.given());
        format!("{subject} must be {}, but is {given}", range.words)
    }

    /// What was written, short enough for a sentence, without quotes.
    fn given(self) -> String {
        shorten(&source_text(self.node, self.sources))
    }
}

fn quantity_fault(key: &Key, error: &ParseError) -> (ErrorKind, String, String) {
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
        let hint = in_mebibytes(key, error).or_else(|| in_terabytes(key, error));
        let hint = hint.unwrap_or_else(|| error.hint());
        (key.expected(), hint)
    };
    let message = format!("{} must be {allowed}, but {error}", subject(key));
    (kind, message, hint)
}

/// A bare number that is likelier MiB, as machines are configured elsewhere: no guest of today has 512 GiB or more.
fn in_mebibytes(key: &Key, error: &ParseError) -> Option<String> {
    let number = error.text.replace('_', "").parse::<f64>().ok()?;
    let is_meant = error.fault == ParseFault::MissingUnit
        && MEMORY.contains(&key.name)
        && number >= FEWEST_MEBIBYTES
        && key.range.holds(number * MIB);
    let gibibytes = number / 1024.0;
    is_meant.then(|| format!("write \"{number} MiB\", which is \"{gibibytes} GiB\""))
}

/// Rated writes without a unit: makers state them in terabytes (common practice, no source).
fn in_terabytes(key: &Key, error: &ParseError) -> Option<String> {
    let is_meant = error.fault == ParseFault::MissingUnit && key.name == "endurance";
    is_meant.then(|| {
        format!(
            "write \"{} TB\", if it is in terabytes as makers rate it",
            error.text
        )
    })
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
    let is_within =
        |one: &&str| parse(one.trim_matches('"'), dimension).is_ok_and(|value| range.holds(value));
    let example = || match key.kind {
        Kind::Quantity(_) => {
            let within = dimension.examples().into_iter().find(is_within);
            within.map_or_else(String::new, |one| {
                format!("for example {} = {one}", key.name)
            })
        }
        _ => format!("for example {}", key.one_example()),
    };
    if dimension != Dimension::Share || value <= 0.0 {
        return example();
    }
    let bare = match &node.value {
        Value::Text(text) => text.trim().parse::<f64>().is_ok(),
        _ => true,
    };
    // A bare number was meant as percent; in a text one zero too many is a likely mistake, other digits are not.
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

/// A price beside what is no size or speed that devices come in, or `error`: no quantity at all.
pub fn invalid_price(
    key: &Key,
    entry: &Entry,
    range: Range,
    error: Option<ParseError>,
) -> Diagnostic {
    let (dimension, _, what, _) = key.priced_quantity();
    let (kind, allowed, given, hint) = match error {
        None => (
            ErrorKind::OutOfRange,
            range.words,
            format!("is {}", shorten(&entry.key)),
            format!("for example {}", key.example()),
        ),
        Some(error) => {
            let (kind, allowed) = match error.fault {
                ParseFault::TooLarge => (ErrorKind::OutOfRange, range.words),
                _ => (ErrorKind::WrongUnit, dimension.noun()),
            };
            (kind, allowed, error.to_string(), error.hint())
        }
    };
    Diagnostic::new(kind, format!("a {what} must be {allowed}, but {given}"))
        .at(entry.key_place, what)
        .hint(hint)
}
