//! When the dearer of two hosts has paid back.

use serde::Serialize;

use super::candidate::Candidate;
use crate::lab::{Host, Lab};
use crate::model::cost;
use crate::purchase::money::or_infinite;
use crate::sizing::answer::HostAnswer;
use crate::sizing::host::HostModel;

/// Two hosts, the second dearer to buy.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct BreakEven {
    /// The one that is cheaper to buy.
    pub cheaper: String,
    /// The one that is dearer to buy.
    pub dearer: String,
    /// How much dearer.
    pub more: f64,
    /// What the dearer one saves a year with the same guests; negative where it costs more.
    pub saved_per_year: f64,
    /// When that has paid back `[years]`; null for never.
    pub years: Option<f64>,
    /// Whether both hold the same guests at most, so that money is all they differ in.
    pub same_guests: bool,
}

/// How many of the leading hosts are set against the one that is cheapest to buy.
const PAIRS: usize = 5;

/// The leading hosts against the one that is cheapest to buy.
pub(super) fn break_evens(ranking: &[Candidate]) -> Vec<BreakEven> {
    let priced = || {
        let holding = ranking.iter().filter(|one| one.holds);
        holding.filter(|one| one.price.is_some() && one.running_per_year.is_some())
    };
    let price = |one: &Candidate| or_infinite(one.price);
    let Some(cheaper) = priced().min_by(|one, other| price(one).total_cmp(&price(other))) else {
        return Vec::new();
    };
    priced()
        .filter(|one| one.name != cheaper.name)
        .take(PAIRS)
        .filter_map(|dearer| between(cheaper, dearer))
        .collect()
}

/// When the dearer of two hosts has paid back by its lower running cost.
fn between(cheaper: &Candidate, dearer: &Candidate) -> Option<BreakEven> {
    let more = dearer.price? - cheaper.price?;
    let saved = cheaper.running_per_year? - dearer.running_per_year?;
    Some(BreakEven {
        cheaper: cheaper.name.clone(),
        dearer: dearer.name.clone(),
        more,
        saved_per_year: saved,
        years: cost::break_even(more, saved),
        same_guests: cheaper.most == dearer.most,
    })
}

/// Break-evens of hosts that are set side by side, all with the guests that the weakest of them holds.
///
/// Empty where one of them holds nothing, or prices, power or the tariff are not known.
pub fn side_by_side(lab: &Lab, hosts: &[&Host], answers: &[HostAnswer]) -> Vec<BreakEven> {
    let least = answers.iter().map(|answer| answer.fits).min().flatten();
    let (Some(least), Some(first)) = (least.filter(|n| *n > 0), hosts.first()) else {
        return Vec::new();
    };
    let counts = HostModel::new(lab, first).composition.counts(least);
    let candidates = hosts.iter().zip(answers);
    let candidates = candidates.map(|(host, answer)| Candidate {
        most: answer.fits,
        ..Candidate::new(lab, host, Some(&counts))
    });
    break_evens(&candidates.collect::<Vec<_>>())
}
