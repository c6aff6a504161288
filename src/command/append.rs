//! Appends lines to a file, each whole: an interrupted series leaves no half a line.

use std::fs::{File, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use super::output_error::{cannot_write, of_file, refused};
use super::write::has_place;
use crate::diagnose::{Diagnostics, ErrorKind};
use crate::pipe;

/// Longest line of headings that is compared `[B]`.
const LONGEST_HEADER: u64 = 64 * 1024;

/// A file of lines below one line of headings.
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
    pub fn open(path: &Path, header: &str) -> Result<Series, Diagnostics> {
        let failed = |error: io::Error| cannot_write(path, of_file(&error));
        has_place(path)?;
        let file = if pipe::is_plain(path) {
            let mut plain = OpenOptions::new();
            plain.read(true).append(true).create(true).open(path)
        } else {
            // Nothing can be read back from what takes no more than bytes.
            pipe::open_to_write(path)
        };
        let file = file.map_err(failed)?;
        let mut series = Series {
            path: path.to_owned(),
            file,
        };
        let length = series.length().map_err(failed)?;
        if length == 0 {
            series.line(header)?;
            return Ok(series);
        }
        let (first, last) = series.ends(length).map_err(failed)?;
        if first.trim_start_matches('\u{feff}').trim_end() != header {
            let path = path.display();
            let message = format!("{path} holds other columns than this host's readings have");
            let hint = "give another file";
            return Err(refused(ErrorKind::DifferentColumns, message, hint));
        }
        if last != b'\n' {
            // An editor may have left the last line open.
            series.file.write_all(b"\n").map_err(failed)?;
        }
        Ok(series)
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

    /// Appends a line in one piece; what a full disk took only in part is taken back.
    ///
    /// # Errors
    /// Where the file does not take it.
    pub fn line(&mut self, line: &str) -> Result<(), Diagnostics> {
        let failed = |error: io::Error| cannot_write(&self.path, of_file(&error));
        let before = self.length().map_err(failed)?;
        let written = self.file.write_all(format!("{line}\n").as_bytes());
        if written.is_err() {
            // Nothing more can be done where even that fails; the error below says so.
            let _ = self.file.set_len(before);
        }
        written.map_err(failed)
    }
}
