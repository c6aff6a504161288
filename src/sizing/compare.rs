//! The same guests on several hosts, side by side.

use std::cmp::Ordering;
use std::collections::BTreeMap;

use super::answer::{CompareAnswer, HostAnswer};
use super::fit::{CONTRACT, fit_host};
use crate::inventory::lab::{Host, Lab};

/// Whether more or less of a measure is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Better {
    /// More is better.
    More,
    /// Less is better.
    Less,
}

/// Answers for the given hosts and which of them is best by each measure.
#[must_use]
pub fn compare(lab: &Lab, hosts: &[&Host]) -> CompareAnswer {
    let hosts: Vec<HostAnswer> = hosts.iter().map(|host| fit_host(lab, host)).collect();
    let mut winners = BTreeMap::new();
    for (measure, better, value) in MEASURES {
        let values: Vec<Option<f64>> = hosts.iter().map(value).collect();
        winners.insert(
            *measure,
            best(&values, *better).map(|index| hosts[index].name.clone()),
        );
    }
    CompareAnswer {
        report: "compare",
        version: CONTRACT,
        lab: lab.name.clone(),
        hosts,
        best: winners,
    }
}

type Measure = (&'static str, Better, fn(&HostAnswer) -> Option<f64>);

/// The measures that `best` names a host for.
const MEASURES: &[Measure] = &[
    ("guests", Better::More, |host| {
        host.fits.map(|_| host.guests as f64)
    }),
    ("cost_per_guest", Better::Less, cost_per_guest),
    ("watts_per_guest", Better::Less, watts_per_guest),
    ("life", Better::More, life),
];

/// Money per guest over the horizon; none where unknown or nothing fits.
#[must_use]
pub fn cost_per_guest(host: &HostAnswer) -> Option<f64> {
    host.fits?;
    host.cost.as_ref().and_then(|cost| cost.per_guest)
}

/// Watts per guest; none where unknown or nothing fits.
#[must_use]
pub fn watts_per_guest(host: &HostAnswer) -> Option<f64> {
    host.fits.filter(|_| host.guests > 0)?;
    host.power
        .as_ref()
        .map(|power| power.watts / host.guests as f64)
}

/// Life of the pool that ends first `[years]`; none where no pool is rated.
#[must_use]
pub fn life(host: &HostAnswer) -> Option<f64> {
    host.disk
        .iter()
        .filter_map(|disk| disk.life_years)
        .min_by(f64::total_cmp)
}

/// Place of the value that is better than all others; none where values are missing or the best two are equal.
#[must_use]
pub fn best(values: &[Option<f64>], better: Better) -> Option<usize> {
    let order = |a: f64, b: f64| match better {
        Better::More => a.total_cmp(&b),
        Better::Less => b.total_cmp(&a),
    };
    let known: Vec<(usize, f64)> = values
        .iter()
        .enumerate()
        .filter_map(|(i, value)| value.map(|v| (i, v)))
        .collect();
    if values.len() < 2 {
        return None;
    }
    let (winner, top) = known.iter().copied().max_by(|a, b| order(a.1, b.1))?;
    let alone = known
        .iter()
        .all(|(index, value)| *index == winner || order(*value, top) == Ordering::Less);
    alone.then_some(winner)
}

#[cfg(test)]
mod tests {
    use super::{Better, best};

    #[test]
    fn the_better_value_wins_and_a_tie_wins_nothing() {
        assert_eq!(best(&[Some(3.0), Some(5.0)], Better::More), Some(1));
        assert_eq!(best(&[Some(3.0), Some(5.0)], Better::Less), Some(0));
        assert_eq!(best(&[Some(5.0), Some(5.0), Some(1.0)], Better::More), None);
        assert_eq!(best(&[None, Some(1.0)], Better::More), Some(1));
        assert_eq!(best(&[Some(1.0)], Better::More), None);
    }
}
