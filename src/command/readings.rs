//! The text of a file of readings.

use std::path::Path;

use super::file_error::{FileError, ReadFault};
use crate::pipe;

/// Largest file of readings `[B]`: two days of 20 guests every 10 s are 45 MiB.
const LARGEST_FILE: u64 = 128 * 1024 * 1024;

/// The text of the readings.
pub(super) fn text(path: &Path) -> Result<String, FileError> {
    let wrong = |fault| FileError::Readings(path.to_owned(), fault);
    let bytes = pipe::read(path, LARGEST_FILE)
        .map_err(|error| wrong(ReadFault::System(error.kind(), error.to_string())))?;
    if bytes.len() as u64 > LARGEST_FILE {
        return Err(wrong(ReadFault::TooLarge(LARGEST_FILE / (1024 * 1024))));
    }
    let is_wide = bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]);
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        wrong(ReadFault::NotUtf8((!is_wide).then_some(at)))
    })
}
