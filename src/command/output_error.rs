//! Why a file that a call names is not written, and what to do instead.

use std::io;
use std::path::Path;

use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind};

/// Why a file cannot be written, and what to do instead.
pub(super) type Reason = (String, &'static str);

/// A file that is not written.
pub(super) fn refused(kind: ErrorKind, message: String, hint: &str) -> Diagnostics {
    let hint = format!("{hint}; nothing was written");
    Diagnostic::new(kind, message).hint(hint).into()
}

/// A file that cannot be written.
pub(super) fn cannot_write(path: &Path, (why, hint): Reason) -> Diagnostics {
    let message = format!("{} cannot be written: {why}", path.display());
    refused(ErrorKind::CannotWrite, message, hint)
}

/// A file that is there already.
pub(super) fn exists(path: &Path) -> Diagnostics {
    let message = format!("{} is there already", path.display());
    let hint = "name another file, or add --force to replace this one";
    refused(ErrorKind::FileExists, message, hint)
}

/// What the system reports of a file.
pub(super) fn of_file(error: &io::Error) -> Reason {
    let hint = match error.kind() {
        io::ErrorKind::StorageFull => "make room there, or choose another place",
        _ => "choose a file in a folder that exists and that you may write to",
    };
    (error.to_string(), hint)
}

/// What the system reports of a new file in a folder.
pub(super) fn of_new_file(folder: &Path, error: &io::Error) -> Reason {
    let folder = folder.display();
    let writable = "name a file in a folder that you may write to";
    match error.kind() {
        io::ErrorKind::InvalidFilename => (
            "its name is too long, or has signs that no name may have here".to_owned(),
            "give it a shorter name",
        ),
        io::ErrorKind::PermissionDenied => (
            format!("you may not write to the folder {folder}"),
            writable,
        ),
        io::ErrorKind::ReadOnlyFilesystem => (
            format!("the folder {folder} is on a file system that can only be read"),
            writable,
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
