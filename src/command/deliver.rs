//! Writes a report where it was asked for: to the terminal, or to a file whole or not at all.

use std::io::Write;

use super::write::Replace;
use super::{Reply, Terminal};
use crate::cli::{Color, Format, OutputArgs};
use crate::diagnose::Diagnostics;
use crate::report::{csv, json, markdown, terminal};

/// Columns when there is no terminal to ask.
const PIPED_WIDTH: u16 = 80;
/// Columns of errors when there is no terminal to ask: wide enough for a line of a file.
const PIPED_ERROR_WIDTH: u16 = 120;

impl Terminal {
    pub(super) fn stderr_width(&self) -> usize {
        let width = self.width.filter(|_| self.stderr_is_terminal);
        usize::from(width.unwrap_or(PIPED_ERROR_WIDTH))
    }
}

/// Whether bold and colour may be used.
pub(super) fn color(asked: Color, to_terminal: bool, terminal: &Terminal) -> bool {
    match asked {
        Color::Always => true,
        Color::Never => false,
        Color::Auto => to_terminal && !terminal.no_color,
    }
}

/// Writes a reply in the format asked for. A reader that has gone away is no error.
pub(super) fn deliver(
    reply: Reply,
    asked: &OutputArgs,
    terminal: &Terminal,
    stdout: &mut dyn Write,
) -> Result<(), Diagnostics> {
    let file = asked.file();
    let to_terminal = file.is_none() && terminal.stdout_is_terminal;
    let mut text = match asked.format {
        Format::Json => json::text(&reply.answer),
        Format::Csv => csv::render(&reply.answer),
        Format::Markdown if asked.ascii => markdown::render_ascii(&reply.document),
        Format::Markdown => markdown::render(&reply.document),
        Format::Text => {
            let own_width = terminal.width.filter(|_| to_terminal);
            let own_width = own_width.unwrap_or(PIPED_WIDTH);
            let look = terminal::Look {
                width: usize::from(asked.width.unwrap_or(own_width)),
                color: color(asked.color, to_terminal, terminal),
                ascii: asked.ascii,
            };
            terminal::render(&reply.document, &look)
        }
    };
    let files = match file {
        Some(path) => {
            let text = std::mem::take(&mut text);
            reply.files.with(path, text, Replace::Others)
        }
        None => reply.files,
    };
    Ok(files.write(&reply.inputs, &text, stdout)?)
}
