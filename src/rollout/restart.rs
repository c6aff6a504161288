//! After a power cut: every guest is fresh and unmerged.

use std::cell::Cell;

use super::host::LEAST_SUPPLY;
use super::options::{Disks, Goal, Options, Stagger, Watch};
use super::plan::PATIENCE;
use super::planner::{Planner, guests_at, load_line};
use super::pool::Pools;
use super::profile::Profile;
use super::run::Run;
use super::schedule::Rule;
use super::search::Choice;
use crate::model::processor::supply;
use crate::sizing::answer::{Restart, RestartBatch};
use crate::sizing::host::HostModel;
use crate::sizing::named::by_name;

/// Steps of the search for a way back, at most. It is a part of each answer of `fit`.
const MOST_STEPS: u64 = 500_000;

/// How a host with N scaling guests (or sets) comes back after a power cut.
///
/// Every guest is fresh and not merged, its disk is there. Safe means: memory never passes the load line. Fixed guests
/// start first. Within a batch all guests start at the same moment, so booting slows where processor or disk is short.
pub fn restart(model: &HostModel, n: u64) -> Restart {
    let options = Options {
        stagger: Stagger::Every(0.0),
        disks: Disks::Ready,
        watch: Watch::For(0.0),
        ..Options::default()
    };
    let guests = guests_at(model, n);
    let goal = Goal {
        target: n,
        limit: load_line(model),
        fresh: true,
        options: &options,
    };
    let budget = Cell::new(MOST_STEPS);
    let planner = Planner::new(model, goal, &budget);
    if guests == 0 {
        return answer(model, Rule::default(), &Run::default(), 0);
    }
    if let Some((rule, run)) = planner.at_once(guests) {
        return answer(model, rule, &run, 0);
    }
    let list = planner.list(guests);
    let running = list.running().min(guests);
    let found = (running > 0)
        .then(|| planner.rule(running, Choice::default(), PATIENCE * list.total_s()))
        .flatten();
    let (rule, run) = found.unwrap_or_else(|| (longest(&list), list));
    Restart {
        all_at_once: false,
        ..answer(model, rule, &run, guests - running)
    }
}

/// The answer that a run gives.
fn answer(model: &HostModel, rule: Rule, run: &Run, left_off: u64) -> Restart {
    let batches = run.batches.iter().map(|batch| RestartBatch {
        at_s: batch.start_s,
        guests: by_name(model.lab, &batch.profiles),
    });
    let all = run.batches.iter().map(|batch| &batch.profiles);
    let counts = |profile: usize| all.clone().map(|batch| batch[profile]).sum();
    let counts: Vec<u64> = (0..model.lab.guests.len()).map(counts).collect();
    let profiles = Profile::all(model);
    let coming = || profiles.iter().zip(&counts).filter(|(_, n)| **n > 0);
    let busy = run.timeline.iter().map(|moment| moment.disk_busy);
    let total = model.total_cores;
    let work: f64 = coming().map(|(one, n)| *n as f64 * one.boot_cpu).sum();
    Restart {
        disk_s: Pools::new(&model.host.disks).reading(&profiles, &counts),
        processor_s: work / supply(total, model.host.cpu.base_cores, 0.0).max(LEAST_SUPPLY * total),
        boot_s: coming().map(|(one, _)| one.boot_time).fold(0.0, f64::max),
        all_at_once: true,
        batch: rule.batch,
        wait_s: rule.wait_s,
        total_s: run.total_s(),
        left_off,
        batches: batches.collect(),
        disk_busy: busy.fold(0.0, f64::max),
    }
}

/// The smallest batch and the longest wait of a list made on the way: on the safe side of it where no fixed rule works.
fn longest(list: &Run) -> Rule {
    let pairs = list.batches.windows(2);
    let waits = pairs.map(|pair| pair[1].start_s - pair[0].start_s);
    let sizes = list.batches.iter().map(|batch| batch.started);
    Rule {
        batch: sizes.min().unwrap_or(0),
        wait_s: waits.fold(0.0, f64::max),
    }
}
