//! Commands that answer nothing about a lab.

use std::io::Write;

use super::{new, schema, shell};
use crate::cli::tool::Tool;
use crate::diagnose::Diagnostics;

/// Runs one.
pub(super) fn run(tool: &Tool, stdout: &mut dyn Write) -> Result<(), Diagnostics> {
    match tool {
        Tool::New(args) => new::run(args, stdout),
        Tool::Schema(args) => schema::run(args, stdout),
        Tool::Completions(args) => shell::complete(args, stdout),
        Tool::Manual(args) => shell::page(args, stdout),
    }
}
