//! Writes what a call asked for: the files whole and all of them or none, the report to the standard output.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use tempfile::NamedTempFile;

use super::file_error::{self, cannot_write, of_file};
use super::place::{folder_of, is_same, place, target};
use crate::diagnose::Diagnostic;
use crate::pipe;
use crate::report::chart::Chart;
use crate::report::chart::svg;

/// The name of a draft begins so, and ends so.
const DRAFT: (&str, &str) = (".berthage-", ".draft");
/// A draft this old was left behind by a run that was ended.
const STALE: Duration = Duration::from_secs(600);

/// Writes text to the standard output. A reader that has gone away is no error.
pub(super) fn print(text: &str, stdout: &mut dyn Write) -> Result<(), Diagnostic> {
    let written = stdout.write_all(text.as_bytes());
    match written.and_then(|()| stdout.flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            Err(cannot_write(Path::new("the report"), of_file(&error), &[]))
        }
        Ok(()) | Err(_) => Ok(()),
    }
}

/// Writes text to a file where one is named, else to the standard output.
pub(super) fn write_or_print(
    path: Option<&Path>,
    text: String,
    may: Replace,
    stdout: &mut dyn Write,
) -> Result<(), Diagnostic> {
    match path {
        Some(path) => Outputs::default()
            .with(path, text, may)
            .write(&[], "", stdout),
        None => print(&text, stdout),
    }
}

/// Files to write.
#[derive(Debug, Default)]
pub(super) struct Outputs(Vec<Output>);

#[derive(Debug)]
struct Output {
    path: PathBuf,
    text: String,
    may: Replace,
}

/// What a file may take the place of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Replace {
    /// No file that is there.
    Nothing,
    /// Any file that the answer was not read from.
    Others,
    /// Also one that the answer was read from.
    Anything,
}

impl Outputs {
    /// One file more.
    #[must_use]
    pub fn with(mut self, path: &Path, text: String, may: Replace) -> Outputs {
        let path = path.to_owned();
        self.0.push(Output { path, text, may });
        self
    }

    /// One picture more.
    #[must_use]
    pub fn picture(self, path: &Path, chart: &Chart) -> Outputs {
        self.with(path, svg::render(chart), Replace::Others)
    }

    /// Writes `printed` and the files, all of them or none: beside their places first, then each is moved there in one
    /// step. A link stays a link; owner and permissions of a file that was there stay as they were.
    ///
    /// # Errors
    /// A file that is one of `inputs`, that is there and may not be replaced, or that cannot be written.
    pub fn write(
        &self,
        inputs: &[PathBuf],
        printed: &str,
        stdout: &mut dyn Write,
    ) -> Result<(), Diagnostic> {
        let mut drafts = Vec::new();
        let mut streams = Vec::new();
        for output in &self.0 {
            let is_input = || inputs.iter().any(|input| is_same(&output.path, input));
            if output.may != Replace::Anything && is_input() {
                return Err(file_error::is_input(&output.path));
            }
            // A pipe or device cannot be replaced by a file; it is written as it is.
            if pipe::is_plain(&output.path) {
                drafts.push((output, output.draft()?));
            } else {
                streams.push(output);
            }
        }
        let mut written: Vec<PathBuf> = Vec::new();
        if !printed.is_empty() {
            print(printed, stdout)?;
            written.push(PathBuf::from("the report"));
        }
        for Output { path, text, .. } in streams {
            pipe::write(path, text.as_bytes())
                .map_err(|error| cannot_write(path, of_file(&error), &written))?;
            written.push(path.clone());
        }
        for (output, draft) in drafts {
            output.keep(draft, &written)?;
            written.push(output.path.clone());
        }
        Ok(())
    }
}

impl Output {
    /// The bytes in a new file beside the wanted place, with the owner and permissions of the file that is there, or
    /// those that any new file would get.
    fn draft(&self) -> Result<NamedTempFile, Diagnostic> {
        if self.may == Replace::Nothing && fs::symlink_metadata(&self.path).is_ok() {
            return Err(file_error::exists(&self.path));
        }
        let draft = || {
            let folder = place(&self.path)?;
            clear_stale(&folder);
            let file = drafted(&folder, self.text.as_bytes());
            let file = file.map_err(|error| file_error::of_new_file(&folder, &error))?;
            if let Ok(there) = fs::metadata(target(&self.path)) {
                keep_owner(file.as_file(), &there).map_err(|_| file_error::of_owner())?;
                let kept = file.as_file().set_permissions(there.permissions());
                kept.map_err(|error| of_file(&error))?;
            }
            Ok(file)
        };
        draft().map_err(|why| cannot_write(&self.path, why, &[]))
    }

    /// Moves its draft to its place; `written` are the files that are there already.
    fn keep(&self, draft: NamedTempFile, written: &[PathBuf]) -> Result<(), Diagnostic> {
        let target = target(&self.path);
        let moved = match self.may {
            // Somebody may have been quicker since it was looked for.
            Replace::Nothing => draft.persist_noclobber(&target),
            _ => draft.persist(&target),
        };
        match moved.map_err(|error| error.error) {
            Ok(_) => Ok(()),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                Err(file_error::exists(&self.path))
            }
            Err(error) => {
                let why = file_error::of_new_file(&folder_of(&target), &error);
                Err(cannot_write(&self.path, why, written))
            }
        }
    }
}

fn drafted(folder: &Path, bytes: &[u8]) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(DRAFT.0).suffix(DRAFT.1);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut draft = builder.tempfile_in(folder)?;
    draft.write_all(bytes)?;
    draft.as_file().sync_all()?;
    Ok(draft)
}

/// Removes drafts of runs that were ended before they could do it.
fn clear_stale(folder: &Path) {
    let now = SystemTime::now();
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        let is_draft = name.starts_with(DRAFT.0) && name.ends_with(DRAFT.1);
        let age = || {
            now.duration_since(entry.metadata().ok()?.modified().ok()?)
                .ok()
        };
        if is_draft && age().is_some_and(|age| age > STALE) {
            // What cannot be removed does no harm.
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// Gives a file the owner and group of another.
#[cfg(unix)]
fn keep_owner(file: &File, there: &fs::Metadata) -> io::Result<()> {
    use std::os::unix::fs::{MetadataExt, fchown};
    let own = file.metadata()?;
    if (own.uid(), own.gid()) == (there.uid(), there.gid()) {
        return Ok(());
    }
    fchown(file, Some(there.uid()), Some(there.gid()))
}

#[cfg(not(unix))]
fn keep_owner(_: &File, _: &fs::Metadata) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::io;
    use std::path::Path;

    use super::{Outputs, Replace};
    use crate::diagnose::Diagnostics;

    #[cfg(target_os = "linux")]
    #[test]
    fn the_name_of_the_draft_is_not_shown() {
        // A folder of the kernel's takes no files, not even from an administrator.
        let outputs = Outputs::default().with(
            Path::new("/proc/log.md"),
            "text".to_owned(),
            Replace::Others,
        );
        let shown = outputs.write(&[], "", &mut io::sink()).unwrap_err();
        let shown = Diagnostics::from(shown).to_string();
        assert!(
            shown.contains("/proc") && !shown.contains(".berthage"),
            "{shown}"
        );
    }
}
