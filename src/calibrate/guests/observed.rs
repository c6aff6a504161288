//! A host's plan beside a record of the guests that run on it.

use std::collections::BTreeMap;

use super::lines::Record;
use super::moments::{Rows, Timeline, demands, rows};
use super::replay::{DRAWS, ReplayInput};
use super::spells::usual_step;
use super::time::busy_share;
use super::watch::{ClassedGuest, GuestKind};
use crate::lab::{Guest as Profile, Lab};
use crate::model::periods::over_time;
use crate::model::{DAY, within};
use crate::sizing::host::HostModel;
use crate::sizing::observed::{Beside, ObservedAnswer, Replay, SeenLoad};
use crate::sizing::resource::{Constraint, Resource};

/// The resources that lines of guests show moment by moment.
const SHOWN: [Resource; 3] = [Resource::Memory, Resource::Cpu, Resource::Network];

/// A record of guests beside a plan.
#[derive(Debug, Clone, Copy)]
pub struct Observed<'a> {
    /// The record, its kinds those of the lab.
    pub record: &'a Record,
    /// Seed of the draws.
    pub seed: u64,
}

/// The recorded guests whose kind the lab has.
struct Recorded<'a> {
    model: &'a HostModel<'a>,
    guests: Vec<&'a ClassedGuest<'a>>,
    /// The profile of each.
    profiles: Vec<usize>,
    clock: Timeline,
}

/// What the plan says of a host beside what a record says, replayed with these guests; none where no kind is in the lab
/// or nothing was recorded for longer than a moment.
pub fn observed(model: &HostModel, counts: &[u64], asked: Observed) -> Option<ObservedAnswer> {
    let record = asked.record;
    let every = usual_step(&record.guests);
    let kinds = GuestKind::all(&record.guests, every);
    let seconds = kinds.first().map_or(0.0, GuestKind::seconds);
    let lab = &model.lab.guests;
    let place = |kind: &GuestKind| lab.iter().position(|guest| guest.name == kind.name);
    let known = || kinds.iter().filter_map(|kind| Some((place(kind)?, kind)));
    let own = known().flat_map(|(place, kind)| kind.guests.iter().map(move |one| (place, one)));
    let (profiles, guests): (Vec<usize>, Vec<&ClassedGuest>) = own.unzip();
    let start = kinds.first().map_or(0.0, |kind| kind.span[0]);
    if guests.is_empty() || every <= 0.0 {
        return None;
    }
    let side = Recorded {
        model,
        guests,
        profiles,
        clock: Timeline {
            start,
            every,
            moments: (seconds / every).round() as usize,
            boots: true,
        },
    };
    let (running, usual) = side.most_common_mix()?;
    let is_known = |name: &str| known().any(|(_, kind)| kind.name == name);
    Some(ObservedAnswer {
        seconds,
        every_s: every,
        guests: guests_by_name(model.lab, &running),
        share: usual.len() as f64 / side.clock.moments as f64,
        loads: side.seen(&running, &usual),
        busy: known()
            .map(|(place, kind)| busy(model, &lab[place], kind))
            .collect(),
        replay: side.replay(counts, asked.seed),
        unrecorded: names(lab.iter().filter(|guest| !is_known(&guest.name))),
        unknown: kinds
            .iter()
            .filter(|kind| place(kind).is_none())
            .map(|kind| kind.name.to_owned())
            .collect(),
    })
}

fn names<'a>(guests: impl Iterator<Item = &'a Profile>) -> Vec<String> {
    guests.map(|guest| guest.name.clone()).collect()
}

fn guests_by_name(lab: &Lab, counts: &[u64]) -> BTreeMap<String, u64> {
    let guests = lab.guests.iter().zip(counts).filter(|(_, n)| **n > 0);
    guests.map(|(guest, n)| (guest.name.clone(), *n)).collect()
}

/// How much of the time guests of a recorded profile are busy.
fn busy(model: &HostModel, guest: &Profile, kind: &GuestKind) -> (String, Beside) {
    let periods = model.periods();
    let busy = periods.map(|one| (one.share_of_time(), guest.busy.in_period(one.period)));
    let beside = Beside {
        plan: over_time(busy),
        seen: busy_share(kind).map(|found| found.value),
    };
    (guest.name.clone(), beside)
}

