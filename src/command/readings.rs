//! The text of a file of readings.

use std::path::Path;

use super::file_error;
use crate::diagnose::Diagnostic;
use crate::pipe;

/// Largest file of readings `[B]`: two days of 20 guests every 10 s are 45 MiB.
const LARGEST_FILE: u64 = 128 * 1024 * 1024;

/// The text of the readings.
pub(super) fn text(path: &Path) -> Result<String, Diagnostic> {
    let bytes = pipe::read(path, LARGEST_FILE)
        .map_err(|error| file_error::unreadable_readings(path, &error))?;
    if bytes.len() as u64 > LARGEST_FILE {
        let most = LARGEST_FILE / (1024 * 1024);
        return Err(file_error::large_readings(path, most));
    }
    let is_wide = bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]);
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let instead = match is_wide {
            true => "it is UTF-16".to_owned(),
            false => format!("byte {at} is none of it"),
        };
        file_error::no_utf8_readings(path, &instead)
    })
}
