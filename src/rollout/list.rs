//! Starting each batch as soon as it is safe, as far as that goes.

use super::options::{Options, Stop};
use super::run::Run;
use super::schedule::Schedule;
use super::simulate::simulate;
use crate::model::within;
use crate::sizing::host::HostModel;
use crate::sizing::search::{Largest, largest};

/// Tries of a list that overshoots because merged pages are rewritten meanwhile.
const TRIES: u32 = 4;

/// The load line as a share of visible memory: what is full when the safe limit is reached.
///
/// `(usable + base + file_cache)/visible = 1 − keep_free`
#[must_use]
pub fn load_line(model: &HostModel) -> f64 {
    let memory = &model.host.memory;
    (model.usable() + memory.base + memory.file_cache) / model.visible
}

/// Guests of all profiles at N.
pub(super) fn guests_at(model: &HostModel, n: u64) -> u64 {
    model.composition.counts(n).iter().sum()
}

/// The largest N whose guests are among the first so many that start; 0 where not even the fixed ones are.
pub(super) fn scaling_of(model: &HostModel, guests: u64) -> u64 {
    match largest(guests, |n| guests_at(model, n) <= guests) {
        Largest::Bound(n) => n,
        Largest::Unbounded => guests,
        Largest::Infeasible => 0,
    }
}

/// The next batch as soon as it is safe, as far as that goes.
pub(super) fn list(model: &HostModel, guests: u64, limit: f64, options: &Options) -> Run {
    let options = Options {
        stop: Stop::AtEnd,
        ..options.clone()
    };
    let run_to = |limit: f64| simulate(model, &Schedule::AsSoonAsSafe { guests, limit }, &options);
    let mut aim = limit;
    let mut run = run_to(aim);
    for _ in 1..TRIES {
        if within(run.peak, limit) || run.batches.is_empty() {
            break;
        }
        aim -= (run.peak - limit) * 1.2;
        run = run_to(aim);
    }
    run
}
