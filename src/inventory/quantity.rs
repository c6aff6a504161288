//! One number of the file: its type, its unit, its range.

use crate::diagnose::Diagnostic;
use crate::diagnose::ErrorKind;
use crate::diagnose::source::Sources;
use crate::unit::parse::{self, Dimension, Fault, ParseError};

use super::tree::{Node, Value};
use crate::lab::keys::range::Range;
use crate::lab::keys::{Key, Kind};

/// A number in base units, and what it is a number of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Amount {
    /// The number.
    pub value: f64,
    /// What it measures; of a size-or-share the one that was written.
    pub dimension: Dimension,
}

/// Reads one plain number for `key`.
pub(super) fn amount(key: &Key, node: &Node, sources: &Sources) -> Result<Amount, Box<Diagnostic>> {
    let dimension = match key.kind {
        Kind::Quantity(dimension) => dimension,
        Kind::Count => Dimension::Number,
        Kind::SizeOrShare if is_share(node) => Dimension::Share,
        _ => Dimension::Bytes,
    };
    let value = match &node.value {
        Value::Whole(value) | Value::Real(value) => {
            parse::from_number(*value, sources.text(node.place), dimension)
        }
        Value::Text(text) if dimension != Dimension::Number => parse::parse(text, dimension),
        _ => return Err(Box::new(wrong_type(key, node, sources))),
    };
    let value = value.map_err(|error| Box::new(unparsed(key, node, &error)))?;
    if key.kind == Kind::Count && value.fract() != 0.0 {
        return Err(Box::new(
            Diagnostic::new(
                ErrorKind::NotWhole,
                format!(
                    "`{}` must be {}, but is {}",
                    key.name,
                    key.range.words,
                    given(node, sources)
                ),
            )
            .at(node.place, key.meaning)
            .hint(format!(
                "write {} = {} or {}",
                key.name,
                value.floor().max(1.0),
                value.ceil().max(1.0)
            )),
        ));
    }
    let range = match (key.kind, dimension) {
        (Kind::SizeOrShare, Dimension::Share) => crate::lab::keys::range::SHARE,
        _ => key.range,
    };
    if range.holds(value) {
        Ok(Amount { value, dimension })
    } else {
        Err(Box::new(out_of_range(
            key,
            node,
            sources,
            range,
            Amount { value, dimension },
        )))
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

/// A value of a type the key does not take.
pub(super) fn wrong_type(key: &Key, node: &Node, sources: &Sources) -> Diagnostic {
    let given = match node.value {
        Value::Table(_) | Value::List(_) | Value::Date => node.noun().to_owned(),
        Value::Text(_) => format!("the text \"{}\"", given(node, sources)),
        _ => given(node, sources),
    };
    let hint = match (&node.value, key.kind) {
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
    };
    Diagnostic::new(
        ErrorKind::WrongType,
        format!("`{}` must be {}, but is {given}", key.name, key.wanted()),
    )
    .at(node.place, key.meaning)
    .hint(hint)
}

/// The number that a text begins with, "600" of "600 EUR".
fn leading(text: &str) -> Option<&str> {
    let number = text.split_whitespace().next()?;
    number
        .parse::<f64>()
        .is_ok_and(f64::is_finite)
        .then_some(number)
}

/// A value whose text is not what its dimension takes.
fn unparsed(key: &Key, node: &Node, error: &ParseError) -> Diagnostic {
    let code = match error.fault {
        Fault::TooLarge => ErrorKind::OutOfRange,
        Fault::MissingUnit => ErrorKind::MissingUnit,
        Fault::NotFinite => ErrorKind::NotFinite,
        Fault::UnknownUnit(_) | Fault::OtherUnit(..) => ErrorKind::WrongUnit,
        Fault::Empty | Fault::NoNumber | Fault::Comma => ErrorKind::WrongType,
    };
    // A reading that is out of range as well is none to offer.
    let is_out_of_range = match error.fault {
        Fault::TooLarge => true,
        Fault::MissingUnit => !error.readings().any(|value| key.range.holds(value)),
        _ => false,
    };
    let (allowed, hint) = if is_out_of_range {
        let words = key.range.words.to_owned();
        (words, format!("for example {}", key.one_example()))
    } else {
        (wanted(key), error.hint())
    };
    Diagnostic::new(
        code,
        format!("{} must be {allowed}, but {error}", subject(key)),
    )
    .at(node.place, key.meaning)
    .hint(hint)
}

/// What a sentence about a number is about: the key, or an entry of the list it holds.
fn subject(key: &Key) -> String {
    if key.kind == Kind::Sizes {
        format!("an entry of `{}`", key.name)
    } else {
        format!("`{}`", key.name)
    }
}

/// What that has to be.
fn wanted(key: &Key) -> String {
    if key.kind == Kind::Sizes {
        Dimension::Bytes.noun().to_owned()
    } else {
        key.wanted()
    }
}

/// A number the key does not allow.
fn out_of_range(
    key: &Key,
    node: &Node,
    sources: &Sources,
    range: Range,
    amount: Amount,
) -> Diagnostic {
    let given = given(node, sources);
    let message = format!("{} must be {}, but is {given}", subject(key), range.words);
    Diagnostic::new(ErrorKind::OutOfRange, message)
        .at(node.place, key.meaning)
        .hint(fix(key, node, range, amount))
}

/// A value in range that was likely meant, or any that is in range.
fn fix(key: &Key, node: &Node, range: Range, amount: Amount) -> String {
    let Amount { value, dimension } = amount;
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

/// What was written, short enough for a sentence, without quotes.
pub(super) fn given(node: &Node, sources: &Sources) -> String {
    shorten(&as_written(node, sources))
}

/// What was written, on one line and without quotes; nothing of a value that anybody typed is cut.
pub(super) fn as_written(node: &Node, sources: &Sources) -> String {
    const LONGEST: usize = 2_000;
    let text = match &node.value {
        Value::Text(text) => text.trim().to_owned(),
        // A list may go over several lines; a sentence does not.
        _ => {
            let words: Vec<&str> = sources.text(node.place).split_whitespace().collect();
            words.join(" ")
        }
    };
    cut(&text, LONGEST)
}

/// The start of a text that may be long.
pub(super) fn shorten(text: &str) -> String {
    const LONGEST: usize = 60;
    cut(text, LONGEST)
}

fn cut(text: &str, longest: usize) -> String {
    match text.char_indices().nth(longest) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}
