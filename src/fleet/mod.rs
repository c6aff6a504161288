//! Guests on several hosts, so that some of the hosts may fail.

pub mod bound;
pub mod exact;
pub mod hosts;
pub mod parts;
pub mod place;
pub mod plan;
pub mod room;
pub mod survive;

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::lab::{Host, Kind, Lab};
use crate::model::network::BITS;
use crate::sizing::answer::{CautionAnswer, Outcome};
use crate::sizing::fit::CONTRACT;
use crate::sizing::resource::Resource;
use hosts::{Hosts, with_restarted};
use plan::{fewest, plan};
use room::Counts;
use survive::known_to_survive;

/// Answer of `fleet`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FleetAnswer {
    /// Always `"fleet"`.
    #[schemars(extend("const" = "fleet"))]
    pub report: &'static str,
    /// Version of the JSON contract.
    pub version: u32,
    /// Name of the lab.
    pub lab: String,
    /// How many hosts may fail.
    pub spare: usize,
    /// Guests that were to be placed.
    pub asked: BTreeMap<String, u64>,
    /// One entry a host, in the order asked for.
    pub hosts: Vec<FleetHost>,
    /// Guests that were not placed.
    pub unplaced: BTreeMap<String, u64>,
    /// Why not, by guest.
    pub reasons: BTreeMap<String, String>,
    /// Whether any `spare` hosts may fail and the rest hold everything that was placed.
    pub survives: bool,
    /// How many hosts are needed.
    pub needed: Needed,
    /// Whether every way was tried where guests were left over: no placement holds them all.
    pub proven: bool,
    /// Cautions that apply.
    pub cautions: Vec<CautionAnswer>,
    /// What the answer means for the exit status.
    #[serde(skip)]
    pub outcome: Outcome,
}

/// One host of a fleet.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FleetHost {
    /// Name.
    pub name: String,
    /// Guests placed there.
    pub guests: BTreeMap<String, u64>,
    /// at_risk/limit of each resource that is considered; null where there is no supply.
    pub loads: BTreeMap<String, f64>,
    /// Time to move the memory of its machines away over the link `[s]`; null where no link is given.
    pub empty_s: Option<f64>,
    /// The same with their disks, where those are not shared `[s]`.
    pub empty_with_disks_s: Option<f64>,
    /// The resources of `loads` in their order, for their words.
    #[serde(skip)]
    pub resources: Vec<(Resource, String, f64)>,
}

/// How many hosts the guests need.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Needed {
    /// No placement needs fewer; null where a guest fits on no host at all.
    pub at_least: Option<usize>,
    /// The fewest that a placement was found for; null where none was.
    pub found: Option<usize>,
    /// found − at_least.
    pub gap: Option<usize>,
}

/// Places `guests` (a count for each profile of the lab) on hosts so that any `spare` of them may fail.
///
/// Several rules of thumb are tried; the placement of most guests counts, then the one that leaves most to spare on the
/// fullest host. Every host is judged by the laws of `fit`. Few guests that were left over are tried in every way.
#[must_use]
pub fn fleet(lab: &Lab, hosts: &[&Host], guests: &[u64], spare: usize) -> FleetAnswer {
    let twice = with_restarted(lab);
    let room = Hosts::new(&twice, hosts);
    let all: Vec<usize> = (0..hosts.len()).collect();
    let mut plan = plan(&room, guests, &all, spare);
    let mut by_size = all.clone();
    let capacity = |host: &usize| room.model(*host).usable();
    by_size.sort_by(|one, other| capacity(other).total_cmp(&capacity(one)));
    let needed = fewest(&room, guests, &by_size, spare, &plan);
    if let Some(counts) = needed
        .counts
        .filter(|_| plan.placed < guests.iter().sum::<u64>() as usize)
    {
        plan.counts = counts;
        plan.proven = false;
    }
    let placed: Vec<u64> = (0..guests.len())
        .map(|profile| plan.counts.iter().map(|own| own[profile]).sum())
        .collect();
    let by_name = |numbers: &[u64]| -> BTreeMap<String, u64> {
        let pairs = lab.guests.iter().zip(numbers).filter(|(_, n)| **n > 0);
        pairs.map(|(guest, n)| (guest.name.clone(), *n)).collect()
    };
    let left: Vec<u64> = guests
        .iter()
        .zip(&placed)
        .map(|(all, here)| all - here)
        .collect();
    let complete = left.iter().all(|n| *n == 0);
    let reasons = lab
        .guests
        .iter()
        .enumerate()
        .filter(|(profile, _)| left[*profile] > 0)
        .map(|(profile, guest)| {
            (
                guest.name.clone(),
                reason(&room, &plan.counts, profile, spare),
            )
        })
        .collect();
    FleetAnswer {
        report: "fleet",
        version: CONTRACT,
        lab: lab.name.clone(),
        spare,
        asked: by_name(guests),
        hosts: (0..hosts.len())
            .map(|host| of_host(&room, lab, hosts[host], host, &plan.counts[host]))
            .collect(),
        unplaced: by_name(&left),
        reasons,
        survives: known_to_survive(&room, &plan.counts, &all, spare),
        needed: Needed {
            at_least: needed.at_least,
            found: needed.found,
            gap: needed
                .found
                .zip(needed.at_least)
                .map(|(found, least)| found.saturating_sub(least)),
        },
        proven: plan.proven,
        cautions: cautions(lab, hosts, spare),
        outcome: if complete {
            Outcome::Fits
        } else {
            Outcome::DoesNotFit
        },
    }
}

