//! The texts of what is wrong with files.

use std::io;
use std::path::Path;

use super::{CopyFault, FileError, HostFault, ReadFault, WriteFault};
use crate::diagnose::ErrorKind;

impl WriteFault {
    /// Why, and what to do instead.
    fn words(&self) -> (String, &'static str) {
        let writable = "name a file in a folder that you may write to";
        match self {
            WriteFault::IsFolder => ("it is a directory".to_owned(), "name a file"),
            WriteFault::NoName => ("the name is empty".to_owned(), "name a file"),
            WriteFault::ReadOnly => (
                "you may only read it".to_owned(),
                "name another file, or change who may write to this one",
            ),
            WriteFault::Owner => (
                "it belongs to another user, which a new file in its place would not".to_owned(),
                "name another file, or remove this one",
            ),
            WriteFault::NoFolder(folder) => (
                format!("there is no folder {}", folder.display()),
                "make the folder first, or name a file in one that is there",
            ),
            WriteFault::NotAFolder(folder) => (
                format!("{} is no folder", folder.display()),
                "name a file in a folder",
            ),
            WriteFault::ClosedFolder(folder) => (
                format!("you may not look into the folder {}", folder.display()),
                writable,
            ),
            WriteFault::NewFile(folder, kind, message) => {
                of_new_file(&folder.display().to_string(), *kind, message)
            }
            WriteFault::System(io::ErrorKind::StorageFull, message) => {
                (message.clone(), "make room there, or choose another place")
            }
            WriteFault::System(_, message) => (
                message.clone(),
                "choose a file in a folder that exists and that you may write to",
            ),
        }
    }
}

fn of_new_file(folder: &str, kind: io::ErrorKind, message: &str) -> (String, &'static str) {
    let writable = "name a file in a folder that you may write to";
    match kind {
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
        _ => (
            format!("the folder {folder} takes no new file: {message}"),
            "name a file in another folder",
        ),
    }
}

impl FileError {
    /// The kind, the message and how to fix it.
    pub(super) fn words(&self) -> (ErrorKind, String, String) {
        let nothing = |hint: &str| format!("{hint}; nothing was written");
        match self {
            FileError::CannotWrite(path, fault, written) => {
                let (why, hint) = fault.words();
                let message = format!("{} cannot be written: {why}", path.display());
                let hint = match written.as_slice() {
                    [] => nothing(hint),
                    written => {
                        let written = written.iter().map(|path| path.display().to_string());
                        let written: Vec<String> = written.collect();
                        format!("{hint}; this was written: {}", written.join(", "))
                    }
                };
                (ErrorKind::CannotWrite, message, hint)
            }
            FileError::NoMoreLines(path, fault) => no_more_lines(path, fault),
            FileError::Exists(path) => (
                ErrorKind::FileExists,
                format!("{} is there already", path.display()),
                nothing("name another file, or add --force to replace this one"),
            ),
            FileError::Twice([one, other], path) => (
                ErrorKind::CannotWrite,
                format!("{one} and {other} both name {}", path.display()),
                nothing("give each a file of its own"),
            ),
            FileError::NotSvg(path) => (
                ErrorKind::NotSvg,
                format!(
                    "a picture is drawn as SVG, but {} is none by its name",
                    path.display()
                ),
                nothing("name a file that ends in .svg"),
            ),
            FileError::IsInput(path) => (
                ErrorKind::CannotWrite,
                format!(
                    "{} is a file that this answer was read from",
                    path.display()
                ),
                nothing("choose another file"),
            ),
            FileError::OtherColumns(path) => (
                ErrorKind::DifferentColumns,
                format!(
                    "{} holds other columns than this host's readings have",
                    path.display()
                ),
                nothing("give another file"),
            ),
            FileError::NoHost(path, fault) => of_host(path, fault),
            FileError::Readings(path, fault) => of_readings(path, fault),
            FileError::Copy(fault) => of_copy(fault),
        }
    }
}

