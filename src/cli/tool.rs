//! Commands that answer nothing about a lab, but make working with the program pleasant.

use std::path::PathBuf;

use clap::{Args, CommandFactory, Subcommand, ValueEnum};
use clap_complete::Shell;
use clap_mangen::Man;

use super::Cli;
use crate::inventory::starter::Profile;

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Tool {
    /// Write a commented lab to start from, with ready guest profiles
    #[command(
        after_help = "Examples:\n  berthage new lab.toml\n  berthage new shop.toml --guest server --guest database\n  berthage new here.toml --from-survey"
    )]
    New(NewArgs),
    /// Print the JSON Schema of inventories or of reports
    #[command(
        after_help = "Examples:\n  berthage schema inventory --output berthage.schema.json\n  berthage schema report"
    )]
    Schema(SchemaArgs),
    /// Print what completes commands and options in a shell
    #[command(
        after_help = "Example: berthage completions bash --output ~/.local/share/bash-completion/completions/berthage"
    )]
    Completions(CompletionsArgs),
    /// Print the manual page
    #[command(
        after_help = "Example: berthage manual --output ~/.local/share/man/man1/berthage.1\nThen: man berthage"
    )]
    Manual(ManualArgs),
}

/// What `new` takes.
#[derive(Debug, Args)]
pub struct NewArgs {
    /// The file to write
    #[arg(value_name = "LAB.toml", default_value = "lab.toml")]
    pub lab: PathBuf,
    /// Only this guest profile (repeatable; default: all)
    #[arg(long = "guest", value_enum, value_name = "PROFILE")]
    pub guests: Vec<Profile>,
    /// Start from the running host, read as `survey` reads it
    #[arg(long)]
    pub from_survey: bool,
    /// Read a copied tree in the place of the running host
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

/// What `schema` takes.
#[derive(Debug, Args)]
pub struct SchemaArgs {
    /// What to describe
    #[arg(value_enum)]
    pub subject: Subject,
    /// Where it goes.
    #[command(flatten)]
    pub to: FileArgs,
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

/// What `completions` takes.
#[derive(Debug, Args)]
pub struct CompletionsArgs {
    /// The shell
    #[arg(value_enum)]
    pub shell: Shell,
    /// Where it goes.
    #[command(flatten)]
    pub to: FileArgs,
}

/// What `manual` takes.
#[derive(Debug, Args)]
pub struct ManualArgs {
    /// Where it goes.
    #[command(flatten)]
    pub to: FileArgs,
}

/// What a shell needs to complete commands and options.
#[must_use]
pub fn completions(shell: Shell) -> String {
    let mut bytes = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "berthage", &mut bytes);
    String::from_utf8_lossy(&bytes).into_owned()
}

/// The manual page of the program with a section for each command, in the language of `man`.
#[must_use]
pub fn manual() -> String {
    let mut program = Cli::command();
    program.build();
    let page = Man::new(program.clone());
    let mut out = roff(|bytes| {
        page.render_title(bytes)?;
        page.render_name_section(bytes)?;
        page.render_synopsis_section(bytes)?;
        page.render_description_section(bytes)
    });
    for command in program.get_subcommands() {
        let page = Man::new(command.clone());
        let synopsis = roff(|bytes| page.render_synopsis_section(bytes));
        let about = roff(|bytes| page.render_description_section(bytes));
        let options = roff(|bytes| page.render_options_section(bytes));
        let examples = roff(|bytes| page.render_extra_section(bytes));
        out.push_str(&format!(
            ".SH \"BERTHAGE {}\"\n",
            command.get_name().to_uppercase()
        ));
        for part in [about, synopsis, options, examples] {
            // A command's own sections become parts of its section; the definitions before them are there once.
            let body = part.find(".SH").map_or("", |at| &part[at..]);
            out.push_str(
                &body
                    .replace(".SH DESCRIPTION\n", "")
                    .replace(".SH EXTRA", ".SS EXAMPLES")
                    .replace(".SH ", ".SS "),
            );
        }
    }
    out.push_str(STATUS);
    ascii(&out)
}

/// The page in ASCII, which every formatter reads alike; other characters by their code point.
fn ascii(page: &str) -> String {
    let lines = page.lines().map(|line| {
        let escaped: String = line
            .trim_end()
            .chars()
            .map(|c| match c {
                c if c.is_ascii() => c.to_string(),
                c => format!("\\[u{:04X}]", u32::from(c)),
            })
            .collect();
        escaped + "\n"
    });
    lines.collect()
}

/// The exit status, as the manual tells it.
const STATUS: &str = ".SH \"EXIT STATUS\"\n.TP\n0\nanswered, and everything fits\n.TP\n1\nanswered, and something \
                      asked for does not fit\n.TP\n2\nthe input or the call is wrong; nothing was answered\n";

fn roff(write: impl FnOnce(&mut Vec<u8>) -> std::io::Result<()>) -> String {
    let mut bytes = Vec::new();
    // Memory takes all of it.
    let _ = write(&mut bytes);
    String::from_utf8_lossy(&bytes).into_owned()
}

impl ValueEnum for Profile {
    fn value_variants<'a>() -> &'a [Self] {
        &Profile::ALL
    }

    fn to_possible_value(&self) -> Option<clap::builder::PossibleValue> {
        Some(clap::builder::PossibleValue::new(self.name()).help(self.meaning()))
    }
}
