//! What hosts are chosen by.

use clap::builder::PossibleValue;
use clap::{Args, ValueEnum};

use super::number;
use crate::purchase::choose::criteria::Sort;

/// What `compare` chooses by.
#[derive(Debug, Args)]
pub struct ChoiceArgs {
    /// Guests that must run, e.g. "web=40,build=6": which hosts hold them, and which is cheapest
    #[arg(long, value_name = "GUESTS")]
    pub need: Option<String>,
    /// Leave out hosts that cost more, or have no price
    #[arg(long, value_name = "MONEY", value_parser = number::money)]
    pub budget: Option<f64>,
    /// Leave out hosts that draw more at the wall with those guests, or whose power is not known
    #[arg(long, value_name = "WATTS", value_parser = number::watts)]
    pub max_watts: Option<f64>,
    /// Rank hosts by this
    #[arg(long, value_enum, default_value_t = Sort::Cost)]
    pub sort: Sort,
    /// A host that is owned: what replacing it saves, and when that has paid back
    #[arg(long, value_name = "NAME")]
    pub old: Option<String>,
}

impl ChoiceArgs {
    /// Whether hosts are to be ranked rather than set side by side.
    pub fn is_given(&self) -> bool {
        self.need.is_some()
            || self.budget.is_some()
            || self.max_watts.is_some()
            || self.old.is_some()
            || self.sort != Sort::Cost
    }
}

impl ValueEnum for Sort {
    fn value_variants<'a>() -> &'a [Self] {
        &[
            Sort::Cost,
            Sort::Price,
            Sort::Watts,
            Sort::Guests,
            Sort::CostPerGuest,
            Sort::Name,
        ]
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        let help = match self {
            Sort::Cost => "Price and energy over the years of the lab",
            Sort::Price => "Price",
            Sort::Watts => "Power at the wall",
            Sort::Guests => "Guests held, most first",
            Sort::CostPerGuest => "Cost over the years per guest",
            Sort::Name => "Name",
        };
        Some(PossibleValue::new(self.word()).help(help))
    }
}
