//! Several hosts of a kind in place of one large one: what they cost, draw, and keep running when one of them fails.

use serde::Serialize;

use crate::fleet::cluster::{Counts, together, used};
use crate::fleet::hosts::{Hosts, with_restarted};
use crate::fleet::placement::{Onto, Order, Rule, ordered};
use crate::fleet::plan::{all_placed, plan};
use crate::fleet::survival::Placed;
use crate::lab::{Host, Lab};
use crate::purchase::money::{energy_per_year, or_infinite};
use crate::sizing::host::HostModel;

/// So many hosts of a kind with the guests that are needed.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Multiple {
    /// Name of the host.
    pub name: String,
    /// How many of it.
    pub hosts: u64,
    /// Guests that they hold together.
    pub guests: u64,
    /// Guests that run on when one of them fails, the worst one: those of the others, and those that start again there.
    pub after_failure: u64,
    /// Price, all together.
    pub price: Option<f64>,
    /// At the wall, all together `[W]`.
    pub watts: Option<f64>,
    /// Energy of a year in money.
    pub running_per_year: Option<f64>,
    /// Price and energy over the years of the lab.
    pub total: Option<f64>,
}

/// Most equal hosts that are put in place of one.
const MOST_HOSTS: usize = 32;
/// Hosts that are looked at beside the fewest for one more number that survives a failure.
const MORE: usize = 2;
/// Most kinds of hosts that guests are placed on.
const MOST_KINDS: usize = 16;
/// Most guests that are placed.
const MOST_GUESTS: u64 = 1_000;

/// The fewest of each kind of host that hold the guests and, where these lose some with one of them, the fewest that keep
/// all; by cost over the years. Nothing where too many guests are needed.
pub fn multiples(lab: &Lab, hosts: &[&Host], need: &[u64]) -> Vec<Multiple> {
    let guests: u64 = need.iter().sum();
    if guests == 0 || guests > MOST_GUESTS {
        return Vec::new();
    }
    let twice = with_restarted(lab);
    let kinds = hosts.iter().take(MOST_KINDS);
    let mut all: Vec<Multiple> = kinds
        .flat_map(|host| of_kind(lab, &twice, host, need))
        .collect();
    let cost = |one: &Multiple| [one.total, one.price].map(or_infinite);
    all.sort_by(|one, other| {
        let (one, other) = (cost(one), cost(other));
        one[0]
            .total_cmp(&other[0])
            .then(one[1].total_cmp(&other[1]))
    });
    all
}

fn of_kind(lab: &Lab, twice: &Lab, host: &Host, need: &[u64]) -> Vec<Multiple> {
    let cluster = Hosts::new(twice, &[host; MOST_HOSTS + MORE]);
    let Some(placed) = fewest(&cluster, need) else {
        return Vec::new();
    };
    let number = used(&placed);
    let all: u64 = need.iter().sum();
    let surviving = (number.max(2)..=number + MORE).find_map(|number| {
        let hosts: Vec<usize> = (0..number).collect();
        all_placed(&cluster, need, &hosts, 1)
    });
    let surviving = surviving.map(|placed| Multiple::new(lab, host, &placed, all));
    let is_fewest = surviving
        .as_ref()
        .is_some_and(|one| one.hosts == number as u64);
    let fewest = (!is_fewest).then(|| spread(lab, &cluster, host, placed));
    fewest.into_iter().chain(surviving).collect()
}

/// The fewest of a kind of host that hold the guests; none where too many are needed or a guest fits nowhere.
pub(super) fn fewest_spread(lab: &Lab, twice: &Lab, host: &Host, need: &[u64]) -> Option<Multiple> {
    let cluster = Hosts::new(twice, &[host; MOST_HOSTS]);
    let placed = fewest(&cluster, need)?;
    Some(spread(lab, &cluster, host, placed))
}

/// As many equal hosts as these guests are placed on, with the guests spread as evenly as the heuristics can, so that no
/// failure takes most of them.
fn spread(lab: &Lab, cluster: &Hosts, host: &Host, placed: Counts) -> Multiple {
    let hosts: Vec<usize> = (0..used(&placed)).collect();
    let need = together(cluster, &placed);
    let spread = plan(cluster, &need, &hosts, 0).counts;
    let all = |counts: &Counts| counts.iter().flatten().sum::<u64>();
    let counts = match all(&spread) == all(&placed) {
        true => spread,
        false => placed,
    };
    let placed = Placed {
        cluster,
        hosts: &hosts,
        counts: &counts,
    };
    let after = placed.left_after_one();
    Multiple::new(lab, host, &counts, after)
}

impl Multiple {
    /// Whether all guests run on when one of the hosts fails.
    pub fn keeps_all(&self) -> bool {
        self.after_failure == self.guests
    }

    /// Equal hosts with these guests.
    fn new(lab: &Lab, host: &Host, placed: &Counts, after_failure: u64) -> Multiple {
        let model = HostModel::new(lab, host);
        let used_hosts = || placed.iter().filter(|own| own.iter().any(|n| *n > 0));
        let watts: Option<f64> = used_hosts().map(|own| model.most_watts(own)).sum();
        let average: Option<f64> = used_hosts().map(|own| model.average_watts(own)).sum();
        let number = used(placed) as u64;
        let price = host.price.map(|price| price * number as f64);
        let running = average.and_then(|watts| energy_per_year(lab, watts));
        Multiple {
            name: host.name.clone(),
            hosts: number,
            guests: placed.iter().flatten().sum(),
            after_failure,
            price,
            watts,
            running_per_year: running,
            total: price
                .zip(running)
                .map(|(price, running)| price + lab.years * running),
        }
    }
}

/// The guests on as few equal hosts as first fit takes; none where too many are needed or a guest fits nowhere.
fn fewest(cluster: &Hosts, need: &[u64]) -> Option<Counts> {
    let hosts: Vec<usize> = (0..MOST_HOSTS).collect();
    let queue = ordered(cluster, need, Order::Largest);
    Onto::empty(cluster, &hosts).place_all(&queue, Rule::First)
}
