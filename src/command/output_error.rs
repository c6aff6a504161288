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
    /// What should be its folder is something else.
    NotAFolder(PathBuf),
    /// Its folder is not there.
    NoFolder(PathBuf),
    /// Its folder may not be looked into.
    HiddenFolder(PathBuf),
    /// Its folder may not be written to.
    NotAllowed(PathBuf),
    /// Its folder can only be read.
    ReadOnly(PathBuf),
    /// There is no room left in its folder.
    NoRoom(PathBuf),
    /// Its folder takes no new file, for another reason.
    Refused(PathBuf, String),
    /// Anything else.
    Other(anyhow::Error),
}

impl Unwritable {
    /// What the system says of a new file in this folder.
    pub(super) fn in_folder(folder: &Path, error: &io::Error) -> Unwritable {
        let folder = folder.to_owned();
        match error.kind() {
            io::ErrorKind::PermissionDenied => Unwritable::NotAllowed(folder),
            io::ErrorKind::ReadOnlyFilesystem => Unwritable::ReadOnly(folder),
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Unwritable::NoRoom(folder),
            io::ErrorKind::InvalidFilename => Unwritable::InvalidName,
            _ => {
                // Where the draft was to be is added to what the system said; its name is not the person's business.
                let said = error.to_string();
                let said = said.split(" at path ").next().unwrap_or_default();
                Unwritable::Refused(folder, said.to_owned())
            }
        }
    }

    /// Why, in words.
    pub(super) fn reason(&self) -> String {
        match self {
            Unwritable::IsFolder => "it is a directory".to_owned(),
            Unwritable::NoName => "the name is empty".to_owned(),
            Unwritable::InvalidName => {
                "its name is too long, or has signs that no name may have here".to_owned()
            }
            Unwritable::NotAFolder(folder) => format!("{} is no folder", folder.display()),
            Unwritable::NoFolder(folder) => format!("there is no folder {}", folder.display()),
            Unwritable::HiddenFolder(folder) => {
                format!("you may not look into the folder {}", folder.display())
            }
            Unwritable::NotAllowed(folder) => {
                format!("you may not write to the folder {}", folder.display())
            }
            Unwritable::ReadOnly(folder) => format!(
                "the folder {} is on a file system that can only be read",
                folder.display()
            ),
            Unwritable::NoRoom(folder) => {
                format!("there is no room left in the folder {}", folder.display())
            }
            Unwritable::Refused(folder, said) => {
                format!("the folder {} takes no new file: {said}", folder.display())
            }
            Unwritable::Other(error) => format!("{error:#}"),
        }
    }

    /// What to do instead.
    fn hint(&self) -> &'static str {
        match self {
            Unwritable::IsFolder | Unwritable::NoName => "name a file",
            Unwritable::InvalidName => "give it a shorter name",
            Unwritable::NotAFolder(_) => "name a file in a folder",
            Unwritable::NoFolder(_) => "make the folder first, or name a file in one that is there",
            Unwritable::HiddenFolder(_) | Unwritable::NotAllowed(_) | Unwritable::ReadOnly(_) => {
                "name a file in a folder that you may write to"
            }
            Unwritable::NoRoom(_) => "make room, or name a file on another disk",
            Unwritable::Refused(..) => "name a file in another folder",
            Unwritable::Other(error) => {
                match error.downcast_ref::<io::Error>().map(io::Error::kind) {
                    Some(io::ErrorKind::StorageFull) => "make room there, or choose another place",
                    _ => "choose a file in a folder that exists and that you may write to",
                }
            }
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
        let (kind, message, hint) = match error {
            OutputError::NotSvg(path) => (
                ErrorKind::NotSvg,
                format!(
                    "a picture is drawn as SVG, but {} is none by its name",
                    path.display()
                ),
                "name a file that ends in .svg; nothing was written".to_owned(),
            ),
            OutputError::Exists(path) => (
                ErrorKind::FileExists,
                format!("{} is there already", path.display()),
                "name another file, or add --force to replace this one; nothing was written"
                    .to_owned(),
            ),
            OutputError::IsInput(path) => (
                ErrorKind::CannotWrite,
                format!(
                    "{} is a file that this answer was read from",
                    path.display()
                ),
                "choose another file for --output; nothing was written".to_owned(),
            ),
            OutputError::OtherColumns(path) => (
                ErrorKind::DifferentColumns,
                format!(
                    "{} holds other columns than this host's readings have",
                    path.display()
                ),
                "give another file; nothing was written".to_owned(),
            ),
            OutputError::SameFile(path) => (
                ErrorKind::CannotWrite,
                format!("--chart and --output both name {}", path.display()),
                "give each a file of its own".to_owned(),
            ),
            OutputError::Unwritable(path, why) => (
                ErrorKind::CannotWrite,
                format!("{} cannot be written: {}", path.display(), why.reason()),
                format!("{}; nothing was written", why.hint()),
            ),
        };
        let error = Diagnostic::new(kind, message).hint(hint);
        Diagnostics::new(Sources::default(), vec![error])
    }
}
