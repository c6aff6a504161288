//! What every command takes that reads a lab and writes a report.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::number;

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

/// How much a report says.
#[derive(Debug, Args)]
pub struct DetailArgs {
    /// Say everything; without it the text format fits one screen
    #[arg(long)]
    pub full: bool,
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
    #[arg(long, value_name = "COLUMNS", value_parser = number::whole::<u16>(20, 1000, 100))]
    pub width: Option<u16>,
    /// When to use bold and colour
    #[arg(long, value_enum, default_value_t = Color::Auto, value_name = "WHEN")]
    pub color: Color,
    /// Draw with ASCII characters only
    #[arg(long)]
    pub ascii: bool,
}

impl OutputArgs {
    /// The file that the report goes to; none for the standard output, which `-` names too.
    pub fn file(&self) -> Option<&Path> {
        self.output
            .as_deref()
            .filter(|path| *path != Path::new("-"))
    }
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

/// How often uncertain values are drawn.
#[derive(Debug, Args)]
pub struct DrawArgs {
    /// Draw every uncertain value this often and say how sure the answer is; 0 leaves that out
    #[arg(long, value_name = "N", default_value_t = 1_000, value_parser = number::whole::<u64>(0, 1_000_000, 10_000))]
    pub draws: u64,
    /// Number that the draws follow from
    #[arg(long, value_name = "S", default_value_t = 1, value_parser = number::whole::<u64>(0, u64::MAX, 1))]
    pub seed: u64,
}
