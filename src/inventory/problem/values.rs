//! What can be wrong with a single value, as data, and the one place of the texts.

use crate::diagnose::source::Sources;
use crate::diagnose::{Diagnostic, ErrorKind, suggest};
use crate::inventory::tree::{Entry, Node, Value};
use crate::inventory::written::{as_given, shorten};
use crate::lab::keys::range::Range;
use crate::lab::keys::{Key, Kind, LONGEST_NAME};
use crate::unit::parse::{Dimension, ParseError, ParseFault};

/// Largest number of modules or groups in one list.
pub(in crate::inventory) const LONGEST_LIST: usize = 1024;

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

/// A value that its key does not take.
#[derive(Debug)]
pub(in crate::inventory) struct ValueProblem<'t> {
    /// The key.
    pub key: &'t Key,
    /// What is written there.
    pub node: &'t Node,
    /// What is wrong with it.
    pub fault: ValueFault<'t>,
}

/// What is wrong with a value.
#[derive(Debug)]
pub(in crate::inventory) enum ValueFault<'t> {
    /// A type that the key does not take.
    WrongType,
    /// The pools of a host are no list.
    PoolsNotAList,
    /// A count that is not a whole number.
    NotWhole(f64),
    /// A number that is not in the range, in base units of what it measures.
    OutOfRange(Range, f64, Dimension),
    /// Low, likely and high are not all there, not in order, or not taken at all.
    NoRange(RangeFault<'t>),
    /// A word that is none of the key's choices.
    UnknownChoice(&'t str),
    /// A text that is no name.
    InvalidName(NameFault),
    /// A list of too few or too many entries.
    ListLength(usize),
    /// A text that is no quantity of the key's dimension.
    NoQuantity(ParseError),
}

/// What is wrong with an uncertain value.
#[derive(Debug)]
pub(in crate::inventory) enum RangeFault<'t> {
    /// The key is a choice of the owner, not a fact.
    Chosen,
    /// Not low ≤ likely ≤ high, or not of one kind.
    NotInOrder,
    /// Another key beside the three.
    Stray(&'t str),
    /// Not all three.
    NotThree,
}

/// What is wrong with a name.
#[derive(Debug)]
pub(in crate::inventory) enum NameFault {
    /// It holds control characters.
    Control,
    /// It is too long.
    Long,
    /// It has no letters.
    Empty,
}

impl ValueProblem<'_> {
    /// The error at the value.
    pub fn at(&self, sources: &Sources) -> Diagnostic {
        let (key, node) = (self.key, self.node);
        let name = key.name;
        let (kind, message, hint) = match &self.fault {
            ValueFault::WrongType => (
                ErrorKind::WrongType,
                wrong_type(key, node, sources),
                wrong_type_hint(key, node),
            ),
            ValueFault::PoolsNotAList => (
                ErrorKind::WrongType,
                wrong_type(key, node, sources),
                "open each pool with [[host.disk]], in two brackets".to_owned(),
            ),
            ValueFault::NotWhole(value) => {
                let (floor, ceil) = (value.floor().max(1.0), value.ceil().max(1.0));
                (
                    ErrorKind::NotWhole,
                    not_within(key, key.range, node, sources),
                    format!("write {name} = {floor} or {ceil}"),
                )
            }
            ValueFault::OutOfRange(range, value, dimension) => (
                ErrorKind::OutOfRange,
                not_within(key, *range, node, sources),
                likely_meant(key, node, *range, *value, *dimension),
            ),
            ValueFault::NoRange(fault) => (
                ErrorKind::InvalidUncertainValue,
                fault.of(name),
                format!(
                    "write {name} = {{ low = …, likely = …, high = … }} with low ≤ likely ≤ high"
                ),
            ),
            ValueFault::UnknownChoice(given) => (
                ErrorKind::UnknownChoice,
                format!(
                    "`{name}` must be {}, but is \"{}\"",
                    key.wanted(),
                    shorten(given)
                ),
                likely_choice(key, given),
            ),
            ValueFault::InvalidName(fault) => (
                ErrorKind::InvalidName,
                format!("`{name}` {}", fault.words()),
                format!("a name has 1 to {LONGEST_NAME} characters and no control characters"),
            ),
            ValueFault::ListLength(length) => (
                ErrorKind::OutOfRange,
                format!("`{name}` must hold 1 to {LONGEST_LIST} entries, but holds {length}"),
                format!("write {}", key.example()),
            ),
            ValueFault::NoQuantity(error) => no_quantity(key, error),
        };
        Diagnostic::new(kind, message)
            .at(node.place, key.meaning)
            .hint(hint)
    }
}

impl RangeFault<'_> {
    fn of(&self, name: &str) -> String {
        match self {
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
        }
    }
}

impl NameFault {
    fn words(&self) -> String {
        match self {
            NameFault::Control => "holds control characters".to_owned(),
            NameFault::Long => format!("is longer than {LONGEST_NAME} characters"),
            NameFault::Empty => "is empty".to_owned(),
        }
    }
}

fn wrong_type(key: &Key, node: &Node, sources: &Sources) -> String {
    let given = match node.value {
        Value::Table(_) | Value::List(_) | Value::Date => node.noun().to_owned(),
        Value::Text(_) => format!("the text \"{}\"", as_given(node, sources)),
        _ => as_given(node, sources),
    };
    format!("`{}` must be {}, but is {given}", key.name, key.wanted())
}

fn not_within(key: &Key, range: Range, node: &Node, sources: &Sources) -> String {
    let given = as_given(node, sources);
    format!("{} must be {}, but is {given}", subject(key), range.words)
}

fn no_quantity(key: &Key, error: &ParseError) -> (ErrorKind, String, String) {
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
        let hint = in_mebibytes(key, error).unwrap_or_else(|| error.hint());
        (key.wanted(), hint)
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

/// A price beside what is no size or speed that devices come in.
#[derive(Debug)]
pub(in crate::inventory) struct PriceProblem<'t> {
    /// The key.
    pub key: &'t Key,
    /// The price and what stands before it.
    pub entry: &'t Entry,
    /// The sizes or speeds that there are.
    pub range: Range,
    /// Why it is no quantity; none where it is one out of range.
    pub error: Option<ParseError>,
}

impl From<PriceProblem<'_>> for Diagnostic {
    fn from(problem: PriceProblem<'_>) -> Diagnostic {
        let PriceProblem {
            key, entry, range, ..
        } = problem;
        let (dimension, _, what, _) = key.priced_by();
        let (kind, allowed, given, hint) = match problem.error {
            None => (
                ErrorKind::OutOfRange,
                range.words,
                format!("is {}", shorten(&entry.key)),
                format!("for example {}", key.example()),
            ),
            Some(error) if matches!(error.fault, ParseFault::TooLarge) => (
                ErrorKind::OutOfRange,
                range.words,
                error.to_string(),
                error.hint(),
            ),
            Some(error) => (
                ErrorKind::WrongUnit,
                dimension.noun(),
                error.to_string(),
                error.hint(),
            ),
        };
        Diagnostic::new(kind, format!("a {what} must be {allowed}, but {given}"))
            .at(entry.key_place, what)
            .hint(hint)
    }
}
