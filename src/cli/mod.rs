//! What was typed, and the request it becomes. Only this room knows the argument parser.

mod calibrate;
pub mod choice;
pub mod manual;
mod number;
pub mod picture;
mod survey;
pub mod tool;

use std::ffi::OsString;
use std::path::PathBuf;

use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{Args, CommandFactory, Parser, Subcommand, ValueEnum};

pub use self::calibrate::CalibrateArgs;
pub use self::survey::SurveyArgs;
use crate::unit::format::listed;

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
        after_help = "Examples:\n  berthage fit\n  berthage fit lab.toml --host box --set 'guest.server.memory=\"4 GiB\"'\n  berthage fit lab.toml --why --plot\n  berthage fit lab.toml --format markdown --output log.md\n  berthage fit lab.toml --draws 10000\n  berthage fit lab.toml --chart load.svg\n\nThey work on the lab that `berthage new` writes."
    )]
    Fit(picture::FitArgs),
    /// The same guests on several hosts, side by side
    #[command(
        after_help = "Examples:\n  berthage compare examples/three-nodes.toml\n  berthage compare examples/two-boxes.toml --host small --host tall --format csv\n  berthage compare examples/three-nodes.toml --need \"web=12,desk=1\" --budget 900 --sort cost\n  berthage compare examples/three-nodes.toml --need \"web=12\" --old rack\n\nThe folder examples comes with the source."
    )]
    Compare(picture::CompareArgs),
    /// What happens while guests start, and how to get to a number of guests safely
    #[command(
        after_help = "Examples:\n  berthage rollout lab.toml --target 40\n  berthage rollout lab.toml --target 40 --batch 10 --wait 5min --chart start.svg\n  berthage rollout lab.toml --steps 20,40,50 --wait 10min --anyway\n\nThey work on the lab that `berthage new` writes."
    )]
    Rollout(Box<RolloutArgs>),
    /// What the next purchase for a host adds, most guests for the money first
    #[command(
        after_help = "Examples:\n  berthage upgrade examples/undecided.toml --host box\n  berthage upgrade examples/undecided.toml --budget 400\n\nThe folder examples comes with the source.\nPrices come from the lab: module_prices, capacity_prices, link_prices, the price of pools and hosts."
    )]
    Upgrade(UpgradeArgs),
    /// Place guests on several hosts, so that some of the hosts may fail
    #[command(
        after_help = "Examples:\n  berthage fleet examples/three-nodes.toml --spare 1\n  berthage fleet examples/three-nodes.toml --need \"web=12,desk=1\" --host north --host south\n\nThe folder examples comes with the source."
    )]
    Fleet(FleetArgs),
    /// Read an inventory and say what is wrong with it, without answering
    #[command(after_help = "Example: berthage check lab.toml")]
    Check(LabArgs),
    /// Every number of one host with its formula, or what an error code means
    #[command(
        after_help = "Examples:\n  berthage explain lab.toml --host box\n  berthage explain lab.toml --guests 40\n  berthage explain E0203"
    )]
    Explain(ExplainArgs),
    /// Read a running Linux host, without root, into a table for a lab or a line of readings
    #[command(
        after_help = "Examples:\n  berthage survey --guests 0 > host.toml\n  berthage survey --reading --guests 20 --settled yes --output readings.csv\n  berthage survey --reading --guests 20 --every 30s --for 10m --output readings.csv"
    )]
    Survey(SurveyArgs),
    /// Fit what a guest holds to readings of the running host
    #[command(
        after_help = "Examples:\n  berthage calibrate examples/shelf.toml examples/readings.csv --guest web\n  berthage calibrate examples/shelf.toml examples/readings.csv --guest web --fresh --hold-out 1\n  berthage calibrate examples/shelf.toml examples/readings.csv --guest web --write new.toml\n\nThe folder examples comes with the source."
    )]
    Calibrate(CalibrateArgs),
    /// Commands that answer nothing about a lab.
    #[command(flatten)]
    Tool(tool::Tool),
}

impl Command {
    /// How and where its report is written; none of commands that write something else.
    #[must_use]
    pub fn output(&self) -> Option<&OutputArgs> {
        let common = match self {
            Command::Fit(args) => &args.asked.common,
            Command::Compare(args) => &args.asked.common,
            Command::Rollout(args) => &args.common,
            Command::Upgrade(args) => &args.lab.common,
            Command::Fleet(args) => &args.lab.common,
            Command::Check(args) => &args.common,
            Command::Explain(args) => &args.common,
            Command::Calibrate(args) => &args.common,
            Command::Survey(_) | Command::Tool(_) => return None,
        };
        Some(&common.output)
    }
}

/// What `upgrade` takes.
#[derive(Debug, Args)]
pub struct UpgradeArgs {
    /// The inventory and what is asked of every lab.
    #[command(flatten)]
    pub lab: LabArgs,
    /// Money that may be spent; with it, combinations are looked at too
    #[arg(long, value_name = "MONEY", value_parser = number::money)]
    pub budget: Option<f64>,
}

