//! Draws of uncertain values, as far as a call asks for them.

use std::sync::atomic::Ordering::Relaxed;

use super::interrupt::until_interrupted;
use super::{Terminal, threads};
use crate::cli::DrawArgs;
use crate::lab::{Host, Lab};
use crate::sizing::uncertainty::{Draws, IntervalAnswer, interval};

/// More draws than this are shown as they are done, and end at the first interrupt with those done so far.
const MANY: u64 = 10_000;

impl DrawArgs {
    /// What to draw; none where draws are turned off.
    pub(super) fn asked(&self) -> Option<Draws> {
        let Self { draws, seed } = *self;
        asked(draws, seed)
    }
}

/// So many draws; none where there are to be none.
pub(super) fn asked(count: u64, seed: u64) -> Option<Draws> {
    threads::start();
    (count > 0).then_some(Draws { count, seed })
}

impl Terminal {
    /// How sure the count of a host is.
    pub(super) fn interval(&self, lab: &Lab, host: &Host, draws: Draws) -> Option<IntervalAnswer> {
        if draws.count <= MANY {
            return interval(lab, &host.name, draws, &|_| true);
        }
        let bar = self.bar(draws.count, "draws");
        let interval = until_interrupted(|interrupted| {
            interval(lab, &host.name, draws, &|done| {
                bar.inc(done);
                !interrupted.load(Relaxed)
            })
        });
        bar.finish_and_clear();
        interval
    }
}
