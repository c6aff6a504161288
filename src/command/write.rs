//! Writes text to the standard output or to a file, whole or not at all.

use std::fs;
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

use anyhow::Context;

use crate::diagnose::{Diagnostic, Diagnostics, codes::Code, source::Sources};
use crate::report::chart::Chart;
use crate::report::svg;

/// Writes text to the standard output. A reader that has gone away is no error.
pub(super) fn print(text: &str, stdout: &mut dyn Write) -> Result<(), Diagnostics> {
    match stdout
        .write_all(text.as_bytes())
        .and_then(|()| stdout.flush())
    {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
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
    let is_picture = path
        .extension()
        .is_some_and(|end| end.eq_ignore_ascii_case("svg"));
    if !is_picture {
        let message = format!(
            "a picture is drawn as SVG, but {} is none by its name",
            path.display()
        );
        let error = Diagnostic::new(Code::NotAPicture, message)
            .help("name a file that ends in .svg; nothing was written");
        return Err(Diagnostics::new(Sources::default(), vec![error]));
    }
    spare_inputs(path, inputs)?;
    let folder = folder_of(path);
    if path.is_dir() {
        return Err(cannot_write(path, &anyhow::anyhow!("it is a directory")));
    }
    if !folder.is_dir() {
        return Err(cannot_write(
            path,
            &anyhow::anyhow!("there is no folder {}", folder.display()),
        ));
    }
    Ok(())
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
            Code::FileThere,
            format!("{} is there already", path.display()),
        )
        .help("name another file, or add --force to replace this one; nothing was written");
        Diagnostics::new(Sources::default(), vec![error])
    };
    if fs::symlink_metadata(path).is_ok() {
        return Err(there());
    }
    let draft = draft(path, text.as_bytes()).map_err(|error| cannot_write(path, &error))?;
    // Somebody may have been quicker since it was looked for.
    match draft.persist_noclobber(path) {
        Ok(_) => Ok(()),
        Err(error) if error.error.kind() == ErrorKind::AlreadyExists => Err(there()),
        Err(error) => Err(cannot_write(path, &error.error.into())),
    }
}

fn folder_of(path: &Path) -> &Path {
    let parent = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    parent.unwrap_or(Path::new("."))
}

/// Writes a file whole or not at all: beside its place first, then moved there in one step. A link stays a link, and the
/// permissions of a file that was there stay as they were.
pub(super) fn write_whole(path: &Path, bytes: &[u8]) -> anyhow::Result<()> {
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let there = fs::metadata(&target).ok();
    // A pipe or device cannot be replaced by a file; it is written as it is.
    if there
        .as_ref()
        .is_some_and(|there| !there.is_file() && !there.is_dir())
    {
        return Ok(fs::OpenOptions::new()
            .write(true)
            .open(&target)?
            .write_all(bytes)?);
    }
    let draft = draft(&target, bytes)?;
    if let Some(there) = there {
        draft.as_file().set_permissions(there.permissions())?;
    }
    draft.persist(&target).map_err(|error| error.error)?;
    Ok(())
}

/// The bytes in a new file beside the wanted place.
fn draft(path: &Path, bytes: &[u8]) -> anyhow::Result<tempfile::NamedTempFile> {
    anyhow::ensure!(!path.is_dir(), "it is a directory");
    let folder = folder_of(path);
    anyhow::ensure!(folder.is_dir(), "there is no folder {}", folder.display());
    let mut draft = new_file(folder).context("no new file can be made beside it")?;
    draft
        .write_all(bytes)
        .context("the draft beside it takes no more")?;
    draft
        .as_file()
        .sync_all()
        .context("the draft beside it takes no more")?;
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
    let error = Diagnostic::new(Code::CannotWrite, message)
        .help("choose another file for --output; nothing was written");
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
    let error = Diagnostic::new(
        Code::CannotWrite,
        format!("{} cannot be written: {error:#}", path.display()),
    )
    .help("choose a file in a folder that exists and that you may write to; nothing was written");
    Diagnostics::new(Sources::default(), vec![error])
}
