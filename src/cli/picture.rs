//! What `fit` and `compare` take beside the lab: pictures.

use std::path::PathBuf;

use clap::Args;

use super::args::{DetailArgs, DrawArgs, LabArgs};
use super::choice::ChoiceArgs;

/// What `fit` takes.
#[derive(Debug, Args)]
pub struct FitArgs {
    /// The lab and the options of every command that reads one.
    #[command(flatten)]
    pub asked: LabArgs,
    /// How much the report says.
    #[command(flatten)]
    pub detail: DetailArgs,
    /// Draws of uncertain values.
    #[command(flatten)]
    pub draws: DrawArgs,
    /// Pictures.
    #[command(flatten)]
    pub picture: PictureArgs,
    /// Say why a resource runs out first and what would move it
    #[arg(long)]
    pub why: bool,
    /// Answer with exactly these guests running, e.g. "40" of all kinds by the mix or "web=20,db=3", and the room beside them
    #[arg(long, value_name = "GUESTS")]
    pub guests: Option<String>,
    /// Set the plan beside lines of the guests that run, as survey --each writes them
    #[arg(long, value_name = "GUESTS.csv")]
    pub observed: Option<PathBuf>,
}

/// What `compare` takes.
#[derive(Debug, Args)]
pub struct CompareArgs {
    /// The lab and the options of every command that reads one.
    #[command(flatten)]
    pub asked: LabArgs,
    /// A second lab: what is different on its hosts from those of the same name in the first; --set is for both
    #[arg(value_name = "NEW.toml", conflicts_with_all = ["need", "budget", "max_watts", "old", "chart", "plot"])]
    pub new: Option<PathBuf>,
    /// How much the report says.
    #[command(flatten)]
    pub detail: DetailArgs,
    /// What hosts are chosen by.
    #[command(flatten)]
    pub choice: ChoiceArgs,
    /// Draws of uncertain values.
    #[command(flatten)]
    pub draws: DrawArgs,
    /// Pictures.
    #[command(flatten)]
    pub picture: PictureArgs,
}

/// Where load against the number of guests is drawn.
#[derive(Debug, Args)]
pub struct PictureArgs {
    /// Draw load against the number of guests as an SVG picture
    #[arg(long, value_name = "FILE.svg")]
    pub chart: Option<PathBuf>,
    /// Draw it in characters within the text report
    #[arg(long)]
    pub plot: bool,
}
