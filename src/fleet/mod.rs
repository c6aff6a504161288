//! Guests on several hosts, so that some of the hosts may fail.

pub mod answer;
mod asked;
pub mod bounds;
pub mod cluster;
pub mod exhaustive;
pub mod fewest;
pub mod grows;
pub mod hosts;
pub mod placement;
pub mod plan;
mod shares;
pub mod survival;

use std::collections::BTreeMap;

use crate::lab::{Host, Kind, Lab};
use crate::model::footprint::Age;
use crate::model::network::backup_speed;
use crate::sizing::answer::Outcome;
use crate::sizing::caution::applying;
use crate::sizing::composition::Composition;
use crate::sizing::fit::CONTRACT;
use crate::sizing::named::by_name;
use crate::sizing::search::largest;
use answer::{FleetAnswer, FleetCaution, FleetHost, Loads, Move, Needed, Takeover};
use asked::{Asked, loaded};
use bounds::Bound;
use cluster::{Cluster, Counts, subsets};
use exhaustive::{MOST_CHECKS, Placement};
use fewest::{Fewest, fewest, judge, needed};
use grows::Coming;
use hosts::{Bounds, Hosts, with_restarted};
use placement::{Order, ordered};
use plan::plan;
use survival::Placed;

/// Most guests that the mix is multiplied to.
pub const MOST_MULTIPLIED: u64 = 20_000;
/// Most sets of failed hosts whose takeovers are listed.
const MOST_TAKEOVERS: usize = 300;

/// Places guests on hosts so that any `spare` of them may fail; past the bounds what has been found so far has to do.
///
/// Where `guests` gives a count for each profile of the lab: of several heuristics the placement of most guests counts,
/// those of a higher rank first, then the one that leaves most to spare on the fullest host. Every host is judged by the
/// laws of `fit`. Where guests are left over, few guests are searched for exhaustively.
///
/// Otherwise the guests with a `share` are multiplied over all hosts until no more fit beside those that must run: the
/// most that a placement is found for, a bound from above first, then galloping and bisection over the heuristics.
pub fn fleet(
    lab: &Lab,
    hosts: &[&Host],
    guests: Option<&[u64]>,
    spare: usize,
    bounds: Bounds,
) -> FleetAnswer {
    let twice = with_restarted(lab);
    let cluster = &Hosts::new(&twice, hosts).within(bounds);
    let all: &[usize] = &(0..hosts.len()).collect::<Vec<_>>();
    let asked = Asked {
        lab,
        hosts,
        cluster,
        all,
        spare,
    };
    match guests {
        Some(guests) => asked.given(guests),
        None => asked.multiplied(),
    }
}

