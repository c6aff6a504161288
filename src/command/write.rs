//! Writes text to the standard output or to a file, whole or not at all.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::output_error::{Reason, cannot_write, exists, of_file, of_new_file, refused};
use crate::diagnose::{Diagnostics, ErrorKind};
use crate::pipe;
use crate::report::chart::Chart;
use crate::report::chart::svg;

/// Writes text to the standard output. A reader that has gone away is no error.
pub(super) fn print(text: &str, stdout: &mut dyn Write) -> Result<(), Diagnostics> {
    let written = stdout.write_all(text.as_bytes());
    match written.and_then(|()| stdout.flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            Err(cannot_write(Path::new("the report"), of_file(&error)))
        }
        Ok(()) | Err(_) => Ok(()),
    }
}

/// Writes text to a file that is none of `inputs`, whole or not at all, or to the standard output where none is named.
pub(super) fn put(
    text: &str,
    file: Option<&Path>,
    inputs: &[PathBuf],
    stdout: &mut dyn Write,
) -> Result<(), Diagnostics> {
    let Some(path) = file else {
        return print(text, stdout);
    };
    spare_inputs(path, inputs)?;
    write_whole(path, text.as_bytes())
}

/// Refuses a file whose folder is not there, or that is a folder itself.
pub(super) fn has_place(path: &Path) -> Result<(), Diagnostics> {
    let place = place(path).map_err(|why| cannot_write(path, why));
    place.map(|_| ())
}

/// Draws a chart to an SVG file, whole or not at all.
pub(super) fn write_picture(path: &Path, chart: &Chart) -> Result<(), Diagnostics> {
    let text = svg::render(chart).map_err(|error| {
        let error = io::Error::other(format!("the picture cannot be drawn: {error}"));
        cannot_write(path, of_file(&error))
    })?;
    write_whole(path, text.as_bytes())
}

/// Writes a new file whole or not at all; one that is there stays as it is.
///
/// # Errors
/// A file that is there, and whatever keeps a new one from being written.
pub(super) fn create(path: &Path, text: &str) -> Result<(), Diagnostics> {
    if fs::symlink_metadata(path).is_ok() {
        return Err(exists(path));
    }
    let draft = draft(path, text.as_bytes()).map_err(|why| cannot_write(path, why))?;
    // Somebody may have been quicker since it was looked for.
    match draft.persist_noclobber(path).map_err(|error| error.error) {
        Ok(_) => Ok(()),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Err(exists(path)),
        Err(error) => Err(cannot_write(path, of_new_file(folder_of(path), &error))),
    }
}

/// Writes a file whole or not at all: beside its place first, then moved there in one step. A link stays a link, and the
/// permissions of a file that was there stay as they were.
pub(super) fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), Diagnostics> {
    replace(path, bytes).map_err(|why| cannot_write(path, why))
}

fn replace(path: &Path, bytes: &[u8]) -> Result<(), Reason> {
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    // A pipe or device cannot be replaced by a file; it is written as it is.
    if !pipe::is_plain(&target) {
        return pipe::write(path, bytes).map_err(|error| of_file(&error));
    }
    let there = fs::metadata(&target).ok();
    let draft = draft(&target, bytes)?;
    if let Some(there) = there {
        let kept = draft.as_file().set_permissions(there.permissions());
        kept.map_err(|error| of_file(&error))?;
    }
    let moved = draft.persist(&target);
    moved.map_err(|error| of_new_file(folder_of(&target), &error.error))?;
    Ok(())
}

fn folder_of(path: &Path) -> &Path {
    let parent = path.parent();
    let named = parent.filter(|folder| !folder.as_os_str().is_empty());
    named.unwrap_or(Path::new("."))
}

/// The folder of a file that could be written there.
fn place(path: &Path) -> Result<&Path, Reason> {
    let folder = folder_of(path);
    let shown = folder.display();
    if path.is_dir() {
        return Err(("it is a directory".to_owned(), "name a file"));
    }
    if path.as_os_str().is_empty() {
        return Err(("the name is empty".to_owned(), "name a file"));
    }
    Err(match fs::metadata(folder) {
        Ok(there) if there.is_dir() => return Ok(folder),
        Ok(_) => (format!("{shown} is no folder"), "name a file in a folder"),
        Err(error) if error.kind() == io::ErrorKind::PermissionDenied => (
            format!("you may not look into the folder {shown}"),
            "name a file in a folder that you may write to",
        ),
        Err(_) => (
            format!("there is no folder {shown}"),
            "make the folder first, or name a file in one that is there",
        ),
    })
}

/// The bytes in a new file beside the wanted place, with the permissions any new file would get.
fn draft(path: &Path, bytes: &[u8]) -> Result<tempfile::NamedTempFile, Reason> {
    let folder = place(path)?;
    let mut builder = tempfile::Builder::new();
    builder.prefix(".berthage-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let made = || {
        let mut draft = builder.tempfile_in(folder)?;
        draft.write_all(bytes)?;
        draft.as_file().sync_all()?;
        Ok(draft)
    };
    made().map_err(|error| of_new_file(folder, &error))
}

/// Refuses a report that would be written over a file that it was read from.
pub(super) fn spare_inputs(path: &Path, inputs: &[PathBuf]) -> Result<(), Diagnostics> {
    if !inputs.iter().any(|input| is_same(path, input)) {
        return Ok(());
    }
    let path = path.display();
    let message = format!("{path} is a file that this answer was read from");
    let hint = "choose another file for --output";
    Err(refused(ErrorKind::CannotWrite, message, hint))
}

/// Whether both names lead to one file that is there.
pub(super) fn is_same(one: &Path, other: &Path) -> bool {
    match (fs::canonicalize(one), fs::canonicalize(other)) {
        (Ok(one), Ok(other)) => one == other,
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use std::io::{self, Error};
    use std::path::Path;

    use super::{place, write_whole};
    use crate::command::output_error::of_new_file;

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

    #[test]
    fn a_place_is_a_file_in_a_folder() {
        assert_eq!(place(Path::new("log.md")).ok(), Some(Path::new(".")));
        for (path, reason) in [
            ("src", "it is a directory"),
            ("", "the name is empty"),
            ("no-such-folder/log.md", "there is no folder no-such-folder"),
            ("Cargo.toml/log.md", "Cargo.toml is no folder"),
        ] {
            assert_eq!(place(Path::new(path)).unwrap_err().0, reason);
        }
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn the_name_of_the_draft_is_not_shown() {
        // A folder of the kernel's takes no files, not even from an administrator.
        let shown = write_whole(Path::new("/proc/log.md"), b"text").unwrap_err();
        let shown = shown.to_string();
        assert!(
            shown.contains("/proc") && !shown.contains(".berthage"),
            "{shown}"
        );
    }
}
