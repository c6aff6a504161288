//! When memory has settled.

use super::host::HostState;
use super::load::Load;

/// Memory has settled when it moves by less than this share of what the guests hold …
const BAND: f64 = 0.005;
/// … through so many passes of the scanner. As the measured runs were read: a plateau is one only after two more passes
/// have changed nothing.
const PASSES: f64 = 2.0;
/// Memory that has come no lower through so many passes will not make room by waiting, settled or not: twice what it takes
/// to merge a newcomer.
const PASSES_IN_VAIN: f64 = 4.0;
/// Time that a resting adaptive scanner is watched for instead, in decisions.
const DECISIONS: f64 = 2.0;

/// Watches memory until it has settled.
#[derive(Debug, Clone, Default)]
pub(super) struct Settling {
    /// Demand that is compared with `[B]`.
    anchor: f64,
    anchor_s: f64,
    /// Use since then, summed over time `[B·s]`, and the last moment and use that are in it.
    sum: f64,
    last: (f64, f64),
    /// Pages walked when the anchor was set.
    anchor_pages: f64,
    /// Lowest demand of this wait `[B]`, and the pages walked when it was reached.
    lowest: f64,
    lowest_pages: f64,
    /// When the wait began: the last guest up, the last spell asked for over, the last guest lost `[s]`.
    pub began_s: f64,
    /// Whether memory has settled since.
    pub settled: bool,
}

impl Settling {
    /// Begins to wait anew.
    pub(super) fn restart(&mut self, host: &HostState) {
        self.began_s = host.now;
        self.settled = false;
        self.set_anchor(host, 0.0);
        self.lowest = f64::INFINITY;
    }

    fn set_anchor(&mut self, host: &HostState, demand: f64) {
        self.anchor = demand;
        self.anchor_s = host.now;
        self.sum = 0.0;
        self.anchor_pages = host.scanner.walked;
    }

    /// Looks at a moment; whether memory has moved too little for long enough.
    ///
    /// Moving, whatever memory does: while pages wait for their first merge (a newcomer waits for up to two passes
    /// without any change), while an adaptive scanner is on its way to another speed, and while swap drains.
    pub(super) fn observe(&mut self, host: &HostState, load: &Load) -> bool {
        let used = host.memory.used(load);
        let (then, before) = std::mem::replace(&mut self.last, (host.now, used));
        self.sum += (host.now - then) * (used + before) / 2.0;
        let scanner = &host.scanner;
        let band = BAND * load.demand;
        let waiting = !scanner.rests() && host.guests.unmerged_yet() > band;
        let moved = (load.demand - self.anchor).abs() > band;
        let drains = host.memory.coming_back(load) > band;
        if waiting || moved || drains || scanner.speed.changes(used) {
            self.set_anchor(host, load.demand);
        }
        if load.demand < self.lowest - band {
            self.lowest = load.demand;
            self.lowest_pages = scanner.walked;
        }
        let pass = pass(host);
        if host.now < host.scanner_from || drains {
            false
        } else if pass <= 0.0 {
            true
        } else if scanner.rests() {
            host.now - self.anchor_s >= DECISIONS * host.model.host.merging.interval
        } else {
            scanner.walked - self.anchor_pages >= PASSES * pass
        }
    }

    /// Mean use since memory stopped moving `[B]`.
    pub(super) fn mean_used(&self) -> f64 {
        let (now, used) = self.last;
        let time = now - self.anchor_s;
        if time > 0.0 { self.sum / time } else { used }
    }

    /// Whether waiting has made no room for so long that it will not, though memory has not settled: it goes up and down.
    pub(super) fn in_vain(&self, host: &HostState) -> bool {
        let pass = pass(host);
        self.lowest.is_finite()
            && pass > 0.0
            && host.scanner.walked - self.lowest_pages >= PASSES_IN_VAIN * pass
    }
}

/// Pages of a whole pass: the first passes over new guests visit more than later ones.
fn pass(host: &HostState) -> f64 {
    host.pass_pages().max(host.scanner.longest_pass())
}
