//! What `calibrate` takes.

use std::path::PathBuf;

use clap::Args;

use super::args::{CommonArgs, DetailArgs, DrawArgs};
use super::number;

/// What `calibrate` takes.
#[derive(Debug, Args)]
pub struct CalibrateArgs {
    /// The inventory
    #[arg(value_name = "LAB.toml")]
    pub lab: PathBuf,
    /// The readings: guests, memory_used, settled, and what `survey --reading` writes
    #[arg(value_name = "READINGS.csv")]
    pub readings: PathBuf,
    /// The guest that the readings count [default: the only one]
    #[arg(long, value_name = "NAME")]
    pub guest: Option<String>,
    /// The guests read were never busy since they started
    #[arg(long)]
    pub fresh: bool,
    /// Fit without the last K readings and report the error on them
    #[arg(long, value_name = "K", default_value_t = 0, value_parser = number::whole::<usize>(0, 1_000_000, 1))]
    pub hold_out: usize,
    /// Draws of what the readings do not tell.
    #[command(flatten)]
    pub draws: DrawArgs,
    /// How much the report says.
    #[command(flatten)]
    pub detail: DetailArgs,
    /// Draw readings and model into this SVG file
    #[arg(long, value_name = "FILE.svg")]
    pub chart: Option<PathBuf>,
    /// Write a copy of the inventory with the calibrated values, ranges where it has ranges
    #[arg(long, value_name = "NEW.toml")]
    pub write: Option<PathBuf>,
    /// Let --write replace a file that is there
    #[arg(long, requires = "write")]
    pub force: bool,
    /// Options shared with other commands.
    #[command(flatten)]
    pub common: CommonArgs,
}
