//! Guests on several hosts, so that some of the hosts may fail.

pub mod answer;
pub mod bounds;
pub mod cluster;
pub mod exhaustive;
pub mod fewest;
pub mod hosts;
pub mod placement;
pub mod plan;
mod shares;
pub mod survival;

use crate::lab::{Host, Kind, Lab};
use crate::model::footprint::Age;
use crate::model::network::backup_speed;
use crate::sizing::answer::Outcome;
use crate::sizing::fit::CONTRACT;
use crate::sizing::named::{Named, by_name};
use answer::{FleetAnswer, FleetCaution, FleetHost, Loads, Needed, Reason};
use cluster::Counts;
use fewest::fewest;
use hosts::{Hosts, with_restarted};
use plan::plan;
use survival::known_to_survive;

/// Places `guests` (a count for each profile of the lab) on hosts so that any `spare` of them may fail.
///
/// Of several heuristics the placement of most guests counts, then the one that leaves most to spare on the fullest host.
/// Every host is judged by the laws of `fit`. Where guests are left over, few guests are searched for exhaustively.
#[must_use]
pub fn fleet(lab: &Lab, hosts: &[&Host], guests: &[u64], spare: usize) -> FleetAnswer {
    let twice = with_restarted(lab);
    let cluster = Hosts::new(&twice, hosts);
    let all: Vec<usize> = (0..hosts.len()).collect();
    let plan = plan(&cluster, guests, &all, spare);
    let mut by_size = all.clone();
    let capacity = |host: &usize| cluster.model(*host).usable();
    by_size.sort_by(|one, other| capacity(other).total_cmp(&capacity(one)));
    let needed = fewest(&cluster, guests, &by_size, spare, &plan);
    let total = guests.iter().sum::<u64>() as usize;
    let (counts, proven) = match needed.counts {
        Some(counts) if plan.placed < total => (counts, false),
        _ => (plan.counts, plan.proven),
    };
    let left: Vec<u64> = guests
        .iter()
        .enumerate()
        .map(|(profile, n)| n - counts.iter().map(|own| own[profile]).sum::<u64>())
        .collect();
    let unplaced = lab.guests.iter().enumerate();
    let unplaced = unplaced.filter(|(profile, _)| left[*profile] > 0);
    let reasons = unplaced.map(|(profile, guest)| {
        let reason = reason(&cluster, &counts, profile, spare);
        (guest.name.clone(), reason)
    });
    FleetAnswer {
        report: "fleet",
        version: CONTRACT,
        lab: lab.name.clone(),
        spare,
        asked: by_name(lab, guests),
        hosts: all
            .iter()
            .map(|host| host_answer(&cluster, lab, hosts[*host], *host, &counts[*host]))
            .collect(),
        unplaced: by_name(lab, &left),
        reasons: reasons.collect(),
        survives: known_to_survive(&cluster, &counts, &all, spare),
        needed: Needed {
            at_least: needed.at_least,
            found: needed.found,
            gap: needed
                .found
                .zip(needed.at_least)
                .map(|(found, least)| found.saturating_sub(least)),
        },
        proven,
        cautions: cautions(lab, hosts, spare),
        outcome: if left.iter().all(|n| *n == 0) {
            Outcome::Fits
        } else {
            Outcome::DoesNotFit
        },
    }
}

/// Why a guest is left over.
fn reason(cluster: &Hosts, counts: &Counts, profile: usize, spare: usize) -> Reason {
    let mut limits: Vec<Named> = Vec::new();
    for (host, own) in counts.iter().enumerate() {
        let mut more = own.clone();
        more[profile] += 1;
        let model = cluster.model(host);
        let passed = model.passed(&cluster.counts(&more, &[]));
        let Some(first) = passed.first() else {
            return Reason::NotAfterFailures(spare);
        };
        for named in Named::all(model, &[*first]) {
            if !limits.iter().any(|seen| seen.name == named.name) {
                limits.push(named);
            }
        }
    }
    Reason::PassesLimits(limits)
}

fn host_answer(cluster: &Hosts, lab: &Lab, host: &Host, place: usize, own: &[u64]) -> FleetHost {
    let model = cluster.model(place);
    let counts = cluster.counts(own, &[]);
    let loads = Named::all(model, cluster.considered(place))
        .into_iter()
        .filter_map(|named| {
            let constraints = named.resource.constraints(model, &counts)?;
            let (_, constraint) = constraints.worst();
            Some((named, constraint.load(constraint.at_risk())))
        });
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
        loads: Loads(loads.collect()),
        empty_s: seconds(memory),
        empty_with_disks_s: seconds(memory + disks),
    }
}

fn cautions(lab: &Lab, hosts: &[&Host], spare: usize) -> Vec<FleetCaution> {
    let pinned = lab.guests.iter().any(|guest| guest.pinned);
    let applying = [
        (hosts.len() == 2, FleetCaution::NoMajority),
        (spare > 0, FleetCaution::Restart),
        (pinned, FleetCaution::Pinned),
        (true, FleetCaution::Estimate),
    ];
    let applying = applying.into_iter().filter(|(applies, _)| *applies);
    applying.map(|(_, caution)| caution).collect()
}
