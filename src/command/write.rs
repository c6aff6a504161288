//! Writes text to the standard output or to a file, whole or not at all.

use std::fmt;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind, source::Sources};
use crate::pipe;
use crate::report::chart::Chart;
use crate::report::svg;

/// Writes text to the standard output. A reader that has gone away is no error.
pub(super) fn print(text: &str, stdout: &mut dyn Write) -> Result<(), Diagnostics> {
    match stdout
        .write_all(text.as_bytes())
        .and_then(|()| stdout.flush())
    {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            Err(cannot_write(Path::new("the report"), &error.into()))
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
    match file {
        Some(path) => {
            spare_inputs(path, inputs)?;
            write_whole(path, text.as_bytes()).map_err(|error| cannot_write(path, &error))
        }
        None => print(text, stdout),
    }
}

/// Refuses a picture that could not be written later: one that is none by its name, or that `inputs` were read from.
pub(super) fn can_write(path: &Path, inputs: &[PathBuf]) -> Result<(), Diagnostics> {
    is_picture(path)?;
    spare_inputs(path, inputs)?;
    has_place(path)
}

/// Refuses a picture that is none by its name.
pub(super) fn is_picture(path: &Path) -> Result<(), Diagnostics> {
    let is_picture = path
        .extension()
        .is_some_and(|end| end.eq_ignore_ascii_case("svg"));
    if is_picture {
        return Ok(());
    }
    let message = format!(
        "a picture is drawn as SVG, but {} is none by its name",
        path.display()
    );
    let error = Diagnostic::new(ErrorKind::NotSvg, message)
        .hint("name a file that ends in .svg; nothing was written");
    Err(Diagnostics::new(Sources::default(), vec![error]))
}

/// Refuses a file whose folder is not there, or that is a folder itself.
pub(super) fn has_place(path: &Path) -> Result<(), Diagnostics> {
    match place(path) {
        Ok(_) => Ok(()),
        Err(error) => Err(cannot_write(path, &error.into())),
    }
}

/// Draws a chart to an SVG file, whole or not at all.
pub(super) fn write_picture(path: &Path, chart: &Chart) -> Result<(), Diagnostics> {
    let drawn =
        svg::render(chart).map_err(|error| anyhow::anyhow!("the picture cannot be drawn: {error}"));
    drawn
        .and_then(|text| write_whole(path, text.as_bytes()))
        .map_err(|error| cannot_write(path, &error))
}

/// Writes a new file whole or not at all; one that is there stays as it is.
///
/// # Errors
/// A file that is there, and whatever keeps a new one from being written.
pub(super) fn create(path: &Path, text: &str) -> Result<(), Diagnostics> {
    let there = || {
        let error = Diagnostic::new(
            ErrorKind::FileExists,
            format!("{} is there already", path.display()),
        )
        .hint("name another file, or add --force to replace this one; nothing was written");
        Diagnostics::new(Sources::default(), vec![error])
    };
    if fs::symlink_metadata(path).is_ok() {
        return Err(there());
    }
    let draft = draft(path, text.as_bytes()).map_err(|error| cannot_write(path, &error))?;
    // Somebody may have been quicker since it was looked for.
    match draft.persist_noclobber(path) {
        Ok(_) => Ok(()),
        Err(error) if error.error.kind() == io::ErrorKind::AlreadyExists => Err(there()),
        Err(error) => Err(cannot_write(
            path,
            &failed(folder_of(path), &error.error).into(),
        )),
    }
}

fn folder_of(path: &Path) -> &Path {
    let parent = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    parent.unwrap_or(Path::new("."))
}

/// Why a file cannot be written, in the words of a person, and what to do instead.
#[derive(Debug)]
struct Unwritable {
    why: String,
    mend: &'static str,
}

impl fmt::Display for Unwritable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.why)
    }
}

impl std::error::Error for Unwritable {}

/// What the system said of a file in this folder. The name of the draft is none of the person's business.
fn failed(folder: &Path, error: &io::Error) -> Unwritable {
    let folder = folder.display();
    let (why, mend) = match error.kind() {
        io::ErrorKind::PermissionDenied => (
            format!("you may not write to the folder {folder}"),
            "name a file in a folder that you may write to",
        ),
        io::ErrorKind::ReadOnlyFilesystem => (
            format!("the folder {folder} is on a file system that can only be read"),
            "name a file in a folder that you may write to",
        ),
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => (
            format!("there is no room left in the folder {folder}"),
            "make room, or name a file on another disk",
        ),
        io::ErrorKind::InvalidFilename => (
            "its name is too long, or has signs that no name may have here".to_owned(),
            "give it a shorter name",
        ),
        _ => {
            let said = error.to_string();
            // Where the draft was to be is added to what the system said.
            let said = said.split(" at path ").next().unwrap_or_default();
            (
                format!("the folder {folder} takes no new file: {said}"),
                "name a file in another folder",
            )
        }
    };
    Unwritable { why, mend }
}