fn of_host(path: &Path, fault: &HostFault) -> (ErrorKind, String, String) {
    let why = match fault {
        HostFault::System(io::ErrorKind::NotFound, _) => "there is no such folder",
        HostFault::System(io::ErrorKind::NotADirectory, _) => "it is no folder",
        HostFault::System(io::ErrorKind::PermissionDenied, _) => "you may not look into it",
        HostFault::System(_, message) => message,
        HostFault::NoFiles => "neither proc/meminfo nor sys/devices/system/cpu is there",
    };
    let message = format!("{} is no Linux host's tree: {why}", path.display());
    let hint = "leave --root out to read the running host, or give a folder that holds copies of its proc and sys";
    (ErrorKind::NotALinuxHost, message, hint.to_owned())
}

fn of_readings(path: &Path, fault: &ReadFault) -> (ErrorKind, String, String) {
    let name = path.display();
    let (kind, message, hint) = match fault {
        ReadFault::System(kind, message) => {
            let message = match kind {
                io::ErrorKind::NotFound => format!("there is no file of readings `{name}`"),
                io::ErrorKind::IsADirectory => {
                    format!("the readings `{name}` are a directory, not a file")
                }
                io::ErrorKind::PermissionDenied => {
                    format!("the readings `{name}` may not be read by you")
                }
                _ => format!("the readings `{name}` cannot be read: {message}"),
            };
            let hint = "give a file as `survey --reading --output FILE` writes it, or a table from a spreadsheet";
            (ErrorKind::UnreadableFile, message, hint)
        }
        ReadFault::TooLarge(most) => (
            ErrorKind::FileTooLarge,
            format!("the readings `{name}` are larger than {most} MiB"),
            "a few dozen readings of a host, or lines of guests taken less often, say as much",
        ),
        ReadFault::NotUtf8(at) => {
            let what = match at {
                None => "it is UTF-16".to_owned(),
                Some(at) => format!("byte {at} is none of it"),
            };
            let message = format!("the readings `{name}` are no UTF-8 text: {what}");
            (
                ErrorKind::NotUtf8,
                message,
                "save the sheet as CSV in UTF-8",
            )
        }
    };
    (kind, message, hint.to_owned())
}

fn no_more_lines(path: &Path, fault: &WriteFault) -> (ErrorKind, String, String) {
    let message = format!(
        "{} takes no more lines: {}",
        path.display(),
        fault.words().0
    );
    let hint = "make room, or go on in another file; all lines before are whole";
    (ErrorKind::CannotWrite, message, hint.to_owned())
}

fn of_copy(fault: &CopyFault) -> (ErrorKind, String, String) {
    let by_hand =
        "put the values of the report into the file by hand, or write the copy beside the lab";
    let (kind, message, hint) = match fault {
        CopyFault::ReadOnce(lab) => (
            ErrorKind::UnreadableFile,
            format!(
                "{} can be read only once, and --write copies it",
                lab.display()
            ),
            "give --write a lab that is a plain file; nothing was written",
        ),
        CopyFault::Unreadable(lab, why) => (
            ErrorKind::UnreadableFile,
            format!("{} cannot be read again: {why}", lab.display()),
            "give --write a lab that is a file",
        ),
        CopyFault::NoPlace(lab, why) => (
            ErrorKind::NotInThisFile,
            format!("{} cannot take the values: {why}", lab.display()),
            by_hand,
        ),
        CopyFault::Invalid(first) => (
            ErrorKind::NotInThisFile,
            format!("the copy would be no valid inventory: {first}"),
            by_hand,
        ),
        CopyFault::OtherValues => (
            ErrorKind::NotInThisFile,
            "the copy would not say what was calibrated; `--set` changes one of the values"
                .to_owned(),
            by_hand,
        ),
    };
    (kind, message, hint.to_owned())
}

#[cfg(test)]
mod tests {
    use std::io::{self, Error};
    use std::path::Path;

    use super::WriteFault;

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
            let fault = WriteFault::of_new_file(Path::new("here"), &Error::from(kind));
            let (why, _) = fault.words();
            assert!(why.contains(reason), "{why}");
        }
    }
}
