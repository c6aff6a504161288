//! Commands that answer nothing about a lab, but make working with the program pleasant.

use std::path::PathBuf;

use clap::builder::PossibleValue;
use clap::{Args, Subcommand, ValueEnum};
use clap_complete::Shell;

use crate::inventory::starter::Profile;

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Tool {
    /// Write a lab to start from: three keys of a host and one guest, or every key and ready profiles
    #[command(
        after_help = "Examples:\n  berthage new lab.toml\n  berthage new shop.toml --guest server --guest database\n  berthage new every-key.toml --all\n  berthage new here.toml --from-survey\n  berthage new here.toml --from-survey guests.csv"
    )]
    New(NewArgs),
    /// Print the JSON Schema of inventories or of reports
    #[command(
        after_help = "Examples:\n  berthage schema inventory --output berthage.schema.json\n  berthage schema report"
    )]
    Schema {
        /// What to describe
        #[arg(value_enum)]
        subject: Subject,
        /// Where it goes.
        #[command(flatten)]
        to: FileArgs,
    },
    /// Print what completes commands and options in a shell
    #[command(
        after_help = "Example: berthage completions bash --output ~/.local/share/bash-completion/completions/berthage"
    )]
    Completions {
        /// The shell
        #[arg(value_enum)]
        shell: Shell,
        /// Where it goes.
        #[command(flatten)]
        to: FileArgs,
    },
    /// Print the manual page
    #[command(
        after_help = "Example: berthage manual --output ~/.local/share/man/man1/berthage.1\nThen: man berthage"
    )]
    Manual(FileArgs),
}

/// What `new` takes.
#[derive(Debug, Args)]
pub struct NewArgs {
    /// The file to write
    #[arg(value_name = "LAB.toml", default_value = "lab.toml")]
    pub lab: PathBuf,
    /// Every key with its meaning, and this ready guest profile (repeatable)
    #[arg(long = "guest", value_enum, value_name = "PROFILE")]
    pub guests: Vec<Profile>,
    /// Every key with its meaning, and all ready guest profiles
    #[arg(long, conflicts_with = "guests")]
    pub all: bool,
    /// Start from the running host, read as `survey` reads it, and from the guests that `survey --each` wrote
    #[arg(long, value_name = "GUESTS.csv", num_args = 0..=1)]
    pub from_survey: Option<Option<PathBuf>>,
    /// Read a copied tree in place of the running host
    #[arg(
        long,
        value_name = "DIR",
        requires = "from_survey",
        default_value = "/"
    )]
    pub root: PathBuf,
    /// Replace the file if it is there
    #[arg(long)]
    pub force: bool,
}

/// A file in the place of standard output.
#[derive(Debug, Args)]
pub struct FileArgs {
    /// Write to a file, whole or not at all
    #[arg(long, value_name = "FILE")]
    pub output: Option<PathBuf>,
}

/// What a schema describes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Subject {
    /// The TOML files that are read
    Inventory,
    /// The JSON that is written
    Report,
}

impl ValueEnum for Profile {
    fn value_variants<'a>() -> &'a [Self] {
        &Profile::ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        Some(PossibleValue::new(self.name()).help(self.meaning()))
    }
}
