//! After a power cut: every guest is fresh and unmerged.

use super::options::{Disks, Options, Spells, Stagger, Stop};
use super::plan::{Choice, Rule, guests_at, list, load_line, unwatched};
use super::record::Run;
use super::search::Search;
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
        spells: Spells::None,
        stop: Stop::AtEnd,
        ..Options::default()
    };
    let options = unwatched(&options);
    let guests = guests_at(model, n);
    let limit = load_line(model);
    if guests == 0 {
        return Restart {
            all_at_once: true,
            batch: 0,
            wait_s: 0.0,
            total_s: 0.0,
            left_off: 0,
        };
    }
    let all = Search::new(model, guests, limit, &options);
    if let Some(found) = all.attempt(guests, 0.0) {
        let total_s = found.run.up_s.unwrap_or(found.run.end_s);
        return Restart {
            all_at_once: true,
            batch: guests,
            wait_s: 0.0,
            total_s,
            left_off: 0,
        };
    }
    let list = list(model, guests, limit, &options);
    let back = list.guests.iter().sum::<u64>().min(guests);
    let list_s = list.up_s.unwrap_or(list.end_s);
    let found = (back > 0)
        .then(|| Search::new(model, back, limit, &options).rule(Choice::default(), list_s))
        .flatten();
    let (Rule { batch, wait_s }, total_s) = match found {
        Some(found) => (found.rule, found.run.up_s.unwrap_or(found.run.end_s)),
        None => (longest(&list), list_s),
    };
    Restart {
        all_at_once: false,
        batch,
        wait_s,
        total_s,
        left_off: guests - back,
    }
}

/// The smallest batch and the longest wait of a list made on the way: on the safe side of it where no fixed rule works.
fn longest(list: &Run) -> Rule {
    let waits = list
        .batches
        .windows(2)
        .map(|pair| pair[1].start_s - pair[0].start_s);
    Rule {
        batch: list
            .batches
            .iter()
            .map(|batch| batch.started)
            .min()
            .unwrap_or(0),
        wait_s: waits.fold(0.0, f64::max),
    }
}