/// Why a guest is left over.
fn reason(room: &Hosts, counts: &Counts, profile: usize, spare: usize) -> String {
    let mut passed: Vec<String> = Vec::new();
    for (host, own) in counts.iter().enumerate() {
        let mut more = own.clone();
        more[profile] += 1;
        match room.passed(host, &more) {
            Some(resource) => {
                let name = resource.name(room.model(host));
                if !passed.contains(&name) {
                    passed.push(name);
                }
            }
            None => {
                return format!(
                    "one more would fit, but not any more once any {spare} of the hosts {} lost",
                    if spare == 1 { "is" } else { "are" }
                );
            }
        }
    }
    format!(
        "one more would pass a limit on every host: {}",
        passed.join(", ")
    )
}

fn of_host(room: &Hosts, lab: &Lab, host: &Host, place: usize, own: &[u64]) -> FleetHost {
    let model = room.model(place);
    let all = Hosts::both(own, &vec![0; own.len()]);
    let resources: Vec<(Resource, String, f64)> = room
        .considered(place)
        .iter()
        .filter_map(|resource| {
            let constraint = resource.constraint(model, &all)?;
            Some((
                *resource,
                resource.name(model),
                constraint.load(constraint.at_risk()),
            ))
        })
        .collect();
    let rows = || lab.guests.iter().zip(own).enumerate();
    let speed = host
        .link
        .map(|link| lab.policy.network_ceiling * link / BITS);
    let memory: f64 = rows()
        .filter(|(_, (guest, _))| guest.kind == Kind::Machine)
        .map(|(profile, (_, n))| {
            *n as f64 * model.footprints(crate::model::footprint::Age::LivedIn)[profile].idle
        })
        .sum();
    let disks: f64 = rows()
        .map(|(_, (guest, n))| *n as f64 * guest.disk_used)
        .sum();
    FleetHost {
        name: host.name.clone(),
        guests: rows()
            .filter(|(_, (_, n))| **n > 0)
            .map(|(_, (guest, n))| (guest.name.clone(), *n))
            .collect(),
        loads: resources
            .iter()
            .map(|(_, name, load)| (name.clone(), *load))
            .collect(),
        empty_s: speed.map(|speed| memory / speed),
        empty_with_disks_s: speed.map(|speed| (memory + disks) / speed),
        resources,
    }
}

fn cautions(lab: &Lab, hosts: &[&Host], spare: usize) -> Vec<CautionAnswer> {
    let mut all = Vec::new();
    let mut add = |id, text: &str| {
        all.push(CautionAnswer {
            id,
            text: text.to_owned(),
        });
    };
    if hosts.len() == 2 {
        add(
            "no_majority",
            "Two hosts alone have no majority: when they lose sight of each other neither can tell whether the other is \
             down, and both may start the same guest. Add a third vote, however small.",
        );
    }
    if spare > 0 {
        add(
            "restart",
            "Taking over is a restart: guests of a failed host stop, start fresh on the others, and what they had not \
             written is lost. Their disks must be reachable from there: shared, or copied beforehand.",
        );
    }
    if lab.guests.iter().any(|guest| guest.pinned) {
        add(
            "pinned",
            "A guest with a passed-through device runs only where that device is; it is placed here as if every host \
             had one.",
        );
    }
    add(
        "estimate",
        "This is an estimate from the numbers given. Measure a first handful of guests before you rely on it.",
    );
    all
}