impl Recorded<'_> {
    /// The guests that ran together most of the time, by profile, and the moments at which just these did.
    fn most_common_mix(&self) -> Option<(Vec<u64>, Vec<usize>)> {
        let present = rows(&self.guests, self.clock, |_, _| Some(1.0));
        let mut seen: BTreeMap<Vec<u64>, Vec<usize>> = BTreeMap::new();
        for moment in 0..self.clock.moments {
            let mut counts = vec![0; self.model.lab.guests.len()];
            for (row, profile) in present.iter().zip(&self.profiles) {
                counts[*profile] += u64::from(!row[moment].is_nan());
            }
            if counts.iter().any(|n| *n > 0) {
                seen.entry(counts).or_default().push(moment);
            }
        }
        seen.into_iter().max_by_key(|(_, moments)| moments.len())
    }

    /// Demand with the guests that ran most of the time, at the moments at which they did.
    fn seen(&self, running: &[u64], usual: &[usize]) -> Vec<SeenLoad> {
        let load = |resource: Resource| {
            let ways = demands(resource, &self.guests, self.clock)?;
            let total = |moment: usize| {
                let way = |rows: &Rows| -> Option<f64> {
                    // At these moments all that have a row and ran have a number, or the moment says nothing.
                    let there = rows
                        .iter()
                        .map(|row| row[moment])
                        .filter(|one| !one.is_nan());
                    let count = there.clone().count() as u64;
                    (count == running.iter().sum::<u64>()).then(|| there.sum())
                };
                ways.iter()
                    .map(way)
                    .try_fold(0.0_f64, |most, one| Some(most.max(one?)))
            };
            let totals: Vec<f64> = usual.iter().filter_map(|moment| total(*moment)).collect();
            self.load(resource, running, &totals)
        };
        SHOWN.into_iter().filter_map(load).collect()
    }

    /// The plan for a resource with some guests, beside their demand at many moments.
    fn load(&self, resource: Resource, counts: &[u64], totals: &[f64]) -> Option<SeenLoad> {
        let constraints = resource.constraints(self.model, counts)?;
        let (_, worst) = constraints.worst();
        let number = totals.len() as f64;
        let share = |count: usize| (!totals.is_empty()).then(|| count as f64 / number);
        let past = |total: &&f64| !within(**total, worst.limit);
        Some(SeenLoad {
            name: resource.name(self.model),
            unit: resource.unit(),
            limit: worst.limit,
            risk: worst.risk,
            mean: Beside {
                plan: self.mean(resource, counts),
                seen: (!totals.is_empty()).then(|| totals.iter().sum::<f64>() / number),
            },
            highest: Beside {
                plan: worst.at_risk(),
                seen: totals.iter().copied().reduce(f64::max),
            },
            past_limit: Beside {
                plan: constraints.past_limit(self.model),
                seen: share(totals.iter().filter(past).count()),
            },
            resource,
        })
    }

    /// Mean demand over all periods.
    fn mean(&self, resource: Resource, counts: &[u64]) -> f64 {
        let mean = |model: &HostModel| {
            let found = resource.constraint(model, counts);
            found.as_ref().map_or(0.0, Constraint::mean)
        };
        over_time(
            self.model
                .periods()
                .map(|one| (one.share_of_time(), mean(one))),
        )
    }

    /// The recorded guests drawn until these run; profiles that were not recorded count with their mean.
    fn replay(&self, counts: &[u64], seed: u64) -> Option<Replay> {
        let drawn = counts.iter().enumerate().map(|(profile, n)| {
            let is_recorded = self.profiles.contains(&profile);
            if is_recorded { *n } else { 0 }
        });
        let drawn: Vec<u64> = drawn.collect();
        if drawn.iter().all(|n| *n == 0) {
            return None;
        }
        let day = (DAY / self.clock.every).round() as usize;
        // Guests that are drawn twice would boot twice at the same moment.
        let clock = Timeline {
            boots: false,
            ..self.clock
        };
        let load = |resource: Resource| {
            let ways = demands(resource, &self.guests, clock)?;
            let input = ReplayInput {
                ways: &ways,
                profiles: &self.profiles,
                counts: &drawn,
                always: self.mean(resource, counts) - self.mean(resource, &drawn),
                day,
                seed,
            };
            self.load(resource, counts, &input.totals()?)
        };
        let loads: Vec<SeenLoad> = SHOWN.into_iter().filter_map(load).collect();
        (!loads.is_empty()).then(|| Replay {
            guests: guests_by_name(self.model.lab, counts),
            draws: DRAWS,
            seed,
            days: (self.clock.moments / day.max(1)) as u64,
            loads,
        })
    }
}
