//! Whether the files that a call names could be written, asked before anything long is done.

use std::path::{Path, PathBuf};

use super::picture::apart;
use super::together;
use super::write::{has_place, is_picture};
use crate::cli::Command;
use crate::diagnose::Diagnostics;

/// Refuses files that could not be written later.
///
/// # Errors
/// All that have no place, a picture that is none by its name, one file for two things.
pub(super) fn places(command: &Command) -> Result<(), Diagnostics> {
    let Some(output) = command.output() else {
        return Ok(());
    };
    let (chart, copy): (Option<&PathBuf>, Option<&PathBuf>) = match command {
        Command::Fit(args) => (args.picture.chart.as_ref(), None),
        Command::Compare(args) => (args.picture.chart.as_ref(), None),
        Command::Rollout(args) => (args.chart.as_ref(), None),
        Command::Calibrate(args) => (args.chart.as_ref(), args.write.as_ref()),
        _ => (None, None),
    };
    let report = output
        .output
        .as_ref()
        .filter(|path| *path != Path::new("-"));
    let mut wrong: Vec<Option<Diagnostics>> = Vec::new();
    if let Some(path) = chart {
        wrong.push(apart(path, output).and_then(|()| is_picture(path)).err());
    }
    for path in chart.into_iter().chain(report).chain(copy) {
        wrong.push(has_place(path).err());
    }
    if wrong.iter().all(Option::is_none) {
        Ok(())
    } else {
        Err(together(wrong))
    }
}