/// What `fleet` takes.
#[derive(Debug, Args)]
pub struct FleetArgs {
    /// The inventory and what is asked of every lab.
    #[command(flatten)]
    pub lab: LabArgs,
    /// Guests to place, e.g. "web=40,build=6" [default: the guests with a count]
    #[arg(long, value_name = "GUESTS")]
    pub need: Option<String>,
    /// How many hosts (nodes) may fail at once while the rest still hold everything
    #[arg(long, value_name = "K", default_value_t = 0, value_parser = number::whole::<usize>(0, 1_000_000, 1))]
    pub spare: usize,
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
    #[arg(long, value_name = "COLUMNS", value_parser = number::whole::<u16>(20, 1000, 100))]
    pub width: Option<u16>,
    /// When to use bold and colour
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
    #[arg(long, value_name = "N", value_parser = number::whole::<u64>(0, 1_000_000, 20))]
    pub guests: Option<u64>,
    /// Options shared with other commands.
    #[command(flatten)]
    pub common: CommonArgs,
}

/// What `rollout` takes.
#[derive(Debug, Args)]
pub struct RolloutArgs {
    /// The inventory
    #[arg(value_name = "LAB.toml", default_value = "lab.toml")]
    pub lab: PathBuf,
    /// Guests to reach, counted as `fit` counts them [default: as many as fit]
    #[arg(long, value_name = "N", value_parser = number::whole::<u64>(1, 1_000_000, 40))]
    pub target: Option<u64>,
    /// Guests to start together [default: as many as is safe]
    #[arg(long, value_name = "K", value_parser = number::whole::<u64>(1, 1_000_000, 10), conflicts_with = "steps")]
    pub batch: Option<u64>,
    /// Time from the start of one batch to that of the next, e.g. 5min [default: as short as is safe]
    #[arg(long, value_name = "TIME")]
    pub wait: Option<String>,
    /// One batch to each of these numbers of guests in turn, e.g. 50,80,100 (needs --wait)
    #[arg(long, value_name = "N,N,…", value_delimiter = ',', requires = "wait", conflicts_with = "target",
          value_parser = number::whole::<u64>(1, 1_000_000, 20))]
    pub steps: Vec<u64>,
    /// Start the next batch as soon as it is safe instead of by a fixed rule
    #[arg(long, conflicts_with_all = ["batch", "wait", "anyway"])]
    pub as_soon_as_safe: bool,
    /// Highest share of memory that any peak may reach, e.g. 85% [default: the safe limit]
    #[arg(long, value_name = "SHARE")]
    pub at_most: Option<String>,
    /// Go on to the target past the limit, and see what is lost
    #[arg(long)]
    pub anyway: bool,
    /// Time between the starts of two guests of a batch [default: their boot_time]
    #[arg(long, value_name = "TIME")]
    pub stagger: Option<String>,
    /// The guests' disks exist already: start them without cloning
    #[arg(long)]
    pub cloned: bool,
    /// Some guests become busy: WHEN:GUEST=NUMBER:HOW LONG, e.g. 2h:web=3:10min (repeatable)
    #[arg(long, value_name = "SPELL", conflicts_with = "seed")]
    pub busy_at: Vec<String>,
    /// Guests become busy by chance, drawn with this seed
    #[arg(long, value_name = "SEED", value_parser = number::whole::<u64>(0, u64::MAX, 1))]
    pub seed: Option<u64>,
    /// Mean length of a busy spell drawn by chance
    #[arg(long, value_name = "TIME", default_value = "10min", requires = "seed")]
    pub spell: String,
    /// How long to watch after the last guest is up [default: until memory settles]
    #[arg(long, value_name = "TIME")]
    pub watch: Option<String>,
    /// Draw the run to an SVG file
    #[arg(long, value_name = "FILE.svg")]
    pub chart: Option<PathBuf>,
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

/// What the argument parser says, with a tip where it cannot know one.
#[must_use]
pub fn told(error: &clap::Error) -> String {
    let text = error.render().to_string();
    let Some(ContextValue::String(arg)) = error.get(ContextKind::InvalidArg) else {
        return text;
    };
    if error.kind() != ErrorKind::UnknownArgument {
        return text;
    }
    // The parser's own tip is to take an option for a file.
    let own = format!("  tip: to pass '{arg}' as a value, use '-- {arg}'\n\n");
    let text = text.replacen(&own, "", 1);
    match (tip(arg, &text), text.split_once("\n\n")) {
        (Some(tip), Some((before, after))) => format!("{before}\n\n  tip: {tip}\n\n{after}"),
        _ => text,
    }
}

/// Where an argument belongs that a command does not take.
fn tip(arg: &str, text: &str) -> Option<String> {
    let Some(long) = arg.strip_prefix("--") else {
        let is_lab = !arg.starts_with('-') && text.contains("LAB.toml");
        let words = "a command reads one lab; `include` in a lab joins several files";
        return is_lab.then(|| words.to_owned());
    };
    let program = Cli::command();
    let takers: Vec<String> = program
        .get_subcommands()
        .filter(|command| {
            let mut longs = command.get_arguments().filter_map(clap::Arg::get_long);
            longs.any(|known| known == long)
        })
        .map(|command| format!("`{}`", command.get_name()))
        .collect();
    match takers.as_slice() {
        [] => None,
        [one] => Some(format!("{one} takes {arg}")),
        several => Some(format!("{} take {arg}", listed(several))),
    }
}

/// Reads the command line.
///
/// # Errors
/// What the argument parser says; help and version come this way too.
pub fn parse(args: impl IntoIterator<Item = OsString>) -> Result<Cli, clap::Error> {
    Cli::try_parse_from(number::joined(args))
}
