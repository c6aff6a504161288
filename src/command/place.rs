//! Where a path leads to, and whether a file could be written there.

use std::fs::{self, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};

use super::file_error::{Why, cannot_write, of_folder};
use crate::diagnose::Diagnostic;
use crate::pipe;

/// Most links that are followed to a file.
const MOST_LINKS: usize = 40;

/// The folder of a path.
pub(super) fn folder_of(path: &Path) -> PathBuf {
    let parent = path.parent();
    let named = parent.filter(|folder| !folder.as_os_str().is_empty());
    named.unwrap_or(Path::new(".")).to_owned()
}

/// Where a path leads to by links, whether or not there is a file.
pub(super) fn target(path: &Path) -> PathBuf {
    let mut path = path.to_owned();
    for _ in 0..MOST_LINKS {
        match fs::read_link(&path) {
            Ok(next) => path = folder_of(&path).join(next),
            Err(_) => break,
        }
    }
    path
}

/// The folder in which a file could be written under that path.
pub(super) fn place(path: &Path) -> Result<PathBuf, Why> {
    if path.is_dir() {
        return Err(("it is a directory".to_owned(), "name a file"));
    }
    if path.as_os_str().is_empty() {
        return Err(("the name is empty".to_owned(), "name a file"));
    }
    let target = target(path);
    if pipe::is_plain(&target) && target.is_file() && !is_writable(&target) {
        let hint = "name another file, or change who may write to this one";
        return Err(("you may only read it".to_owned(), hint));
    }
    let folder = folder_of(&target);
    match fs::metadata(&folder) {
        Ok(there) if there.is_dir() => Ok(folder),
        Ok(_) => Err((
            format!("{} is no folder", folder.display()),
            "name a file in a folder",
        )),
        Err(error) => Err(of_folder(&folder, &error)),
    }
}

/// Whether a file that is there may be written, which an administrator may by right but hardly means to.
fn is_writable(path: &Path) -> bool {
    let is_closed = |there: fs::Metadata| there.permissions().readonly();
    let is_refused = |error: io::Error| error.kind() == io::ErrorKind::PermissionDenied;
    let opened = OpenOptions::new().write(true).open(path);
    !fs::metadata(path).is_ok_and(is_closed) && !opened.is_err_and(is_refused)
}

/// Refuses a file that could not be written.
pub(super) fn has_place(path: &Path) -> Result<(), Diagnostic> {
    let place = place(path).map_err(|why| cannot_write(path, why, &[]));
    place.map(|_| ())
}

/// Whether both names lead to one file, or would once it is there.
pub(super) fn is_same(one: &Path, other: &Path) -> bool {
    let identity = |path: &Path| {
        let target = target(path);
        let folder = fs::canonicalize(folder_of(&target)).ok()?;
        Some(folder.join(target.file_name()?))
    };
    one == other || identity(one).is_some_and(|one| identity(other) == Some(one)) || {
        let numbers = [one, other].map(number_of);
        numbers[0].is_some() && numbers[0] == numbers[1]
    }
}

/// The device and number of a plain file, which all its names share.
#[cfg(unix)]
fn number_of(path: &Path) -> Option<(u64, u64)> {
    use std::os::unix::fs::MetadataExt;
    let there = fs::metadata(path).ok().filter(fs::Metadata::is_file)?;
    Some((there.dev(), there.ino()))
}

#[cfg(not(unix))]
fn number_of(_: &Path) -> Option<(u64, u64)> {
    None
}

#[cfg(test)]
mod tests {
    use std::path::{Path, PathBuf};

    use super::place;

    #[test]
    fn a_place_is_a_file_in_a_folder() {
        assert_eq!(place(Path::new("log.md")), Ok(PathBuf::from(".")));
        for (path, reason) in [
            ("src", "it is a directory"),
            ("", "the name is empty"),
            ("no-such-folder/log.md", "there is no folder no-such-folder"),
            ("Cargo.toml/log.md", "Cargo.toml is no folder"),
        ] {
            let (why, _) = place(Path::new(path)).unwrap_err();
            assert_eq!(why, reason);
        }
    }
}