/// The folder of a file that could be written there.
fn place(path: &Path) -> Result<&Path, Unwritable> {
    let folder = folder_of(path);
    if path.is_dir() || path.as_os_str().is_empty() {
        let why = if path.is_dir() {
            "it is a directory"
        } else {
            "the name is empty"
        };
        return Err(Unwritable {
            why: why.to_owned(),
            mend: "name a file",
        });
    }
    match fs::metadata(folder) {
        Ok(there) if there.is_dir() => Ok(folder),
        Ok(_) => Err(Unwritable {
            why: format!("{} is no folder", folder.display()),
            mend: "name a file in a folder",
        }),
        Err(error) if error.kind() == io::ErrorKind::PermissionDenied => Err(Unwritable {
            why: format!("you may not look into the folder {}", folder.display()),
            mend: "name a file in a folder that you may write to",
        }),
        Err(_) => Err(Unwritable {
            why: format!("there is no folder {}", folder.display()),
            mend: "make the folder first, or name a file in one that is there",
        }),
    }
}

/// Writes a file whole or not at all: beside its place first, then moved there in one step. A link stays a link, and the
/// permissions of a file that was there stay as they were.
pub(super) fn write_whole(path: &Path, bytes: &[u8]) -> anyhow::Result<()> {
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    // A pipe or device cannot be replaced by a file; it is written as it is.
    if !pipe::is_plain(&target) {
        return Ok(pipe::write(path, bytes)?);
    }
    let there = fs::metadata(&target).ok();
    let draft = draft(&target, bytes)?;
    if let Some(there) = there {
        draft.as_file().set_permissions(there.permissions())?;
    }
    let folder = folder_of(&target);
    let kept = draft.persist(&target);
    kept.map_err(|error| failed(folder, &error.error))?;
    Ok(())
}

/// The bytes in a new file beside the wanted place.
fn draft(path: &Path, bytes: &[u8]) -> anyhow::Result<tempfile::NamedTempFile> {
    let folder = place(path)?;
    let failed = |error: io::Error| failed(folder, &error);
    let mut draft = new_file(folder).map_err(failed)?;
    draft.write_all(bytes).map_err(failed)?;
    draft.as_file().sync_all().map_err(failed)?;
    Ok(draft)
}

/// Refuses a report that would be written over a file that it was read from.
fn spare_inputs(path: &Path, inputs: &[PathBuf]) -> Result<(), Diagnostics> {
    let same = |input: &PathBuf| match (fs::canonicalize(path), fs::canonicalize(input)) {
        (Ok(path), Ok(input)) => path == input,
        _ => false,
    };
    if !inputs.iter().any(same) {
        return Ok(());
    }
    let message = format!(
        "{} is a file that this answer was read from",
        path.display()
    );
    let error = Diagnostic::new(ErrorKind::CannotWrite, message)
        .hint("choose another file for --output; nothing was written");
    Err(Diagnostics::new(Sources::default(), vec![error]))
}

/// A new file beside the wanted place, with the permissions any new file would get.
fn new_file(folder: &Path) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".berthage-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder)
}

pub(super) fn cannot_write(path: &Path, error: &anyhow::Error) -> Diagnostics {
    let mend = match error.downcast_ref::<Unwritable>() {
        Some(unwritable) => unwritable.mend,
        None => match error.downcast_ref::<io::Error>().map(io::Error::kind) {
            Some(io::ErrorKind::StorageFull) => "make room there, or choose another place",
            _ => "choose a file in a folder that exists and that you may write to",
        },
    };
    let error = Diagnostic::new(
        ErrorKind::CannotWrite,
        format!("{} cannot be written: {error:#}", path.display()),
    )
    .hint(format!("{mend}; nothing was written"));
    Diagnostics::new(Sources::default(), vec![error])
}

#[cfg(test)]
mod tests {
    use std::io::{self, Error};
    use std::path::Path;

    use super::{failed, place, write_whole};

    #[test]
    fn what_the_system_says_is_told_of_the_folder() {
        for (kind, told) in [
            (
                io::ErrorKind::PermissionDenied,
                "you may not write to the folder here",
            ),
            (io::ErrorKind::ReadOnlyFilesystem, "that can only be read"),
            (io::ErrorKind::StorageFull, "there is no room left"),
            (io::ErrorKind::InvalidFilename, "too long"),
            (io::ErrorKind::TimedOut, "takes no new file: timed out"),
        ] {
            let why = failed(Path::new("here"), &Error::from(kind)).why;
            assert!(why.contains(told), "{why}");
        }
    }

    #[test]
    fn a_place_is_a_file_in_a_folder() {
        assert_eq!(place(Path::new("log.md")).ok(), Some(Path::new(".")));
        for (path, told) in [
            ("src", "it is a directory"),
            ("", "the name is empty"),
            ("no-such-folder/log.md", "there is no folder no-such-folder"),
            ("Cargo.toml/log.md", "Cargo.toml is no folder"),
        ] {
            assert_eq!(place(Path::new(path)).unwrap_err().why, told);
        }
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn the_name_of_the_draft_is_not_told() {
        // A folder of the kernel's takes no files, not even from an administrator.
        let told = write_whole(Path::new("/proc/log.md"), b"text").unwrap_err();
        let told = format!("{told:#}");
        assert!(
            told.contains("/proc") && !told.contains(".berthage"),
            "{told}"
        );
    }
}
