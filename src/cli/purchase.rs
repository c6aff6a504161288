//! What `upgrade` and `fleet` take beside the lab.

use clap::Args;

use super::args::{DetailArgs, DrawArgs, LabArgs};
use super::number;

/// What `upgrade` takes.
#[derive(Debug, Args)]
pub struct UpgradeArgs {
    /// The inventory and what is asked of every lab.
    #[command(flatten)]
    pub lab: LabArgs,
    /// How much the report says.
    #[command(flatten)]
    pub detail: DetailArgs,
    /// Money that may be spent; with it, combinations are looked at too
    #[arg(long, value_name = "MONEY", value_parser = number::money)]
    pub budget: Option<f64>,
    /// Draws of uncertain values.
    #[command(flatten)]
    pub draws: DrawArgs,
}

/// What `fleet` takes.
#[derive(Debug, Args)]
pub struct FleetArgs {
    /// The inventory and what is asked of every lab.
    #[command(flatten)]
    pub lab: LabArgs,
    /// How much the report says.
    #[command(flatten)]
    pub detail: DetailArgs,
    /// Guests to place, e.g. "web=40,build=6" [default: the guests with a count, and those with a share as often as all hosts hold them]
    #[arg(long, value_name = "GUESTS")]
    pub need: Option<String>,
    /// How many hosts (nodes) may fail at once while the rest still hold everything
    #[arg(long, value_name = "K", default_value_t = 0, value_parser = number::whole::<usize>(0, 1_000_000, 1))]
    pub spare: usize,
}
