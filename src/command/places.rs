//! Whether the files that a call names could be written, asked before anything long is done.

use std::path::Path;

use super::output_error::refused;
use super::together;
use super::write::has_place;
use crate::cli::{Command, OutputArgs};
use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind};

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
    let files = chart.into_iter().chain(output.file()).chain(copy);
    let mut wrong: Vec<Diagnostics> = Vec::new();
    wrong.extend(chart.and_then(|path| is_picture(path, output).err()));
    wrong.extend(files.filter_map(|path| has_place(path).err()));
    if wrong.is_empty() {
        Ok(())
    } else {
        Err(together(wrong))
    }
}

/// Refuses a picture that is none by its name, or that the report would replace.
fn is_picture(path: &Path, output: &OutputArgs) -> Result<(), Diagnostics> {
    let shown = path.display();
    if output.output.as_deref() == Some(path) {
        let message = format!("--chart and --output both name {shown}");
        let error = Diagnostic::new(ErrorKind::CannotWrite, message);
        return Err(error.hint("give each a file of its own").into());
    }
    match path.extension() {
        Some(end) if end.eq_ignore_ascii_case("svg") => Ok(()),
        _ => {
            let message = format!("a picture is drawn as SVG, but {shown} is none by its name");
            let hint = "name a file that ends in .svg";
            Err(refused(ErrorKind::NotSvg, message, hint))
        }
    }
}
