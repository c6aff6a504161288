//! Commands that answer nothing about a lab.

use std::io::Write;

use super::write::{Replace, write_or_print};
use super::{new, schema};
use crate::cli::manual::{completions, manual};
use crate::cli::tool::{Subject, Tool};
use crate::diagnose::Diagnostics;
use crate::inventory;
use crate::report::json::render;

/// Runs one.
pub(super) fn run(tool: &Tool, stdout: &mut dyn Write) -> Result<(), Diagnostics> {
    let (text, to) = match tool {
        Tool::New(args) => return new::run(args, stdout),
        Tool::Schema { subject, to } => match subject {
            Subject::Inventory => (render(&inventory::schema::schema()), to),
            Subject::Report => (render(&schema::report()), to),
        },
        Tool::Completions { shell, to } => (completions(*shell), to),
        Tool::Manual(to) => (manual(), to),
    };
    Ok(write_or_print(
        to.output.as_deref(),
        text,
        Replace::Others,
        stdout,
    )?)
}
