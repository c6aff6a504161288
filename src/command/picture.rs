//! Pictures of `fit` and `compare`: computed where one is asked for, drawn to a file, shown in the report.

use std::path::Path;

use super::write::Outputs;
use crate::cli::picture::PictureArgs;
use crate::cli::{Format, OutputArgs};
use crate::diagnose::Diagnostic;
use crate::report::chart::Chart;
use crate::report::chart::growth::MONTHS;
use crate::report::document::{Document, Rank};
use crate::sizing::fit::Wanted;

/// Answers with curves where a picture is asked for; a page always has one.
pub(super) fn wanted<'a>(asked: &PictureArgs, output: &OutputArgs) -> Wanted<'a> {
    Wanted {
        curve: asked.chart.is_some() || asked.plot || output.format == Format::Markdown,
        ..Wanted::default()
    }
}

/// Shows the picture in the report; returns its file, to be written with the report.
///
/// # Errors
/// A picture that cannot be drawn.
pub(super) fn show(
    asked: &PictureArgs,
    output: &OutputArgs,
    chart: Option<Chart>,
    document: &mut Document,
) -> Result<Outputs, Diagnostic> {
    let mut files = Outputs::default();
    let Some(chart) = chart else {
        return Ok(files);
    };
    if let Some(file) = &asked.chart {
        files = files.picture(file, &chart);
    }
    let over_time = chart.x_label == MONTHS;
    let named = asked.chart.as_deref().map(|file| seen_from(output, file));
    if asked.plot || output.format == Format::Markdown {
        document.section(Rank::Answer).chart(chart, named);
    } else if let Some(file) = named {
        let against = match over_time {
            true => "over time",
            false => "against the number of guests",
        };
        document
            .section(Rank::Answer)
            .paragraph(format!("Load {against} is drawn to {file}."));
    }
    Ok(files)
}

/// The picture's name as the report refers to it: from the folder of the report, never with a path of this machine.
pub(super) fn seen_from(output: &OutputArgs, file: &Path) -> String {
    let folder = |path: &Path| path.parent().map(Path::to_owned).unwrap_or_default();
    let beside = output
        .output
        .as_ref()
        .is_some_and(|report| folder(report) == folder(file));
    match file.file_name() {
        Some(name) if beside || file.is_absolute() => name.to_string_lossy().into_owned(),
        _ => file.display().to_string(),
    }
}
