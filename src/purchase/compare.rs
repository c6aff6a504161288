//! The same guests on several hosts, side by side.

use std::cmp::Ordering;
use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::lab::{Host, Lab};
use crate::purchase::choose::ChoiceAnswer;
use crate::purchase::choose::break_even::{BreakEven, side_by_side};
use crate::purchase::choose::multiple::{Multiple, multiples};
use crate::sizing::answer::{DiskAnswer, FitAnswer, HostAnswer, Outcome};
use crate::sizing::changes::changes;
use crate::sizing::difference::HostChange;
use crate::sizing::fit::CONTRACT;
use crate::sizing::host::HostModel;
use crate::sizing::search::Largest;

/// Answer of `compare`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CompareAnswer {
    /// Always `"compare"`.
    #[schemars(extend("const" = "compare"))]
    pub report: &'static str,
    /// Version of the JSON contract.
    pub version: u32,
    /// Name of the lab.
    pub lab: String,
    /// Currency of all money, empty if not given.
    pub currency: String,
    /// Cost horizon `[years]`.
    pub years: f64,
    /// One entry a host, in the order of the call.
    pub hosts: Vec<HostAnswer>,
    /// Name of the best host by measure; none where no host is better than all others.
    pub best: BTreeMap<&'static str, Option<String>>,
    /// In how many of the draws the host that holds most by the likely values holds more than each other, the guests
    /// drawn alike for both; empty without draws.
    pub holds_more: Vec<HoldsMore>,
    /// When dearer hosts have paid back, all with the guests that the weakest of them holds.
    pub break_even: Vec<BreakEven>,
    /// How many of each kind of host hold what is needed, or what the host that holds most holds, by cost; with two labs
    /// empty.
    pub multiples: Vec<Multiple>,
    /// What a second lab changes; left out with one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub change: Option<Change>,
    /// All hosts ranked, with criteria or where there are many; `hosts` are then the leading ones.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub choice: Option<ChoiceAnswer>,
}

/// Two labs side by side: `hosts` are those of the second.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Change {
    /// Name of the first lab.
    pub lab: String,
    /// The hosts of the first lab.
    pub before: Vec<HostAnswer>,
    /// What is different for each host that stands in both, or is the only one of each.
    pub changes: Vec<HostChange>,
}

/// Two hosts in the same draws.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct HoldsMore {
    /// Name of the one.
    pub host: String,
    /// Name of the other.
    pub than: String,
    /// Share of the draws in which the one holds more.
    pub share: f64,
    /// Share of the draws in which both hold as many.
    pub equal: f64,
}

/// Whether more or less of a measure is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Better {
    /// More is better.
    More,
    /// Less is better.
    Less,
}

/// Hosts side by side, each with its own answer.
pub fn compare(lab: &Lab, hosts: &[&Host], answers: Vec<HostAnswer>) -> CompareAnswer {
    let most = best_host(&answers, |host| held(host, host.fits), Better::More);
    let need = most.and_then(|most| Some((most, answers[most].fits?)));
    let need = need.map(|(most, n)| HostModel::new(lab, hosts[most]).composition.counts(n));
    CompareAnswer {
        break_even: side_by_side(lab, hosts, &answers),
        multiples: need.map_or_else(Vec::new, |need| multiples(lab, hosts, &need)),
        ..compared(lab, answers)
    }
}

/// Hosts ranked; `answers` are those of the leading ones.
pub fn ranked(lab: &Lab, choice: ChoiceAnswer, answers: Vec<HostAnswer>) -> CompareAnswer {
    CompareAnswer {
        break_even: choice.break_even.clone(),
        multiples: choice.multiples.clone(),
        choice: Some(choice),
        ..compared(lab, answers)
    }
}

/// The hosts of two labs, those of the second against those of the first.
pub fn changed(old: FitAnswer, lab: &Lab, answers: Vec<HostAnswer>) -> CompareAnswer {
    CompareAnswer {
        change: Some(Change {
            changes: changes(&old.hosts, &answers),
            lab: old.lab,
            before: old.hosts,
        }),
        ..compared(lab, answers)
    }
}

fn compared(lab: &Lab, hosts: Vec<HostAnswer>) -> CompareAnswer {
    let best = MEASURES.iter().map(|(measure, better, value)| {
        let winner = best_host(&hosts, value, *better);
        (*measure, winner.map(|index| hosts[index].name.clone()))
    });
    let leader = best_host(&hosts, |host| held(host, host.fits), Better::More);
    CompareAnswer {
        holds_more: holds_more(&hosts, leader.unwrap_or(0)),
        report: "compare",
        version: CONTRACT,
        lab: lab.name.clone(),
        currency: lab.currency.clone(),
        years: lab.years,
        best: best.collect(),
        hosts,
        break_even: Vec::new(),
        multiples: Vec::new(),
        change: None,
        choice: None,
    }
}

