//! From the command line to a request.

use std::ffi::OsString;

use clap::Parser;
use clap::error::ErrorKind;

use super::{Cli, error, number};
use crate::diagnose::Diagnostic;

/// What a command line is that asks for no command to be run.
#[derive(Debug)]
pub enum NoCall {
    /// Help or the version was asked for.
    Asked(String),
    /// Nothing was typed: the help in place of an error.
    Nothing(String),
    /// It cannot be read.
    Wrong(Diagnostic),
}

/// Reads the command line.
///
/// # Errors
/// What is to be shown where no command is called.
pub fn parse(args: impl IntoIterator<Item = OsString>) -> Result<Cli, NoCall> {
    Cli::try_parse_from(number::joined(args)).map_err(|wrong| {
        let help = || wrong.render().to_string();
        match wrong.kind() {
            ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => NoCall::Asked(help()),
            ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand => NoCall::Nothing(help()),
            _ => NoCall::Wrong(error::diagnostic(&wrong)),
        }
    })
}
