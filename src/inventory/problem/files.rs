//! What can be wrong with the files of an inventory: the one place of these errors' texts.

use std::io;
use std::string::FromUtf8Error;

use crate::diagnose::{Diagnostic, ErrorKind};
use crate::inventory::written::shorten;
use crate::unit::format;

fn error(kind: ErrorKind, message: String, hint: impl Into<String>) -> Diagnostic {
    Diagnostic::new(kind, message).hint(hint)
}

/// A key or heading that is there twice in one file, and how that is fixed.
pub fn given_twice(key: &str, hint: String) -> Diagnostic {
    let message = format!("`{}` is given twice", shorten(key));
    error(ErrorKind::Duplicate, message, hint)
}

/// What the parser says, and how it is fixed.
pub fn syntax(what: &str, hint: &str) -> Diagnostic {
    let message = format!("this is not TOML: {what}");
    error(ErrorKind::SyntaxError, message, hint)
}

/// A file has more than so many errors in its first KiB.
pub fn not_toml(errors: usize, kibibytes: usize) -> Diagnostic {
    error(
        ErrorKind::SyntaxError,
        format!("more than {errors} errors in the first {kibibytes} KiB: this is not an inventory"),
        "name a TOML file such as `berthage new` writes",
    )
}

/// A file includes itself, directly or through others.
pub fn include_loop(name: &str) -> Diagnostic {
    error(
        ErrorKind::IncludeLoop,
        format!("`{name}` includes itself, directly or through others"),
        "take one of the files out of the `include` list",
    )
}

/// Files are included deeper than the first number, or there are more than the second.
pub fn too_many(deepest: usize, most: usize) -> Diagnostic {
    error(
        ErrorKind::IncludeLoop,
        format!("more than {deepest} files include one another, or there are more than {most}"),
        "put more into one file",
    )
}

/// With the files read before it there are more than so many MiB.
pub fn too_large(name: &str, most: u64) -> Diagnostic {
    error(
        ErrorKind::FileTooLarge,
        format!(
            "`{name}` is larger than the {most} MiB that an inventory may have, all its files together"
        ),
        "leave out what is no part of it, or name the right file",
    )
}

/// With the files read before it there are more than so many line breaks, commas and other marks.
pub fn too_many_marks(name: &str, most: usize) -> Diagnostic {
    error(
        ErrorKind::FileTooLarge,
        format!(
            "`{name}` has more than the {} line breaks, commas and other marks that an inventory may have, all its \
             files together",
            format::count(most as u64)
        ),
        "leave out what is no part of it: blank lines, long lists, hosts and guests that are not asked about",
    )
}

/// A file is not UTF-8.
pub fn not_utf8(name: &str, error: &FromUtf8Error) -> Diagnostic {
    let (bytes, at) = (error.as_bytes(), error.utf8_error().valid_up_to());
    let value = bytes.get(at).copied().unwrap_or(0);
    let line = 1 + bytes.iter().take(at).filter(|byte| **byte == b'\n').count();
    let message = format!(
        "`{name}` is not UTF-8 text: byte 0x{value:02X} in line {line} (byte {at} of the file)"
    );
    Diagnostic::new(ErrorKind::NotUtf8, message).hint("save it as UTF-8")
}

/// A file cannot be read, and what the system reports.
pub fn unreadable(name: &str, why: &io::Error) -> Diagnostic {
    let (message, hint) = match why.kind() {
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
    let kind = match why.kind() {
        io::ErrorKind::IsADirectory => ErrorKind::IsADirectory,
        _ => ErrorKind::UnreadableFile,
    };
    error(kind, message, hint)
}
