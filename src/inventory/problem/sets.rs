//! What can be wrong with `--set`: the one place of these errors' texts. Each is shown at its place in the argument.

use crate::diagnose::source::Place;
use crate::diagnose::{Diagnostic, ErrorKind, suggest};
use crate::lab::keys::Section;

/// How an argument is written.
const FORM: &str = "write --set 'guest.web.memory=\"4 GiB\"': a path, `=`, and a TOML value, quoted for the shell as well";

/// How a path is written.
const QUOTE: &str =
    "separate the parts with dots, and quote names that hold dots, blanks or odd characters";

/// The argument is not written as one.
fn invalid(place: Place, message: String, hint: &str) -> Diagnostic {
    Diagnostic::new(ErrorKind::InvalidSet, message)
        .at(place, "")
        .hint(hint)
}

/// The path leads nowhere.
fn unknown(place: Place, message: String, hint: String) -> Diagnostic {
    Diagnostic::new(ErrorKind::UnknownPath, message)
        .at(place, "")
        .hint(hint)
}

/// The argument has no equals sign.
pub fn no_sign(argument: &str, place: Place) -> Diagnostic {
    let message = format!("--set needs PATH=VALUE, but `{argument}` has no `=`");
    invalid(place, message, FORM)
}

/// What is before the sign is no path.
pub fn not_a_path(path: &str, place: Place) -> Diagnostic {
    invalid(place, format!("`{path}` is not a path"), QUOTE)
}

/// What is behind the sign is no value.
pub fn not_a_value(text: &str, place: Place) -> Diagnostic {
    invalid(place, format!("`{text}` is not a TOML value"), FORM)
}

/// The path stops there before it has named a value; `example`: how it could continue.
pub fn unfinished(at: &str, example: &str, place: Place) -> Diagnostic {
    unknown(
        place,
        format!("the path stops at {at} and names no value"),
        format!("go on, for example with {example}"),
    )
}

/// No table of the section has that name; `known` are those of the tables that there are.
pub fn no_table(section: Section, name: &str, known: &[String], place: Place) -> Diagnostic {
    let message = format!("no {} has the name `{name}`", section.header());
    let known = known.iter().map(String::as_str);
    unknown(place, message, likely(name, known))
}

/// The section has no such key; `known` are those that it has.
pub fn no_key<'k>(
    section: Section,
    word: &str,
    known: impl Iterator<Item = &'k str> + Clone,
    place: Place,
) -> Diagnostic {
    let message = match section {
        Section::Top => format!("no path starts with `{word}`"),
        section => format!("`{word}` is not a key of {}", section.header()),
    };
    unknown(place, message, likely(word, known))
}

/// The path continues behind a key that holds a value.
pub fn within_value(key: &str, place: Place) -> Diagnostic {
    unknown(
        place,
        format!("`{key}` is a value, and nothing in it has a name"),
        format!("end the path at `{key}`"),
    )
}

/// The file gives no such list.
pub fn not_given(word: &str, place: Place) -> Diagnostic {
    let message = format!("the file gives no `{word}` there");
    unknown(place, message, likely(word, [].into_iter()))
}

/// There is no group of cores of that number, but so many.
pub fn no_group(word: &str, count: usize, place: Place) -> Diagnostic {
    unknown(
        place,
        format!("there is no group `{word}`"),
        format!("groups are numbered from 1 to {count}"),
    )
}

/// The word that was likely meant, or all there are.
fn likely<'k>(word: &str, known: impl Iterator<Item = &'k str> + Clone) -> String {
    match suggest::closest(word, known.clone()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("there is {}", suggest::list(known, 50)),
    }
}
