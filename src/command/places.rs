//! Whether the files that a call names could be written, asked before anything long is done.

use std::path::Path;

use super::file_error;
use super::place::{has_place, is_same};
use crate::cli::Command;
use crate::diagnose::{Diagnostic, Diagnostics};

/// Refuses files that could not be written later.
///
/// # Errors
/// All that have no place, a picture that is none by its name, one file for two things.
pub(super) fn places(command: &Command) -> Result<(), Diagnostics> {
    let Some(output) = command.output() else {
        return Ok(());
    };
    let (chart, copy) = match command {
        Command::Fit(args) => (args.picture.chart.as_deref(), None),
        Command::Compare(args) => (args.picture.chart.as_deref(), None),
        Command::Rollout(args) => (args.chart.as_deref(), None),
        Command::Calibrate(args) => (args.chart.as_deref(), args.write.as_deref()),
        _ => (None, None),
    };
    let named = [
        ("--chart", chart),
        ("--output", output.file()),
        ("--write", copy),
    ];
    let files = named
        .iter()
        .filter_map(|(option, path)| Some((*option, (*path)?)));
    let files: Vec<(&str, &Path)> = files.collect();
    let mut wrong: Vec<Diagnostic> = Vec::new();
    for (index, (option, path)) in files.iter().enumerate() {
        let mut before = files[..index].iter();
        if let Some((other, _)) = before.find(|(_, other)| is_same(path, other)) {
            wrong.push(file_error::twice(other, option, path));
        }
    }
    let is_svg = |path: &&Path| {
        path.extension()
            .is_some_and(|end| end.eq_ignore_ascii_case("svg"))
    };
    wrong.extend(chart.filter(|path| !is_svg(path)).map(file_error::not_svg));
    wrong.extend(files.iter().filter_map(|(_, path)| has_place(path).err()));
    if wrong.is_empty() {
        Ok(())
    } else {
        Err(wrong.into())
    }
}
