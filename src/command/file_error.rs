//! What is wrong with files that a call names, other than inventories, as data.

mod words;

use std::io;
use std::path::{Path, PathBuf};

use crate::diagnose::{Diagnostic, Diagnostics};

/// What is wrong with a file that a call names.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum FileError {
    /// It cannot be written, and which files were before that was known.
    CannotWrite(PathBuf, WriteFault, Vec<PathBuf>),
    /// It takes no further line, and why.
    NoMoreLines(PathBuf, WriteFault),
    /// It is there already, and may be replaced only with `--force`.
    Exists(PathBuf),
    /// Two options name one file.
    Twice([&'static str; 2], PathBuf),
    /// A picture that is none by its name.
    NotSvg(PathBuf),
    /// The answer was read from it.
    IsInput(PathBuf),
    /// It holds readings of other columns.
    OtherColumns(PathBuf),
    /// It holds no Linux host's files.
    NoHost(PathBuf, HostFault),
    /// It cannot be read as readings.
    Readings(PathBuf, ReadFault),
    /// No copy of the lab can be written.
    Copy(CopyFault),
}

/// Why a file cannot be written.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum WriteFault {
    /// It is a folder.
    IsFolder,
    /// Its name is empty.
    NoName,
    /// The file that is there may not be written.
    ReadOnly,
    /// Its owner could not be kept.
    Owner,
    /// There is no such folder.
    NoFolder(PathBuf),
    /// What should be its folder is none.
    NotAFolder(PathBuf),
    /// The folder may not be looked into.
    ClosedFolder(PathBuf),
    /// The folder takes no new file, and what the system reports.
    NewFile(PathBuf, io::ErrorKind, String),
    /// What the system reports of the file.
    System(io::ErrorKind, String),
}

/// Why a folder holds no host.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum HostFault {
    /// What the system reports.
    System(io::ErrorKind, String),
    /// It holds neither of the files that every host has.
    NoFiles,
}

/// Why readings cannot be read.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum ReadFault {
    /// What the system reports.
    System(io::ErrorKind, String),
    /// More than this many MiB.
    TooLarge(u64),
    /// The first byte that is not UTF-8; none of UTF-16.
    NotUtf8(Option<usize>),
}

/// Why no copy of the lab is written.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum CopyFault {
    /// The lab can be read only once.
    ReadOnce(PathBuf),
    /// The lab cannot be read again.
    Unreadable(PathBuf, String),
    /// The lab's own file does not have what is to be changed.
    NoPlace(PathBuf, String),
    /// The copy would be no lab, by its first error.
    Invalid(String),
    /// The copy would hold other values than were counted with.
    OtherValues,
}

impl WriteFault {
    /// What the system reports of a file.
    pub fn of_file(error: &io::Error) -> WriteFault {
        WriteFault::System(error.kind(), error.to_string())
    }

    /// What the system reports of a new file in a folder.
    pub fn of_new_file(folder: &Path, error: &io::Error) -> WriteFault {
        // Where the draft was to be is added to the message of the system; that is not shown.
        let message = error.to_string();
        let message = message.split(" at path ").next().unwrap_or_default();
        WriteFault::NewFile(folder.to_owned(), error.kind(), message.to_owned())
    }
}

impl CopyFault {
    /// A copy that would be no lab.
    pub fn invalid(errors: &Diagnostics) -> CopyFault {
        let first = errors.list().first().map(|error| error.message.clone());
        CopyFault::Invalid(first.unwrap_or_default())
    }
}

impl From<CopyFault> for Diagnostics {
    fn from(fault: CopyFault) -> Diagnostics {
        FileError::Copy(fault).into()
    }
}

impl From<FileError> for Diagnostics {
    fn from(error: FileError) -> Diagnostics {
        let (kind, message, hint) = error.words();
        Diagnostic::new(kind, message).hint(hint).into()
    }
}

impl FileError {
    /// A file that cannot be written, before any other was.
    pub fn cannot_write(path: &Path, fault: WriteFault) -> FileError {
        FileError::CannotWrite(path.to_owned(), fault, Vec::new())
    }
}
