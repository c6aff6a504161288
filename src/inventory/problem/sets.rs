//! What can be wrong with `--set`, as data, and the one place of their texts.

use crate::diagnose::source::Place;
use crate::diagnose::{Diagnostic, ErrorKind, suggest};
use crate::lab::keys::Section;

/// How an argument is written.
const FORM: &str = "write --set 'guest.web.memory=\"4 GiB\"': a path, `=`, and a TOML value, quoted for the shell as well";

/// How a path is written.
const QUOTE: &str =
    "separate the parts with dots, and quote names that hold dots, blanks or odd characters";

/// What is wrong with an argument of `--set`.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::inventory) enum SetProblem {
    /// It has no equals sign.
    NoSign(String),
    /// What stands before the sign is no path.
    NotAPath(String),
    /// What stands behind the sign is no value.
    NotAValue(String),
    /// The path stops there before it has named a value, and how it could go on.
    Unfinished(String, String),
    /// No table of the section has that name, and those that there are.
    NoTable(Section, String, Vec<String>),
    /// The section has no such key, and those that it has.
    NoKey(Section, String, Vec<String>),
    /// The path goes on behind a key that holds a value.
    WithinValue(&'static str),
    /// The file gives no such list.
    NotGiven(String),
    /// There is no group of cores of that number, but so many.
    NoGroup(String, usize),
}

impl SetProblem {
    /// The error at the place of the argument that is wrong.
    pub fn at(self, place: Place) -> Diagnostic {
        let kind = match self {
            SetProblem::NoSign(_) | SetProblem::NotAPath(_) | SetProblem::NotAValue(_) => {
                ErrorKind::InvalidSet
            }
            _ => ErrorKind::UnknownPath,
        };
        let (message, hint) = self.words();
        Diagnostic::new(kind, message).at(place, "").hint(hint)
    }

    /// The message and the hint.
    fn words(&self) -> (String, String) {
        match self {
            SetProblem::NoSign(argument) => (
                format!("--set needs PATH=VALUE, but `{argument}` has no `=`"),
                FORM.to_owned(),
            ),
            SetProblem::NotAPath(path) => (format!("`{path}` is not a path"), QUOTE.to_owned()),
            SetProblem::NotAValue(text) => {
                (format!("`{text}` is not a TOML value"), FORM.to_owned())
            }
            SetProblem::Unfinished(at, example) => (
                format!("the path stops at {at} and names no value"),
                format!("go on, for example with {example}"),
            ),
            SetProblem::NoTable(section, name, known) => (
                format!("no {} has the name `{name}`", section.header()),
                likely(name, known),
            ),
            SetProblem::NoKey(Section::Top, word, known) => {
                (format!("no path starts with `{word}`"), likely(word, known))
            }
            SetProblem::NoKey(section, word, known) => (
                format!("`{word}` is not a key of {}", section.header()),
                likely(word, known),
            ),
            SetProblem::WithinValue(key) => (
                format!("`{key}` is a value, and nothing in it has a name"),
                format!("end the path at `{key}`"),
            ),
            SetProblem::NotGiven(word) => (
                format!("the file gives no `{word}` there"),
                likely(word, &[]),
            ),
            SetProblem::NoGroup(word, count) => (
                format!("there is no group `{word}`"),
                format!("groups are numbered from 1 to {count}"),
            ),
        }
    }
}

/// The word that was likely meant, or all there are.
fn likely(word: &str, known: &[String]) -> String {
    let known = || known.iter().map(String::as_str);
    match suggest::closest(word, known()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("there is {}", suggest::list(known(), 50)),
    }
}
