//! Writes a report where it was asked for: to the terminal, or to a file whole or not at all.

use std::io::Write;
use std::path::Path;

use super::write::put;
use super::{Reply, Terminal};
use crate::cli::{Color, Format, OutputArgs};
use crate::diagnose::Diagnostics;
use crate::report::{csv, markdown, terminal};

/// Columns when there is no terminal to ask.
const PIPED_WIDTH: u16 = 80;
/// Columns of errors when there is no terminal to ask: wide enough for a line of a file.
const PIPED_ERROR_WIDTH: u16 = 120;

impl Terminal {
    pub(super) fn stderr_width(&self) -> usize {
        usize::from(
            self.width
                .filter(|_| self.stderr_is_terminal)
                .unwrap_or(PIPED_ERROR_WIDTH),
        )
    }
}

/// Where words go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stream {
    /// The report on the standard output.
    Report,
    /// The report in a file.
    File,
    /// Errors.
    Errors,
}

/// Whether bold and colour may be used.
pub(super) fn color(asked: Color, stream: Stream, terminal: &Terminal) -> bool {
    let shown = match stream {
        Stream::Report => terminal.stdout_is_terminal,
        Stream::File => false,
        Stream::Errors => terminal.stderr_is_terminal,
    };
    match asked {
        Color::Always => true,
        Color::Never => false,
        Color::Auto => shown && !terminal.no_color,
    }
}

/// Writes a reply in the format asked for. A reader that has gone away is no error.
pub(super) fn deliver(
    reply: &Reply,
    asked: &OutputArgs,
    terminal: &Terminal,
    stdout: &mut dyn Write,
) -> Result<(), Diagnostics> {
    // As elsewhere in the trade, "-" is the standard output.
    let file = asked
        .output
        .as_deref()
        .filter(|path| *path != Path::new("-"));
    let to_terminal = file.is_none() && terminal.stdout_is_terminal;
    let stream = if file.is_none() {
        Stream::Report
    } else {
        Stream::File
    };
    let text = match asked.format {
        Format::Json => reply.json.clone(),
        Format::Csv => csv::render(&reply.json),
        Format::Markdown if asked.ascii => markdown::render_ascii(&reply.document),
        Format::Markdown => markdown::render(&reply.document),
        Format::Text => {
            let own_width = terminal
                .width
                .filter(|_| to_terminal)
                .unwrap_or(PIPED_WIDTH);
            let look = terminal::Look {
                width: usize::from(asked.width.unwrap_or(own_width)),
                color: color(asked.color, stream, terminal),
                ascii: asked.ascii,
            };
            terminal::render(&reply.document, &look)
        }
    };
    put(&text, file, &reply.inputs, stdout)
}
