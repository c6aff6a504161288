//! Appends lines to a file, each whole: an interrupted series leaves no half a line.

use std::fs::{File, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use super::file_error;
use super::place::has_place;
use crate::diagnose::Diagnostic;
use crate::pipe;

/// Longest line of headings that is compared `[B]`.
const LONGEST_HEADER: u64 = 64 * 1024;

/// A file of lines below one line of headings, which several processes may append to.
#[derive(Debug)]
pub(super) struct Series {
    path: PathBuf,
    file: File,
}

impl Series {
    /// Opens or makes the file; a new one gets the headings.
    ///
    /// # Errors
    /// Where it cannot be written, or has other headings.
    pub fn open(path: &Path, header: &str) -> Result<Series, Diagnostic> {
        has_place(path)?;
        let file = if pipe::is_plain(path) {
            let mut plain = OpenOptions::new();
            plain.read(true).append(true).create(true).open(path)
        } else {
            // Nothing can be read back from what takes no more than bytes.
            pipe::open_to_write(path)
        };
        let failed = |error| file_error::cannot_write(path, file_error::of_file(&error), &[]);
        let mut series = Series {
            path: path.to_owned(),
            file: file.map_err(failed)?,
        };
        match series.locked(|series| series.begin(header)) {
            Ok(true) => Ok(series),
            Ok(false) => Err(file_error::other_columns(path)),
            Err(error) => Err(failed(error)),
        }
    }

    /// Appends a line in one piece; what a full disk took only in part is taken back.
    ///
    /// # Errors
    /// Where the file does not take it.
    pub fn line(&mut self, line: &str) -> Result<(), Diagnostic> {
        let written = self.locked(|series| series.append(&format!("{line}\n")));
        written.map_err(|error| file_error::no_more_lines(&self.path, &error))
    }

    /// Does some work while no other process appends; where files cannot be locked, without that.
    fn locked<T>(&mut self, work: impl FnOnce(&mut Series) -> T) -> T {
        let is_locked = pipe::is_plain(&self.path) && self.file.lock().is_ok();
        let done = work(self);
        if is_locked {
            // Closing the file unlocks it too.
            let _ = self.file.unlock();
        }
        done
    }

    /// Whether the file has these headings, now if it was empty.
    fn begin(&mut self, header: &str) -> io::Result<bool> {
        let length = self.length()?;
        if length == 0 {
            return self.append(&format!("{header}\n")).map(|()| true);
        }
        let (first, last) = self.ends(length)?;
        if first.trim_start_matches('\u{feff}').trim_end() != header {
            return Ok(false);
        }
        if last != b'\n' {
            // An editor may have left the last line open.
            self.append("\n")?;
        }
        Ok(true)
    }

    fn append(&mut self, text: &str) -> io::Result<()> {
        let before = self.length()?;
        let written = self.file.write_all(text.as_bytes());
        if written.is_err() {
            // Nothing more can be done where even that fails; the error says so.
            let _ = self.file.set_len(before);
        }
        written
    }

    fn length(&self) -> io::Result<u64> {
        Ok(self.file.metadata()?.len())
    }

    /// The first line and the last byte.
    fn ends(&mut self, length: u64) -> io::Result<(String, u8)> {
        let mut start = Vec::new();
        self.file.seek(SeekFrom::Start(0))?;
        let mut head = (&mut self.file).take(LONGEST_HEADER);
        head.read_to_end(&mut start)?;
        let first = start.split(|byte| *byte == b'\n').next();
        let first = String::from_utf8_lossy(first.unwrap_or_default()).into_owned();
        let mut last = [0];
        self.file.seek(SeekFrom::Start(length - 1))?;
        self.file.read_exact(&mut last)?;
        Ok((first, last[0]))
    }
}
