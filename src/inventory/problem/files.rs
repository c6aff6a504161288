//! What can be wrong with the files of an inventory, as data, and the one place of their texts.

use std::io;

use crate::diagnose::{Diagnostic, ErrorKind};
use crate::inventory::written::shorten;
use crate::unit::format;

/// What is wrong with a file.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::inventory) enum FileProblem {
    /// It includes itself, directly or through others.
    Loop(String),
    /// Files are included deeper than this, or there are more than that.
    TooMany {
        /// How deep they may be.
        deepest: usize,
        /// How many there may be.
        most: usize,
    },
    /// It cannot be read, and what the system reports.
    Unreadable(String, io::ErrorKind, String),
    /// With those read before it there are more than so many MiB.
    TooLarge(String, u64),
    /// With those read before it there are more than so many line breaks, commas and other marks.
    TooManyMarks(String, usize),
    /// It is not UTF-8.
    NotText {
        /// Its name.
        name: String,
        /// The byte that is none of UTF-8.
        value: u8,
        /// The line of that byte, counted from 1.
        line: usize,
        /// Bytes before it.
        at: usize,
    },
    /// It has more than so many errors in its first KiB.
    Hopeless(usize, usize),
    /// A key or heading that stands twice in one file, and how that is fixed.
    GivenTwice(String, String),
    /// What the parser says, and how it is fixed.
    Syntax(String, &'static str),
}

impl From<FileProblem> for Diagnostic {
    fn from(problem: FileProblem) -> Diagnostic {
        let (kind, message, hint) = match problem {
            FileProblem::GivenTwice(key, hint) => {
                let message = format!("`{}` is given twice", shorten(&key));
                return Diagnostic::new(ErrorKind::Duplicate, message).hint(hint);
            }
            FileProblem::Syntax(what, hint) => (
                ErrorKind::SyntaxError,
                format!("this is not TOML: {what}"),
                hint,
            ),
            FileProblem::Loop(name) => (
                ErrorKind::IncludeLoop,
                format!("`{name}` includes itself, directly or through others"),
                "take one of the files out of the `include` list",
            ),
            FileProblem::TooMany { deepest, most } => (
                ErrorKind::IncludeLoop,
                format!(
                    "more than {deepest} files include one another, or there are more than {most}"
                ),
                "put more into one file",
            ),
            FileProblem::Unreadable(name, kind, why) => unreadable(&name, kind, &why),
            FileProblem::TooLarge(name, most) => too_large(
                format!("`{name}` is larger than the {most} MiB"),
                "leave out what is no part of it, or name the right file",
            ),
            FileProblem::TooManyMarks(name, most) => too_large(
                format!(
                    "`{name}` has more than the {} line breaks, commas and other marks",
                    format::count(most as u64)
                ),
                "leave out what is no part of it: blank lines, long lists, hosts and guests that are not asked about",
            ),
            FileProblem::NotText {
                name,
                value,
                line,
                at,
            } => (
                ErrorKind::NotUtf8,
                format!(
                    "`{name}` is not UTF-8 text: byte 0x{value:02X} in line {line} (byte {at} of the file)"
                ),
                "save it as UTF-8",
            ),
            FileProblem::Hopeless(errors, kibibytes) => (
                ErrorKind::SyntaxError,
                format!(
                    "more than {errors} errors in the first {kibibytes} KiB: this is not an inventory"
                ),
                "name a TOML file such as `berthage new` writes",
            ),
        };
        Diagnostic::new(kind, message).hint(hint)
    }
}

fn too_large(what: String, hint: &'static str) -> (ErrorKind, String, &'static str) {
    let message = what + " that an inventory may have, all its files together";
    (ErrorKind::FileTooLarge, message, hint)
}

fn unreadable(name: &str, kind: io::ErrorKind, why: &str) -> (ErrorKind, String, &'static str) {
    let (message, hint) = match kind {
        io::ErrorKind::NotFound if name == "-" => (
            "there is no file `-`".to_owned(),
            "name /dev/stdin to read what is piped in",
        ),
        io::ErrorKind::NotFound => (
            format!("there is no file `{name}`"),
            "give the path of an inventory file, or write one to start from with `berthage new`; a path in `include` \
             starts at the file it stands in",
        ),
        io::ErrorKind::IsADirectory => (
            format!("`{name}` is a directory, not a file"),
            "name the inventory file in it",
        ),
        io::ErrorKind::PermissionDenied => (
            format!("`{name}` may not be read by you"),
            "change who may read it, or name another file",
        ),
        _ => (
            format!("`{name}` cannot be read: {why}"),
            "name a file that can be read",
        ),
    };
    let kind = match kind {
        io::ErrorKind::IsADirectory => ErrorKind::IsADirectory,
        _ => ErrorKind::UnreadableFile,
    };
    (kind, message, hint)
}
