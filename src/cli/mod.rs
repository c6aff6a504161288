//! What was typed, and the request it becomes. Only this room knows the argument parser.

mod args;
mod calibrate;
pub mod choice;
mod error;
mod explain;
pub mod manual;
mod number;
pub mod parse;
pub mod picture;
mod purchase;
mod refused;
mod rollout;
mod survey;
pub mod tool;

use clap::{Parser, Subcommand};

pub use self::args::{Color, CommonArgs, DrawArgs, Format, LabArgs, OutputArgs};
pub use self::calibrate::CalibrateArgs;
pub use self::explain::ExplainArgs;
pub use self::number::{Value, quantity};
pub use self::purchase::{FleetArgs, UpgradeArgs};
pub use self::rollout::RolloutArgs;
pub use self::survey::SurveyArgs;

/// The command line.
#[derive(Debug, Parser)]
#[command(
    name = "berthage",
    version,
    about = "How many guests a small virtualization host holds, what runs out first, and how far the cliff is",
    after_help = "Example: berthage fit examples/shelf.toml\nThe answers are estimates from the numbers given.",
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
        after_help = "Examples:\n  berthage fit\n  berthage fit lab.toml --host box --set 'guest.server.memory=\"4 GiB\"'\n  berthage fit lab.toml --full\n  berthage fit lab.toml --why --plot\n  berthage fit lab.toml --format markdown --output log.md\n  berthage fit lab.toml --draws 10000\n  berthage fit lab.toml --chart load.svg\n\nThey work on the lab that `berthage new` writes."
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
    /// Every number of one host with its formula, or what a kind of error means
    #[command(
        after_help = "Examples:\n  berthage explain lab.toml --host box\n  berthage explain lab.toml --guests 40\n  berthage explain missing-unit"
    )]
    Explain(ExplainArgs),
    /// Read a running Linux host, without root, into a table for a lab or a line of readings
    #[command(
        after_help = "Examples:\n  berthage survey --guests 0 > host.toml\n  berthage survey --reading --guests 20 --settled yes --output readings.csv\n  berthage survey --reading --guests 20 --every 30s --for 10m --output readings.csv\n  berthage survey --each --every 10s --for 2days --output guests.csv"
    )]
    Survey(SurveyArgs),
    /// Fit what a guest holds to readings of the running host
    #[command(
        after_help = "Examples:\n  berthage calibrate examples/shelf.toml examples/readings.csv --guest web\n  berthage calibrate examples/shelf.toml examples/readings.csv --guest web --fresh --hold-out 1\n  berthage calibrate examples/shelf.toml examples/readings.csv --guest web --write new.toml\n  berthage calibrate examples/shelf.toml examples/guests.csv --write watched.toml\n\nThe folder examples comes with the source."
    )]
    Calibrate(CalibrateArgs),
    /// Commands that answer nothing about a lab.
    #[command(flatten)]
    Tool(tool::Tool),
}

impl Command {
    /// Whether it is to say everything; none of commands that always do.
    pub fn full(&self) -> Option<bool> {
        let detail = match self {
            Command::Fit(args) => &args.detail,
            Command::Compare(args) => &args.detail,
            Command::Rollout(args) => &args.detail,
            Command::Upgrade(args) => &args.detail,
            Command::Fleet(args) => &args.detail,
            Command::Calibrate(args) => &args.detail,
            _ => return None,
        };
        Some(detail.full)
    }

    /// How and where its report is written; none of commands that write something else.
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