/// In how many draws one of the hosts holds more than each other.
fn holds_more(hosts: &[HostAnswer], leader: usize) -> Vec<HoldsMore> {
    let Some(one) = hosts.get(leader) else {
        return Vec::new();
    };
    let others = hosts.iter().filter(|other| other.name != one.name);
    let pairs = others.filter_map(|other| {
        let draws = [one, other]
            .into_iter()
            .find_map(|host| host.interval.as_ref())?;
        let draws = draws.counts.len();
        let (ours, theirs) = (drawn(one, draws), drawn(other, draws));
        let share = |order| {
            let pairs = ours.iter().zip(&theirs);
            let found = pairs.filter(|(ours, theirs)| ours.cmp(theirs) == order);
            found.count() as f64 / draws as f64
        };
        Some(HoldsMore {
            host: one.name.clone(),
            than: other.name.clone(),
            share: share(Ordering::Greater),
            equal: share(Ordering::Equal),
        })
    });
    pairs.collect()
}

/// The counts of a host in that many draws: where nothing is uncertain all are its one count.
fn drawn(host: &HostAnswer, draws: usize) -> Vec<Largest> {
    let certain = match host.fits {
        Some(n) => Largest::Bound(n),
        None if runs(host) => Largest::Unbounded,
        None => Largest::Infeasible,
    };
    let drawn = host.interval.as_ref().map(|one| one.counts.clone());
    drawn.unwrap_or_else(|| vec![certain; draws])
}

type Measure = (&'static str, Better, fn(&HostAnswer) -> Option<f64>);

/// The measures that `best` names a host for.
const MEASURES: &[Measure] = &[
    ("guests", Better::More, |host| held(host, host.fits)),
    ("cost_per_guest", Better::Less, cost_per_guest),
    ("watts_per_guest", Better::Less, watts_per_guest),
    ("life", Better::More, life),
    ("lasts", Better::More, lasts),
];

/// Whether the host runs what must run.
pub fn runs(host: &HostAnswer) -> bool {
    host.outcome() == Outcome::Fits
}

/// A count for comparing: infinite where nothing limits it, none where the host does not run what must run.
pub fn held(host: &HostAnswer, count: Option<u64>) -> Option<f64> {
    runs(host).then(|| count.map_or(f64::INFINITY, |n| n as f64))
}

/// Money per guest over the horizon, energy included; none where a part of it is unknown or nothing fits.
pub fn cost_per_guest(host: &HostAnswer) -> Option<f64> {
    let cost = host
        .cost
        .as_ref()
        .filter(|_| runs(host) && host.fits.is_some())?;
    cost.price.and(cost.running).and(cost.per_guest)
}

/// Watts per guest; none where unknown or nothing fits.
pub fn watts_per_guest(host: &HostAnswer) -> Option<f64> {
    let power = host
        .power
        .as_ref()
        .filter(|_| runs(host) && host.fits.is_some())?;
    power.watts_per_guest
}

/// Life of the pool that ends first `[years]`, infinite where nothing is written; none where a pool is not rated.
pub fn life(host: &HostAnswer) -> Option<f64> {
    let of_pool = |disk: &DiskAnswer| disk.rated.then(|| disk.life_years.unwrap_or(f64::INFINITY));
    let lives: Option<Vec<f64>> = host.disk.iter().map(of_pool).collect();
    lives
        .filter(|_| runs(host))?
        .into_iter()
        .min_by(f64::total_cmp)
}

/// Months until the host is full if guests keep coming, infinite for 20 years or more; none where none come.
pub fn lasts(host: &HostAnswer) -> Option<f64> {
    let full_in = host.full_in.as_ref().filter(|_| runs(host))?;
    Some(full_in.months.unwrap_or(f64::INFINITY))
}

/// What the host costs a month of its price until it is full if guests keep coming.
pub fn price_per_month(host: &HostAnswer) -> Option<f64> {
    host.full_in
        .as_ref()
        .filter(|_| runs(host))?
        .price_per_month
}

/// Place of the host that is better than all others that run what must run.
pub fn best_host(
    hosts: &[HostAnswer],
    value: impl Fn(&HostAnswer) -> Option<f64>,
    better: Better,
) -> Option<usize> {
    let running: Vec<usize> = (0..hosts.len())
        .filter(|index| runs(&hosts[*index]))
        .collect();
    let values: Vec<Option<f64>> = running.iter().map(|index| value(&hosts[*index])).collect();
    best(&values, better).map(|place| running[place])
}

/// Place of the value that is better than all others; none where one is unknown or the best two are equal.
pub fn best(values: &[Option<f64>], better: Better) -> Option<usize> {
    let sign = match better {
        Better::More => 1.0,
        Better::Less => -1.0,
    };
    let known: Vec<f64> = values.iter().copied().collect::<Option<_>>()?;
    let mut places: Vec<usize> = (0..known.len()).collect();
    places.sort_by(|one, other| (sign * known[*other]).total_cmp(&(sign * known[*one])));
    match places[..] {
        [first, second, ..] if known[first] != known[second] => Some(first),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::{Better, best};

    #[test]
    fn the_better_value_wins_and_a_tie_wins_nothing() {
        assert_eq!(best(&[Some(3.0), Some(5.0)], Better::More), Some(1));
        assert_eq!(best(&[Some(3.0), Some(5.0)], Better::Less), Some(0));
        assert_eq!(best(&[Some(5.0), Some(5.0), Some(1.0)], Better::More), None);
        assert_eq!(best(&[None, Some(1.0)], Better::More), None);
        assert_eq!(
            best(&[Some(f64::INFINITY), Some(57.0)], Better::More),
            Some(0)
        );
        assert_eq!(best(&[Some(1.0)], Better::More), None);
    }
}