impl Asked<'_> {
    fn given(&self, guests: &[u64]) -> FleetAnswer {
        let plan = plan(self.cluster, guests, self.all, self.spare);
        let mut by_size = self.all.to_vec();
        let capacity = |host: &usize| self.cluster.model(*host).usable();
        by_size.sort_by(|one, other| capacity(other).total_cmp(&capacity(one)));
        let mut needed = fewest(self.cluster, guests, &by_size, self.spare, &plan);
        let total = guests.iter().sum::<u64>() as usize;
        let (counts, proven) = match needed.counts.take() {
            Some(counts) if plan.placed < total => (counts, false),
            _ => (plan.counts, plan.proven),
        };
        self.answer(guests, counts, proven, &needed, None)
    }

    fn multiplied(&self) -> FleetAnswer {
        let composition = Composition::new(&self.lab.guests);
        let (cluster, all, spare) = (self.cluster, self.all, self.spare);
        let may_hold = |n: u64| {
            let guests = composition.counts(n);
            n <= MOST_MULTIPLIED && !Bound::new(cluster, all, &guests).cannot_hold(all)
        };
        let mut checks = MOST_CHECKS;
        let mut best: Option<(u64, Counts)> = None;
        let mut held = |n: u64| {
            let guests = composition.counts(n);
            let bound = Bound::new(cluster, all, &guests);
            match judge(cluster, &bound, &guests, all, spare, &mut checks) {
                Placement::Found(counts) => {
                    best = Some((n, counts));
                    true
                }
                Placement::Impossible | Placement::Unknown => false,
            }
        };
        let most = largest(0, may_hold).number();
        largest(most * 9 / 10, |n| {
            n <= most && !cluster.exhausted() && held(n)
        });
        // Whatever is found later holds more.
        let Some((n, counts)) = best else {
            return self.given(&composition.counts(0));
        };
        let guests = composition.counts(n);
        let needed = Fewest {
            at_least: Bound::new(cluster, all, &guests).least(all, spare),
            found: Some(needed(&counts, all, spare)),
            counts: None,
        };
        self.answer(&guests, counts, false, &needed, Some(n))
    }

    fn answer(
        &self,
        guests: &[u64],
        counts: Counts,
        proven: bool,
        needed: &Fewest,
        holds: Option<u64>,
    ) -> FleetAnswer {
        let (lab, spare) = (self.lab, self.spare);
        let (left, reasons) = self.left(self.cluster, guests, &counts);
        let searched = self.cluster.renew();
        let survives = self.placed(&counts).is_known_to_survive(spare);
        let after = self.takeovers(&counts);
        let complete = left.iter().all(|n| *n == 0) && (survives || spare == 0);
        let hosts = self.all.iter().map(|host| self.host(*host, &counts));
        let hosts: Vec<FleetHost> = hosts.collect();
        // Of guests that are multiplied only those that must run are there before others come.
        let must_run = Composition::new(&lab.guests).counts(0);
        let start = if holds.is_some() { &must_run } else { guests };
        let coming = Coming { asked: self, start };
        FleetAnswer {
            report: "fleet",
            version: CONTRACT,
            lab: lab.name.clone(),
            spare,
            holds,
            asked: by_name(lab, guests),
            hosts,
            unplaced: by_name(lab, &left),
            reasons,
            survives,
            stopped: !searched || self.cluster.exhausted(),
            after,
            full_in: coming.full(complete.then_some(&counts)),
            needed: Needed::new(needed.at_least, needed.found),
            proven,
            cautions: cautions(lab, self.hosts, spare),
            outcome: Outcome::of(complete),
        }
    }

    fn placed<'c>(&'c self, counts: &'c Counts) -> Placed<'c, Hosts<'c>> {
        Placed {
            cluster: self.cluster,
            hosts: self.all,
            counts,
        }
    }

    /// Where guests go for each set of `spare` hosts that fail.
    fn takeovers(&self, counts: &Counts) -> Vec<Takeover> {
        let each: Vec<Vec<usize>> = self.all.iter().map(|host| vec![*host]).collect();
        let sets = subsets(&each, self.spare, MOST_TAKEOVERS);
        let sets = if sets.len() > MOST_TAKEOVERS {
            each
        } else {
            sets
        };
        let sets = sets.into_iter().filter(|failed| !failed.is_empty());
        let takeovers = sets.map(|failed| Takeover {
            moves: self.moves(counts, &failed),
            failed: failed
                .iter()
                .map(|host| self.hosts[*host].name.clone())
                .collect(),
        });
        takeovers.collect()
    }

    /// Where the guests of some hosts go, in the order in which they are placed; none where no way is found.
    fn moves(&self, counts: &Counts, failed: &[usize]) -> Option<Vec<Move>> {
        if self.cluster.exhausted() {
            return None;
        }
        let Placement::Found(moved) = self.placed(counts).takes_over(failed) else {
            return None;
        };
        let once = vec![1; self.cluster.profiles()];
        let profiles = ordered(self.cluster, &once, Order::Largest).into_iter();
        let moves = profiles.flat_map(|profile| {
            let hosts = moved.iter().enumerate();
            let gaining = hosts.filter(move |(_, own)| own[profile] > 0);
            gaining.map(move |(host, own)| Move {
                guest: self.lab.guests[profile].name.clone(),
                count: own[profile],
                to: self.hosts[host].name.clone(),
            })
        });
        Some(moves.collect())
    }

    /// What a host holds.
    fn host(&self, place: usize, counts: &Counts) -> FleetHost {
        let (lab, host, own) = (self.lab, self.hosts[place], &counts[place]);
        let model = self.cluster.model(place);
        let mut periods = BTreeMap::new();
        let mut loads = Vec::new();
        for (named, loaded) in loaded(self.cluster, place, own) {
            periods.extend(loaded.period.map(|period| (named.name.clone(), period)));
            loads.push((named, loaded.load));
        }
        let footprints = model.footprints(Age::LivedIn);
        let (mut memory, mut disks) = (0.0, 0.0);
        for ((guest, footprint), n) in lab.guests.iter().zip(footprints).zip(own) {
            if guest.kind == Kind::Machine {
                memory += *n as f64 * footprint.idle;
            }
            disks += *n as f64 * guest.disk_used;
        }
        let seconds = |bytes: f64| {
            host.link
                .map(|link| bytes / backup_speed(None, Some(link), lab.policy.network_ceiling))
        };
        FleetHost {
            name: host.name.clone(),
            guests: by_name(lab, own),
            loads: Loads(loads),
            periods,
            empty_s: seconds(memory),
            empty_with_disks_s: seconds(memory + disks),
            empty_to: self.moves(counts, &[place]),
        }
    }
}

fn cautions(lab: &Lab, hosts: &[&Host], spare: usize) -> Vec<FleetCaution> {
    let pinned = lab.guests.iter().any(|guest| guest.pinned);
    applying([
        (hosts.len() == 2, FleetCaution::NoMajority),
        (spare > 0, FleetCaution::Restart),
        (pinned, FleetCaution::Pinned),
        (true, FleetCaution::Estimate),
    ])
}
