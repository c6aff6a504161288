//! What `explain` takes.

use std::path::PathBuf;

use clap::Args;

use super::args::CommonArgs;
use super::number;

/// What `explain` takes.
#[derive(Debug, Args)]
pub struct ExplainArgs {
    /// The inventory, or a kind of error such as missing-unit
    #[arg(value_name = "LAB.toml | KIND", default_value = "lab.toml")]
    pub subject: PathBuf,
    /// Explain at this many guests [default: as many as fit]
    #[arg(long, value_name = "N", value_parser = number::whole::<u64>(0, 1_000_000, 20))]
    pub guests: Option<u64>,
    /// Options shared with other commands.
    #[command(flatten)]
    pub common: CommonArgs,
}
