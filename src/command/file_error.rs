//! What can be wrong with files that a call names, other than inventories: the one place of these errors' texts.

use std::io;
use std::path::{Path, PathBuf};

use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind};

/// Why a file cannot be written, and what to do instead.
pub(super) type Why = (String, &'static str);

/// What to do where a folder is closed.
const WRITABLE: &str = "name a file in a folder that you may write to";

/// What the system reports of a file.
pub(super) fn of_file(error: &io::Error) -> Why {
    let hint = match error.kind() {
        io::ErrorKind::StorageFull => "make room there, or choose another place",
        _ => "choose a file in a folder that exists and that you may write to",
    };
    (error.to_string(), hint)
}

/// What the system reports of a new file in a folder.
pub(super) fn of_new_file(folder: &Path, error: &io::Error) -> Why {
    let folder = folder.display();
    match error.kind() {
        io::ErrorKind::InvalidFilename => (
            "its name is too long, or has signs that no name may have here".to_owned(),
            "give it a shorter name",
        ),
        io::ErrorKind::PermissionDenied => (
            format!("you may not write to the folder {folder}"),
            WRITABLE,
        ),
        io::ErrorKind::ReadOnlyFilesystem => (
            format!("the folder {folder} is on a file system that can only be read"),
            WRITABLE,
        ),
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => (
            format!("there is no room left in the folder {folder}"),
            "make room, or name a file on another disk",
        ),
        _ => {
            // Where the draft was to be is added to the message of the system; that is not shown.
            let message = error.to_string();
            let message = message.split(" at path ").next().unwrap_or_default();
            (
                format!("the folder {folder} takes no new file: {message}"),
                "name a file in another folder",
            )
        }
    }
}

/// What the system reports of the folder that a file should lie in.
pub(super) fn of_folder(folder: &Path, error: &io::Error) -> Why {
    let name = folder.display();
    match error.kind() {
        io::ErrorKind::PermissionDenied => {
            (format!("you may not look into the folder {name}"), WRITABLE)
        }
        _ => (
            format!("there is no folder {name}"),
            "make the folder first, or name a file in one that is there",
        ),
    }
}

/// The owner of the file that is there cannot be kept.
pub(super) fn of_owner() -> Why {
    (
        "it belongs to another user, which a new file in its place would not".to_owned(),
        "name another file, or remove this one",
    )
}

/// A file that cannot be written; `written` are those that were before that was known.
pub(super) fn cannot_write(path: &Path, (why, hint): Why, written: &[PathBuf]) -> Diagnostic {
    let written: Vec<String> = written
        .iter()
        .map(|one| one.display().to_string())
        .collect();
    let done = match written.as_slice() {
        [] => "nothing was written".to_owned(),
        written => format!("this was written: {}", written.join(", ")),
    };
    let message = format!("{} cannot be written: {why}", path.display());
    Diagnostic::new(ErrorKind::CannotWrite, message).hint(format!("{hint}; {done}"))
}

/// A file that takes no further line.
pub(super) fn no_more_lines(path: &Path, error: &io::Error) -> Diagnostic {
    let message = format!("{} takes no more lines: {error}", path.display());
    Diagnostic::new(ErrorKind::CannotWrite, message)
        .hint("make room, or go on in another file; all lines before are whole")
}

/// A file that is there already.
pub(super) fn exists(path: &Path) -> Diagnostic {
    let message = format!("{} is there already", path.display());
    Diagnostic::new(ErrorKind::FileExists, message)
        .hint("name another file, or add --force to replace this one; nothing was written")
}

/// Two options name one file.
pub(super) fn twice(one: &str, other: &str, path: &Path) -> Diagnostic {
    let message = format!("{one} and {other} both name {}", path.display());
    Diagnostic::new(ErrorKind::CannotWrite, message)
        .hint("give each a file of its own; nothing was written")
}

/// A picture that is none by its name.
pub(super) fn not_svg(path: &Path) -> Diagnostic {
    let name = path.display();
    let message = format!("a picture is drawn as SVG, but {name} is none by its name");
    Diagnostic::new(ErrorKind::NotSvg, message)
        .hint("name a file that ends in .svg; nothing was written")
}

/// The answer was read from the file.
pub(super) fn is_input(path: &Path) -> Diagnostic {
    let name = path.display();
    let message = format!("{name} is a file that this answer was read from");
    Diagnostic::new(ErrorKind::CannotWrite, message)
        .hint("choose another file; nothing was written")
}

/// The file holds readings of other columns.
pub(super) fn other_columns(path: &Path) -> Diagnostic {
    let name = path.display();
    let message = format!("{name} holds other columns than this host's readings have");
    Diagnostic::new(ErrorKind::DifferentColumns, message)
        .hint("give another file; nothing was written")
}

/// A folder that holds no Linux host's files: what the system reports, or that none of those files are there.
pub(super) fn no_host(folder: &Path, error: Option<&io::Error>) -> Diagnostic {
    let why = match error.map(io::Error::kind) {
        Some(io::ErrorKind::NotFound) => "there is no such folder".to_owned(),
        Some(io::ErrorKind::NotADirectory) => "it is no folder".to_owned(),
        Some(io::ErrorKind::PermissionDenied) => "you may not look into it".to_owned(),
        _ => error.map_or_else(
            || "neither proc/meminfo nor sys/devices/system/cpu is there".to_owned(),
            io::Error::to_string,
        ),
    };
    let message = format!("{} is no Linux host's tree: {why}", folder.display());
    Diagnostic::new(ErrorKind::NotALinuxHost, message).hint(
        "leave --root out to read the running host, or give a folder that holds copies of its proc and sys",
    )
}

/// Readings that the system does not let be read.
pub(super) fn unreadable_readings(path: &Path, error: &io::Error) -> Diagnostic {
    let name = path.display();
    let message = match error.kind() {
        io::ErrorKind::NotFound => format!("there is no file of readings `{name}`"),
        io::ErrorKind::IsADirectory => format!("the readings `{name}` are a directory, not a file"),
        io::ErrorKind::PermissionDenied => format!("the readings `{name}` may not be read by you"),
        _ => format!("the readings `{name}` cannot be read: {error}"),
    };
    Diagnostic::new(ErrorKind::UnreadableFile, message).hint(
        "give a file as `survey --reading --output FILE` writes it, or a table from a spreadsheet",
    )
}

/// Readings of more than so many MiB.
pub(super) fn large_readings(path: &Path, most: u64) -> Diagnostic {
    let message = format!(
        "the readings `{}` are larger than {most} MiB",
        path.display()
    );
    Diagnostic::new(ErrorKind::FileTooLarge, message)
        .hint("a few dozen readings of a host, or lines of guests taken less often, say as much")
}

/// Readings that are no UTF-8: what they are instead.
pub(super) fn no_utf8_readings(path: &Path, instead: &str) -> Diagnostic {
    let name = path.display();
    let message = format!("the readings `{name}` are no UTF-8 text: {instead}");
    Diagnostic::new(ErrorKind::NotUtf8, message).hint("save the sheet as CSV in UTF-8")
}

/// A lab that can be read only once, and is to be copied.
pub(super) fn read_once(lab: &Path) -> Diagnostic {
    let name = lab.display();
    let message = format!("{name} can be read only once, and --write copies it");
    Diagnostic::new(ErrorKind::UnreadableFile, message)
        .hint("give --write a lab that is a plain file; nothing was written")
}

/// A lab that cannot be read again.
pub(super) fn unreadable_lab(lab: &Path, error: &io::Error) -> Diagnostic {
    let message = format!("{} cannot be read again: {error}", lab.display());
    Diagnostic::new(ErrorKind::UnreadableFile, message).hint("give --write a lab that is a file")
}

/// The lab's own file does not have what is to be changed.
pub(super) fn no_place(lab: &Path, why: &str) -> Diagnostic {
    no_copy(format!("{} cannot take the values: {why}", lab.display()))
}

/// A copy of the lab that would be none.
pub(super) fn invalid_copy(errors: &Diagnostics) -> Diagnostic {
    let first = errors.list().first().map_or("", |error| &error.message);
    no_copy(format!("the copy would be no valid inventory: {first}"))
}

/// A copy of the lab that would hold other values than were counted with.
pub(super) fn other_values() -> Diagnostic {
    let message = "the copy would not say what was calibrated; `--set` changes one of the values";
    no_copy(message.to_owned())
}

fn no_copy(message: String) -> Diagnostic {
    Diagnostic::new(ErrorKind::NotInThisFile, message).hint(
        "put the values of the report into the file by hand, or write the copy beside the lab",
    )
}

#[cfg(test)]
mod tests {
    use std::io::{self, Error};
    use std::path::Path;

    use super::of_new_file;

    #[test]
    fn what_the_system_says_is_said_of_the_folder() {
        for (kind, reason) in [
            (
                io::ErrorKind::PermissionDenied,
                "you may not write to the folder here",
            ),
            (io::ErrorKind::ReadOnlyFilesystem, "that can only be read"),
            (io::ErrorKind::StorageFull, "there is no room left"),
            (io::ErrorKind::InvalidFilename, "too long"),
            (io::ErrorKind::TimedOut, "takes no new file: timed out"),
        ] {
            let (why, _) = of_new_file(Path::new("here"), &Error::from(kind));
            assert!(why.contains(reason), "{why}");
        }
    }
}
