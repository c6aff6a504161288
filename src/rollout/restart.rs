//! After a power cut: every guest is fresh and unmerged.

use super::list::{guests_at, list, load_line};
use super::options::{Disks, Options, Stagger, Watch};
use super::run::Run;
use super::schedule::Rule;
use super::search::{Choice, Search};
use crate::sizing::answer::Restart;
use crate::sizing::host::HostModel;

/// How a host with N scaling guests (or sets) comes back after a power cut.
///
/// Every guest is fresh and not merged, its disk is there. Safe means: memory never passes the load line. Fixed guests
/// start first. Within a batch all guests start at the same moment, so booting slows where processor or disk is short.
#[must_use]
pub fn restart(model: &HostModel, n: u64) -> Restart {
    let options = Options {
        stagger: Stagger::Every(0.0),
        disks: Disks::Ready,
        watch: Watch::For(0.0),
        ..Options::default()
    };
    let guests = guests_at(model, n);
    let limit = load_line(model);
    let back = |all_at_once, Rule { batch, wait_s }, total_s, left_off| Restart {
        all_at_once,
        batch,
        wait_s,
        total_s,
        left_off,
    };
    if guests == 0 {
        return back(true, Rule::default(), 0.0, 0);
    }
    let all = Search::new(model, guests, limit, &options);
    if let Some((rule, run)) = all.attempt(guests, 0.0) {
        return back(true, rule, run.total_s(), 0);
    }
    let list = list(model, guests, limit, &options);
    let running = list.running().min(guests);
    let search = Search::new(model, running, limit, &options);
    let found = (running > 0)
        .then(|| search.rule(Choice::default(), list.total_s()))
        .flatten();
    let (rule, total_s) = found.map_or_else(
        || (longest(&list), list.total_s()),
        |(rule, run)| (rule, run.total_s()),
    );
    back(false, rule, total_s, guests - running)
}

/// The smallest batch and the longest wait of a list made on the way: on the safe side of it where no fixed rule works.
fn longest(list: &Run) -> Rule {
    let waits = list
        .batches
        .windows(2)
        .map(|pair| pair[1].start_s - pair[0].start_s);
    let sizes = list.batches.iter().map(|batch| batch.started);
    Rule {
        batch: sizes.min().unwrap_or(0),
        wait_s: waits.fold(0.0, f64::max),
    }
}
