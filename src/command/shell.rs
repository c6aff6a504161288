//! `berthage completions` and `berthage manual`: what a shell and a manual reader need, made from the command line's
//! own description.

use std::io::Write;

use super::write;
use crate::cli::manual::{completions, manual};
use crate::cli::tool::{CompletionsArgs, ManualArgs};
use crate::diagnose::Diagnostics;

pub(super) fn complete(args: &CompletionsArgs, stdout: &mut dyn Write) -> Result<(), Diagnostics> {
    write::put(
        &completions(args.shell),
        args.to.output.as_deref(),
        &[],
        stdout,
    )
}

pub(super) fn page(args: &ManualArgs, stdout: &mut dyn Write) -> Result<(), Diagnostics> {
    write::put(&manual(), args.to.output.as_deref(), &[], stdout)
}
