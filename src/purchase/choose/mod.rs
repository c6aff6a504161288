//! Choosing from many hosts: which hold what is needed, what each costs over the years, and which is cheapest.

pub mod break_even;
pub mod candidate;
pub mod criteria;
pub mod multiple;
pub mod replace;

use std::collections::BTreeMap;

use rayon::prelude::{IntoParallelRefIterator, ParallelIterator};
use serde::Serialize;

use super::money::{is_within, or_infinite};
use crate::lab::{Host, Lab};
use crate::sizing::answer::Outcome;
use crate::sizing::named::by_name;
use break_even::{BreakEven, break_evens};
use candidate::Candidate;
use criteria::Criteria;
use multiple::{Multiple, multiples};
use replace::{Replacing, replacing};

/// Hosts ranked.
#[derive(Debug, Clone, Serialize, schemars::JsonSchema)]
pub struct ChoiceAnswer {
    /// How many of each guest must run; null where the mix was multiplied.
    pub need: Option<BTreeMap<String, u64>>,
    /// Most that a host may cost.
    pub budget: Option<f64>,
    /// Most that it may draw.
    pub max_watts: Option<f64>,
    /// What hosts are ranked by.
    pub sort: &'static str,
    /// Years that energy is counted for.
    pub years: f64,
    /// Hosts considered.
    pub considered: usize,
    /// Hosts left out because of their price, or because they have none.
    pub over_budget: usize,
    /// Hosts left out because of their power, or because it is not known.
    pub over_watts: usize,
    /// Hosts that hold what is needed.
    pub holding: usize,
    /// Name of the cheapest of them over the years; null where none holds it or costs are not known.
    pub cheapest: Option<String>,
    /// The hosts, those that hold it first.
    pub ranking: Vec<Candidate>,
    /// When dearer hosts have paid back.
    pub break_even: Vec<BreakEven>,
    /// How many of each kind of host hold what is needed; empty without a need, and where an old host is replaced.
    #[serde(skip)]
    pub multiples: Vec<Multiple>,
    /// What replacing an old host saves; null without `--replaces`.
    pub replacing: Option<Replacing>,
    /// What the answer means for the exit status.
    #[serde(skip)]
    pub outcome: Outcome,
}

/// Ranks hosts by the criteria; with an old host, also says what replacing it saves.
pub fn choose(lab: &Lab, hosts: &[&Host], old: Option<&Host>, criteria: &Criteria) -> ChoiceAnswer {
    let all: Vec<Candidate> = hosts
        .par_iter()
        .map(|host| Candidate::new(lab, host, criteria.need.as_deref()))
        .collect();
    let (affordable, too_dear): (Vec<Candidate>, Vec<Candidate>) = all
        .into_iter()
        .partition(|one| is_within(one.price, criteria.budget));
    let (mut ranking, too_hungry): (Vec<Candidate>, Vec<Candidate>) = affordable
        .into_iter()
        .partition(|one| is_within(one.watts, criteria.max_watts));
    // Stable, so equals stay in the order of the lab.
    ranking.sort_by(|one, other| one.rank(other, criteria.sort));
    let holding = ranking.iter().filter(|one| one.holds).count();
    let cheapest = ranking
        .iter()
        .filter(|one| one.holds && one.total.is_some())
        .min_by(|one, other| or_infinite(one.total).total_cmp(&or_infinite(other.total)));
    let replacing = old.map(|old| replacing(lab, old, hosts, criteria));
    // Several hosts in place of the old one hold the need too.
    let replaced = replacing.as_ref().is_some_and(|one| !one.by.is_empty());
    ChoiceAnswer {
        need: criteria.need.as_ref().map(|need| by_name(lab, need)),
        budget: criteria.budget,
        max_watts: criteria.max_watts,
        sort: criteria.sort.word(),
        years: lab.years,
        considered: hosts.len(),
        over_budget: too_dear.len(),
        over_watts: too_hungry.len(),
        holding,
        cheapest: cheapest.map(|one| one.name.clone()),
        break_even: match criteria.need {
            Some(_) => break_evens(&ranking),
            None => Vec::new(),
        },
        multiples: match (&criteria.need, old) {
            (Some(need), None) => multiples(lab, &by_rank(hosts, &ranking), need),
            _ => Vec::new(),
        },
        ranking,
        replacing,
        outcome: Outcome::of(holding > 0 || replaced),
    }
}

/// The hosts in the order of a ranking, those that hold what is needed and those that do not by turns, so that the leading
/// ones of both are among the first.
fn by_rank<'h>(hosts: &[&'h Host], ranking: &[Candidate]) -> Vec<&'h Host> {
    let (holding, others): (Vec<&Candidate>, Vec<&Candidate>) =
        ranking.iter().partition(|one| one.holds);
    let most = holding.len().max(others.len());
    let turns = (0..most).flat_map(|turn| [holding.get(turn), others.get(turn)]);
    let named = turns
        .flatten()
        .filter_map(|one| hosts.iter().find(|host| host.name == one.name));
    named.copied().collect()
}
