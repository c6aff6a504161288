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
/// Passes after which what goes up and down has come round, at the latest: smart scan visits what never merged in one of
/// so many.
const SMART_CYCLE: f64 = 9.0;
/// Time that a resting adaptive scanner is watched for instead, in decisions.
const DECISIONS: f64 = 2.0;

/// Use over some time.
#[derive(Debug, Clone, Copy, Default)]
struct Span {
    /// `[s]`
    time: f64,
    /// Use summed over it `[B·s]`.
    sum: f64,
}

impl Span {
    fn add(&mut self, other: Span) {
        self.time += other.time;
        self.sum += other.sum;
    }

    /// Mean use `[B]`; none over no time.
    fn mean(self) -> Option<f64> {
        (self.time > 0.0).then(|| self.sum / self.time)
    }
}

/// Watches memory until it has settled.
#[derive(Debug, Clone, Default)]
pub(super) struct Settling {
    /// Demand that is compared with `[B]`.
    anchor: f64,
    anchor_s: f64,
    /// Use since then, and the last moment and use that are in it.
    since: Span,
    last: (f64, f64),
    /// Use in the cycle before this one, and in this one, which began when so many pages were walked.
    cycles: [Span; 2],
    cycle_pages: f64,
    /// Whether memory goes up and down for so long that it will not settle.
    swings: bool,
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
        self.cycles = Default::default();
        self.cycle_pages = host.scanner.walked;
        self.lowest = f64::INFINITY;
    }

    fn set_anchor(&mut self, host: &HostState, demand: f64) {
        self.anchor = demand;
        self.anchor_s = host.now;
        self.since = Span::default();
        self.anchor_pages = host.scanner.walked;
    }

    /// Looks at a moment; whether memory has moved too little for long enough.
    ///
    /// Moving, whatever memory does: while pages wait for their first merge (a newcomer waits for up to two passes
    /// without any change), while an adaptive scanner is on its way to another speed, and while swap drains.
    pub(super) fn observe(&mut self, host: &HostState, load: &Load) -> bool {
        let used = host.memory.used(load);
        let (then, before) = std::mem::replace(&mut self.last, (host.now, used));
        let span = Span {
            time: host.now - then,
            sum: (host.now - then) * (used + before) / 2.0,
        };
        self.since.add(span);
        self.cycles[1].add(span);
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
        let cycle = match host.model.host.merging.smart_scan {
            true => SMART_CYCLE,
            false => PASSES,
        };
        if scanner.walked - self.cycle_pages >= cycle * pass {
            self.cycles = [self.cycles[1], Span::default()];
            self.cycle_pages = scanner.walked;
        }
        self.swings = self.in_vain(host) && !drains;
        if drains {
            false
        } else if pass <= 0.0 {
            true
        } else if scanner.rests() {
            host.now - self.anchor_s >= DECISIONS * host.model.host.merging.interval
        } else {
            scanner.walked - self.anchor_pages >= PASSES * pass
        }
    }

    /// Mean use since memory stopped moving, where it has settled; over one cycle or two, where it goes up and down and
    /// will not `[B]`.
    pub(super) fn mean_used(&self, steady: bool) -> Option<f64> {
        let [mut cycles, this] = self.cycles;
        if steady && self.settled {
            return Some(self.since.mean().unwrap_or(self.last.1));
        }
        // A whole one.
        let whole = self.swings && cycles.time > 0.0;
        cycles.add(this);
        cycles.mean().filter(|_| whole)
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
