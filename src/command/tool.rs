//! Commands that answer nothing about a lab.

use std::io::Write;

use super::{ANSWERED, Terminal, new, refuse, schema, shell};
use crate::cli::Color;
use crate::cli::tool::Tool;

/// Runs one and returns the exit status.
pub(super) fn run(
    tool: &Tool,
    terminal: &Terminal,
    stdout: &mut dyn Write,
    stderr: &mut dyn Write,
) -> u8 {
    let done = match tool {
        Tool::New(args) => new::run(args, stdout),
        Tool::Schema(args) => schema::run(args, stdout),
        Tool::Completions(args) => shell::complete(args, stdout),
        Tool::Manual(args) => shell::page(args, stdout),
    };
    match done {
        Ok(()) => ANSWERED,
        Err(errors) => refuse(&errors, Color::Auto, terminal, stderr),
    }
}
