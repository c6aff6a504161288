//! What is wrong with a `--set`.

use crate::diagnose::source::{Place, Sources};
use crate::diagnose::{Diagnostic, ErrorKind, suggest};
use crate::lab::keys::Section;

use super::text::Problem;

/// How an argument is written.
const FORM: &str = "write --set 'guest.web.memory=\"4 GiB\"': a path, `=`, and a TOML value, quoted for the shell as well";

/// An argument that puts no value anywhere.
#[derive(Debug)]
pub(in crate::inventory) struct SetProblem {
    /// The part of the argument that is wrong.
    pub place: Place,
    /// What is wrong with it.
    pub fault: SetFault,
}

/// What is wrong with an argument.
#[derive(Debug)]
pub(in crate::inventory) enum SetFault {
    /// No `=` in the argument.
    NoEquals(String),
    /// What stands before the `=` is no path.
    NotAPath(String),
    /// What stands behind it is no value.
    NotAValue(String),
    /// The path stops here, before it names a value; how it could go on.
    Unfinished(&'static str, String),
    /// No path starts with that word.
    NoStart(String),
    /// No table of the section has that name; the names there are.
    NoName(Section, String, Vec<String>),
    /// The section has no such key.
    NoKey(Section, String),
    /// The file gives no list under that key.
    NoList(String),
    /// The path goes on behind a value.
    NothingInside(&'static str),
    /// No group of cores has that number; how many there are.
    NoGroup(String, usize),
}

impl Problem for SetProblem {
    fn diagnostic(&self, _: &Sources) -> Diagnostic {
        let kind = match self.fault {
            SetFault::NoEquals(_) | SetFault::NotAPath(_) | SetFault::NotAValue(_) => {
                ErrorKind::InvalidSet
            }
            _ => ErrorKind::UnknownPath,
        };
        Diagnostic::new(kind, self.fault.message())
            .at(self.place, "")
            .hint(self.fault.hint())
    }
}

impl SetFault {
    fn message(&self) -> String {
        match self {
            SetFault::NoEquals(argument) => {
                format!("--set needs PATH=VALUE, but `{argument}` has no `=`")
            }
            SetFault::NotAPath(path) => format!("`{path}` is not a path"),
            SetFault::NotAValue(text) => format!("`{text}` is not a TOML value"),
            SetFault::Unfinished(at, _) => format!("the path stops at {at} and names no value"),
            SetFault::NoStart(word) => format!("no path starts with `{word}`"),
            SetFault::NoName(section, name, _) => {
                format!("no {} has the name `{name}`", section.header())
            }
            SetFault::NoKey(section, key) => {
                format!("`{key}` is not a key of {}", section.header())
            }
            SetFault::NoList(key) => format!("the file gives no `{key}` there"),
            SetFault::NothingInside(key) => {
                format!("`{key}` is a value, and nothing in it has a name")
            }
            SetFault::NoGroup(number, _) => format!("there is no group `{number}`"),
        }
    }

    fn hint(&self) -> String {
        match self {
            SetFault::NoEquals(_) | SetFault::NotAValue(_) => FORM.to_owned(),
            SetFault::NotAPath(_) => {
                "separate the parts with dots, and quote names that hold dots, blanks or odd characters"
                    .to_owned()
            }
            SetFault::Unfinished(_, example) => format!("go on, for example with {example}"),
            SetFault::NoStart(word) => {
                likely(word, ["lab", "policy", "host", "image", "guest"].into_iter())
            }
            SetFault::NoName(_, name, names) => likely(name, names.iter().map(String::as_str)),
            SetFault::NoKey(section, key) => {
                likely(key, section.keys().iter().map(|key| key.name))
            }
            SetFault::NoList(key) => likely(key, std::iter::empty()),
            SetFault::NothingInside(key) => format!("end the path at `{key}`"),
            SetFault::NoGroup(_, count) => format!("groups are numbered from 1 to {count}"),
        }
    }
}

/// The word that was likely meant, or all there are.
fn likely<'a>(word: &str, known: impl Iterator<Item = &'a str> + Clone) -> String {
    match suggest::closest(word, known.clone()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("there is {}", suggest::list(known, 50)),
    }
}
