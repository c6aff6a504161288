//! Why a file that a call names is not written, as data; its text is made here.

use std::io;
use std::path::{Path, PathBuf};

use crate::diagnose::source::Sources;
use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind};

/// Why nothing was written.
#[derive(Debug)]
pub(super) enum OutputError {
    /// A picture that is none by its name.
    NotSvg(PathBuf),
    /// The file is there already.
    Exists(PathBuf),
    /// The answer was read from this file.
    IsInput(PathBuf),
    /// The file holds readings of other columns.
    OtherColumns(PathBuf),
    /// The picture and the report have one file.
    SameFile(PathBuf),
    /// The file cannot be written.
    Unwritable(PathBuf, Unwritable),
}

/// Why a file cannot be written.
#[derive(Debug)]
pub(super) enum Unwritable {
    /// A folder stands in its place.
    IsFolder,
    /// It has no name.
    NoName,
    /// Its name is too long or has letters that no name may have.
    InvalidName,
    /// Something about the folder that it would lie in.
    Folder(PathBuf, Folder),
    /// Anything else.
    Other(anyhow::Error),
}

/// Why a folder takes no new file.
#[derive(Debug)]
pub(super) enum Folder {
    /// It is something else.
    SomethingElse,
    /// It is not there.
    Missing,
    /// It may not be looked into.
    Hidden,
    /// It may not be written to.
    NotAllowed,
    /// It can only be read.
    ReadOnly,
    /// There is no room left in it.
    Full,
    /// What the system reports.
    Other(String),
}

impl Unwritable {
    /// From the error of the system about a new file in this folder.
    pub(super) fn in_folder(folder: &Path, error: &io::Error) -> Unwritable {
        let why = match error.kind() {
            io::ErrorKind::InvalidFilename => return Unwritable::InvalidName,
            io::ErrorKind::PermissionDenied => Folder::NotAllowed,
            io::ErrorKind::ReadOnlyFilesystem => Folder::ReadOnly,
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Folder::Full,
            _ => {
                // Where the draft was to be is added to the message of the system; that is not shown.
                let message = error.to_string();
                let message = message.split(" at path ").next().unwrap_or_default();
                Folder::Other(message.to_owned())
            }
        };
        Unwritable::Folder(folder.to_owned(), why)
    }

    /// Why, and what to do instead.
    pub(super) fn words(&self) -> (String, &'static str) {
        let writable = "name a file in a folder that you may write to";
        let fixed = |why: &str, hint| (why.to_owned(), hint);
        let (folder, why) = match self {
            Unwritable::Folder(folder, why) => (folder.display(), why),
            Unwritable::IsFolder => return fixed("it is a directory", "name a file"),
            Unwritable::NoName => return fixed("the name is empty", "name a file"),
            Unwritable::InvalidName => {
                let why = "its name is too long, or has signs that no name may have here";
                return fixed(why, "give it a shorter name");
            }
            Unwritable::Other(error) => {
                let system = error.downcast_ref::<io::Error>().map(io::Error::kind);
                let hint = match system {
                    Some(io::ErrorKind::StorageFull) => "make room there, or choose another place",
                    _ => "choose a file in a folder that exists and that you may write to",
                };
                return (format!("{error:#}"), hint);
            }
        };
        match why {
            Folder::SomethingElse => (format!("{folder} is no folder"), "name a file in a folder"),
            Folder::Missing => (
                format!("there is no folder {folder}"),
                "make the folder first, or name a file in one that is there",
            ),
            Folder::Hidden => (
                format!("you may not look into the folder {folder}"),
                writable,
            ),
            Folder::NotAllowed => (
                format!("you may not write to the folder {folder}"),
                writable,
            ),
            Folder::ReadOnly => (
                format!("the folder {folder} is on a file system that can only be read"),
                writable,
            ),
            Folder::Full => (
                format!("there is no room left in the folder {folder}"),
                "make room, or name a file on another disk",
            ),
            Folder::Other(message) => (
                format!("the folder {folder} takes no new file: {message}"),
                "name a file in another folder",
            ),
        }
    }
}

impl From<io::Error> for Unwritable {
    fn from(error: io::Error) -> Unwritable {
        Unwritable::Other(error.into())
    }
}

impl From<OutputError> for Diagnostics {
    fn from(error: OutputError) -> Diagnostics {
        let nothing = |hint: &str| format!("{hint}; nothing was written");
        let (kind, message, hint) = match error {
            OutputError::NotSvg(path) => {
                let path = path.display();
                let message = format!("a picture is drawn as SVG, but {path} is none by its name");
                let hint = nothing("name a file that ends in .svg");
                (ErrorKind::NotSvg, message, hint)
            }
            OutputError::Exists(path) => {
                let message = format!("{} is there already", path.display());
                let hint = nothing("name another file, or add --force to replace this one");
                (ErrorKind::FileExists, message, hint)
            }
            OutputError::IsInput(path) => {
                let path = path.display();
                let message = format!("{path} is a file that this answer was read from");
                let hint = nothing("choose another file for --output");
                (ErrorKind::CannotWrite, message, hint)
            }
            OutputError::OtherColumns(path) => {
                let path = path.display();
                let message = format!("{path} holds other columns than this host's readings have");
                let hint = nothing("give another file");
                (ErrorKind::DifferentColumns, message, hint)
            }
            OutputError::SameFile(path) => {
                let message = format!("--chart and --output both name {}", path.display());
                let hint = "give each a file of its own".to_owned();
                (ErrorKind::CannotWrite, message, hint)
            }
            OutputError::Unwritable(path, why) => {
                let (why, hint) = why.words();
                let message = format!("{} cannot be written: {why}", path.display());
                (ErrorKind::CannotWrite, message, nothing(hint))
            }
        };
        let error = Diagnostic::new(kind, message).hint(hint);
        Diagnostics::new(Sources::default(), vec![error])
    }
}
