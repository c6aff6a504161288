//! What was typed, and the request it becomes. Only this room knows the argument parser.

use std::ffi::OsString;
use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

/// The command line.
#[derive(Debug, Parser)]
#[command(
    name = "berthage",
    version,
    about = "How many guests a small virtualization host holds, what runs out first, and how far the cliff is",
    after_help = "Example: berthage fit examples/shelf.toml\nThe answers are estimates from the numbers given.",
    disable_help_subcommand = true,
    max_term_width = 100
)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// How many guests fit on each host, and what runs out first
    #[command(
        after_help = "Examples:\n  berthage fit lab.toml\n  berthage fit lab.toml --host shelf --set 'guest.web.memory=\"4 GiB\"'\n  berthage fit lab.toml --format markdown --output log.md"
    )]
    Fit(LabArgs),
    /// The same guests on several hosts, side by side
    #[command(
        after_help = "Examples:\n  berthage compare lab.toml\n  berthage compare lab.toml --host small --host large --format csv"
    )]
    Compare(LabArgs),
    /// Read an inventory and say what is wrong with it, without answering
    #[command(after_help = "Example: berthage check lab.toml")]
    Check(LabArgs),
    /// Every number of one host with its formula, or what an error code means
    #[command(
        after_help = "Examples:\n  berthage explain lab.toml --host shelf\n  berthage explain lab.toml --guests 40\n  berthage explain E0203"
    )]
    Explain(ExplainArgs),
}

/// What every command that reads a lab takes.
#[derive(Debug, Args)]
pub struct LabArgs {
    /// The inventory
    #[arg(value_name = "LAB.toml", default_value = "lab.toml")]
    pub lab: PathBuf,
    /// Options shared with other commands.
    #[command(flatten)]
    pub common: CommonArgs,
}

/// Options of every command that reads a lab.
#[derive(Debug, Args)]
pub struct CommonArgs {
    /// Only this host (repeatable; default: all hosts)
    #[arg(long = "host", value_name = "NAME")]
    pub hosts: Vec<String>,
    /// Replace one value of the file, e.g. 'guest.web.memory="4 GiB"' (repeatable)
    #[arg(long = "set", value_name = "PATH=VALUE")]
    pub sets: Vec<String>,
    /// Options shared with other commands.
    #[command(flatten)]
    pub output: OutputArgs,
}

/// How and where the report is written.
#[derive(Debug, Args)]
pub struct OutputArgs {
    /// Format of the report
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// Write the report to a file, whole or not at all
    #[arg(long, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Columns of the text format [default: the terminal's, 80 when piped]
    #[arg(long, value_name = "COLUMNS", value_parser = clap::value_parser!(u16).range(20..=1000))]
    pub width: Option<u16>,
    /// When to use bold
    #[arg(long, value_enum, default_value_t = Color::Auto, value_name = "WHEN")]
    pub color: Color,
    /// Draw with ASCII characters only
    #[arg(long)]
    pub ascii: bool,
}

/// What `explain` takes.
#[derive(Debug, Args)]
pub struct ExplainArgs {
    /// The inventory, or an error code such as E0203
    #[arg(value_name = "LAB.toml | CODE", default_value = "lab.toml")]
    pub subject: PathBuf,
    /// Explain at this many guests [default: as many as fit]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(0..=1_000_000))]
    pub guests: Option<u64>,
    /// Options shared with other commands.
    #[command(flatten)]
    pub common: CommonArgs,
}

/// Formats of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For a terminal
    Text,
    /// For a build log
    Markdown,
    /// For scripts
    Json,
    /// For a spreadsheet
    Csv,
}

/// When to use bold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Color {
    /// On a terminal, unless NO_COLOR is set
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

/// Reads the command line.
///
/// # Errors
/// What the argument parser says; help and version come this way too.
pub fn parse(args: impl IntoIterator<Item = OsString>) -> Result<Cli, clap::Error> {
    Cli::try_parse_from(args)
}
