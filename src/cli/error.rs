//! What can be wrong with a call, as data; its text is made here.

use crate::diagnose::source::Sources;
use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind, suggest};
use crate::lab::keys::range::{COUNT, Range};
use crate::unit::parse::{ParseError, ParseFault};

/// What is wrong with a call.
#[derive(Debug, Clone, PartialEq)]
pub enum CallError {
    /// The value of an option is no quantity, or none that the option allows.
    Quantity(Box<WrongQuantity>),
    /// A busy spell that is not WHEN:GUEST=NUMBER:HOW LONG: what was typed.
    SpellForm(String),
    /// A busy spell of no whole number of guests: what was typed, and the number in it.
    SpellNumber(String, String),
    /// A busy spell of a guest that the lab does not have: what was typed, the name in it, the guests there are.
    SpellGuest(String, String, Vec<String>),
    /// Steps that do not rise.
    FallingSteps,
    /// An option that names a host that the lab does not have: the option, the name, the hosts there are.
    UnknownHost(&'static str, String, Vec<String>),
    /// Several hosts, where one is asked about: their names.
    SeveralHosts(Vec<String>),
}

/// The value of an option that is no quantity, or none that the option allows.
#[derive(Debug, Clone, PartialEq)]
pub struct WrongQuantity {
    /// The option, or the part of it that the value stands in.
    pub option: String,
    /// What was typed.
    pub text: String,
    /// What is allowed.
    pub allowed: Range,
    /// A value that is.
    pub example: &'static str,
    /// Why the text is no quantity; none where only the range is missed.
    pub error: Option<ParseError>,
}

/// A busy spell, for example.
const SPELL: &str = "write for example 2h:web=3:10min";

impl From<CallError> for Diagnostic {
    fn from(error: CallError) -> Diagnostic {
        let near = |name: &str, known: &[String]| {
            let near = suggest::closest(name, known.iter().map(String::as_str));
            near.map_or_else(String::new, |near| format!("did you mean {near:?}?"))
        };
        let invalid = |message: String| Diagnostic::new(ErrorKind::InvalidOption, message);
        match error {
            CallError::Quantity(wrong) => {
                let (option, words) = (&wrong.option, wrong.allowed.words);
                let (given, hint) = given_and_hint(&wrong);
                let hint = hint.unwrap_or_else(|| format!("write for example {}", wrong.example));
                invalid(format!("{option} must be {words}, but {given}")).hint(hint)
            }
            CallError::SpellForm(spell) => {
                let form = "WHEN:GUEST=NUMBER:HOW LONG";
                invalid(format!("--busy-at {spell:?} is not {form}")).hint(SPELL)
            }
            CallError::SpellNumber(spell, number) => {
                let wrong = format!("NUMBER must be {}, but is {number:?}", COUNT.words);
                invalid(format!("--busy-at {spell:?}: {wrong}")).hint(SPELL)
            }
            CallError::SpellGuest(spell, guest, known) => {
                let wrong = format!("no guest of the lab is called {guest:?}");
                invalid(format!("--busy-at {spell:?}: {wrong}"))
                    .hint(near(guest.trim(), &known))
                    .hint(format!("guests of this lab: {}", known.join(", ")))
            }
            CallError::FallingSteps => {
                let message = "--steps must rise, because guests are only started";
                invalid(message.to_owned()).hint("write for example 20,40,50")
            }
            CallError::UnknownHost(option, name, known) => {
                let message = format!("{option} {name:?} names no host of the lab");
                Diagnostic::new(ErrorKind::UnknownHost, message)
                    .hint(near(&name, &known))
                    .hint(format!("hosts of this lab: {}", known.join(", ")))
            }
            CallError::SeveralHosts(names) => {
                let count = names.len();
                let message = format!("this command answers for one host, but {count} are meant");
                Diagnostic::new(ErrorKind::AmbiguousHost, message)
                    .hint(format!("name one with --host: {}", names.join(", ")))
            }
        }
    }
}

/// What was given in place of an allowed quantity, and what was likely meant.
fn given_and_hint(wrong: &WrongQuantity) -> (String, Option<String>) {
    let text = &wrong.text;
    let Some(error) = &wrong.error else {
        return (format!("is {text:?}"), None);
    };
    let is_comma = matches!(error.fault, ParseFault::Comma);
    let is_unit = matches!(
        error.fault,
        ParseFault::UnknownUnit(_) | ParseFault::OtherUnit(..)
    );
    // Other errors show all that was given.
    let given = match is_unit {
        true => format!("{text:?} {error}"),
        false => error.to_string(),
    };
    let has_reading = error.readings().any(|value| wrong.allowed.holds(value));
    let hint = (has_reading || is_unit || is_comma).then(|| error.hint());
    (given, hint)
}

impl From<CallError> for Diagnostics {
    fn from(error: CallError) -> Diagnostics {
        Diagnostics::from(vec![error])
    }
}

impl From<Vec<CallError>> for Diagnostics {
    fn from(errors: Vec<CallError>) -> Diagnostics {
        let list = errors.into_iter().map(Diagnostic::from).collect();
        Diagnostics::new(Sources::default(), list)
    }
}
