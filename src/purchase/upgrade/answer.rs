//! The answer to "what to buy next", and the order of what can be bought.

use std::cmp::Ordering;

use schemars::JsonSchema;
use serde::Serialize;

use super::change::{Changes, Notes, Replaced};
use crate::purchase::money::or_infinite;
use crate::sizing::answer::Outcome;
use crate::sizing::named::Named;
use crate::sizing::search::Largest;

/// Answer of `upgrade`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct UpgradeAnswer {
    /// Always `"upgrade"`.
    #[schemars(extend("const" = "upgrade"))]
    pub report: &'static str,
    /// Version of the JSON contract.
    pub version: u32,
    /// Name of the lab.
    pub lab: String,
    /// Name of the host.
    pub host: String,
    /// What counts count: `guests` or `sets`.
    pub unit: &'static str,
    /// Money that may be spent; null without `--budget`.
    pub budget: Option<f64>,
    /// The host as it is.
    pub now: Now,
    /// What could be bought, most guests for the money first.
    pub options: Vec<Choice>,
    /// The option (counted from 0) with most guests within the budget, without one that with most guests for the money;
    /// null where nothing that has a price gains anything. The guests stay what they are in it: no containers.
    pub best: Option<usize>,
    /// Sums of memory within reach of the slots that are not among the options, because there are too many.
    pub left_out: usize,
    /// How far it came where it was interrupted; null where it came to its end.
    pub stopped: Option<Stopped>,
    /// What the answer means for the exit status.
    #[serde(skip)]
    pub outcome: Outcome,
}

/// How far an interrupted run came: what it did not come to is not among the options.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Stopped {
    /// Purchases that were evaluated.
    pub evaluated: usize,
    /// Of so many.
    pub purchases: usize,
    /// Draws of each purchase that were made.
    pub draws: u64,
    /// Of so many; 0 where there was nothing to draw, or it did not come to that.
    pub asked: u64,
}

/// The host as it is.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Now {
    /// Largest N within every limit.
    pub fits: Option<u64>,
    /// Resources that set it.
    pub binds: Vec<Named>,
    /// Months until it is full if guests keep coming, null for 20 years or more; left out where none come.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(extend("type" = ["number", "null"]))]
    pub full_in_months: Option<f64>,
}

/// One purchase, or several at once.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Choice {
    /// What is done.
    pub change: Changes,
    /// What it costs; null where the lab names no price.
    pub price: Option<f64>,
    /// Largest N afterwards; null as in `fit`.
    pub fits: Option<u64>,
    /// Guests gained; null where nothing runs out any more.
    pub gain: Option<i64>,
    /// What it gains in the draws; null without draws, where every value was given, with containers, and where too many
    /// other purchases come before it.
    pub drawn: Option<DrawnGain>,
    /// Guests gained per 100 of money; null where it costs nothing or has no price.
    pub gain_per_100: Option<f64>,
    /// Months until it is full afterwards, as in `now`.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(extend("type" = ["number", "null"]))]
    pub full_in_months: Option<f64>,
    /// Resources that run out first afterwards.
    pub binds: Vec<Named>,
    /// Owned parts that it replaces.
    pub replaces: Vec<Replaced>,
    /// What to know about it.
    #[schemars(with = "Option<String>")]
    pub note: Notes,
    /// Whether the guests run as containers in it, which is no purchase and another question.
    pub containers: bool,
    /// The same as `fits`, but unbounded and infeasible are distinct.
    #[serde(skip)]
    pub largest: Largest,
}

/// What a purchase gains where uncertain values are drawn, the same ones before and after it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct DrawnGain {
    /// 5 % of the draws gain no more than this.
    pub low: i64,
    /// 95 % of the draws gain no more than this; null where nothing runs out any more.
    pub high: Option<i64>,
    /// Whether it is worth its money: the low end is above zero.
    pub worth_it: bool,
}

impl UpgradeAnswer {
    /// Whether an option holds more, or as much for longer.
    pub fn adds(&self, option: &Choice) -> bool {
        option.gain.is_none_or(|gain| gain > 0) || option.full_in_months > self.now.full_in_months
    }

    /// What a month costs that an option lets the host last longer; none where that is not a number.
    pub fn month_more(&self, option: &Choice) -> Option<f64> {
        let more = option.full_in_months? - self.now.full_in_months?;
        option
            .price
            .filter(|_| more > 0.0 && more.is_finite())
            .map(|price| price / more)
    }
}

impl Choice {
    /// Whether it gains, also where the values that the count depends on are worse than likely; `drawn`: whether draws
    /// say so of any purchase.
    pub(super) fn gains_surely(&self, drawn: bool) -> bool {
        self.drawn.map_or(!drawn, |drawn| drawn.worth_it)
    }

    /// The lower price first; what has none comes last.
    fn cheaper(&self, other: &Choice) -> Ordering {
        or_infinite(self.price).total_cmp(&or_infinite(other.price))
    }

    /// Most guests for the money first: free gains, then by gain per money, gains without a price, and what gains
    /// nothing.
    pub(super) fn by_worth(&self, other: &Choice) -> Ordering {
        let class = |choice: &Choice| match (choice.gain, choice.price) {
            (Some(gain), _) if gain <= 0 => 3,
            (_, Some(0.0)) => 0,
            (_, Some(_)) => 1,
            (_, None) => 2,
        };
        let worth = |choice: &Choice| choice.gain_per_100.unwrap_or(0.0);
        class(self)
            .cmp(&class(other))
            .then(worth(other).total_cmp(&worth(self)))
            .then_with(|| self.by_count(other))
    }

    /// Most guests first, then the lowest price.
    pub(super) fn by_count(&self, other: &Choice) -> Ordering {
        let by_count = other.largest.cmp(&self.largest);
        by_count.then_with(|| self.cheaper(other))
    }

    /// The lowest price first, then most guests.
    pub(super) fn by_price(&self, other: &Choice) -> Ordering {
        let by_count = other.largest.cmp(&self.largest);
        self.cheaper(other).then(by_count)
    }

    /// Whether another holds as many guests for no more money.
    pub(super) fn is_matched_by(&self, other: &Choice) -> bool {
        other.cheaper(self).is_le() && other.largest >= self.largest
    }
}
