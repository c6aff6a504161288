//! The scanner's speed in time: what its mode makes of it.

use super::cohort::Part;
use crate::lab::{Merging, Mode};
use crate::model::scanner::{self, Pressure, Scanner as Law};
use crate::sizing::host::HostModel;

/// Processor time of a first visit, a checksum `[s]`. Measured for this project on kernel 6.18.
const FIRST_COST: f64 = 1.4e-6;
/// Weight of the last pass in the advisor's running mean. Source: Linux mm/ksm.c (`EWMA_WEIGHT` 30 of 100).
const ADVISOR_WEIGHT: f64 = 0.3;

/// How near to its threshold an adaptive scanner hovers `[share of visible memory]`. Assumption.
const HOVER: f64 = 0.01;

/// The scanner of a host in time.
#[derive(Debug)]
pub(super) struct Scanner {
    mode: Mode,
    merging: Merging,
    law: Law,
    visible: f64,
    /// Pages per wake; 0 at rest.
    wake: f64,
    /// Pages per second that the advisor aims at.
    aimed: f64,
    /// Running mean of the pages of a pass, for the advisor.
    mean_pages: Option<f64>,
    /// Pages walked in this pass, and in the one before.
    pass_pages: f64,
    last_pass: f64,
    /// When an adaptive scanner decides next `[s]`.
    pub next_decision: f64,
    /// The visit under way.
    pub visit: Option<Visit>,
    /// Pages visited so far.
    pub walked: f64,
    /// Processor time used so far `[s]`.
    pub worked: f64,
}

/// One cohort being visited.
#[derive(Debug, Clone, Copy)]
pub(super) struct Visit {
    pub cohort: usize,
    /// Pages to visit, and those left.
    pub pages: f64,
    pub left: f64,
    /// Mean processor time of a page `[s]`.
    pub cost: f64,
    /// What is still to be visited of what was touched at boot, and of what was touched when busy.
    pub base: Ahead,
    pub grown: Ahead,
    /// Whether unchanged pages merge at their first visit.
    pub at_first: bool,
    /// Moment up to which rewriting of what is to be visited has been counted `[s]`.
    pub at: f64,
}

/// Pages of one kind of a cohort that the cursor has not come to yet, as shares of all of them.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ahead {
    pub part: Part,
    /// Touched.
    pub touched: f64,
}

impl Ahead {
    /// Takes a share of what is left.
    pub(super) fn take(&mut self, share: f64) -> Ahead {
        let mut taken = Ahead {
            part: Part::default(),
            touched: self.touched * share,
        };
        taken.part.change(&self.part, share);
        self.touched -= taken.touched;
        self.part.change(&taken.part, -1.0);
        taken
    }
}

/// Pages of a visit by what they cost.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Pages {
    /// Visited for the first time: a checksum.
    pub first: f64,
    /// Visited for the second time: looked up and merged or kept for others to be found.
    pub second: f64,
    /// Visited before.
    pub later: f64,
}

impl Pages {
    pub(super) fn all(&self) -> f64 {
        self.first + self.second + self.later
    }

    pub(super) fn add(&mut self, other: &Pages) {
        self.first += other.first;
        self.second += other.second;
        self.later += other.later;
    }
}

impl Scanner {
    /// At rest until `from` `[s]`.
    pub(super) fn new(model: &HostModel, from: f64) -> Scanner {
        let merging = &model.host.merging;
        Scanner {
            mode: merging.mode,
            merging: merging.clone(),
            law: model.scanner,
            visible: model.visible,
            wake: if merging.mode == Mode::Fixed {
                merging.pages_per_wake
            } else {
                0.0
            },
            aimed: model.scanner.speed(scanner::ADVISOR_LEAST),
            mean_pages: None,
            pass_pages: 0.0,
            last_pass: 0.0,
            next_decision: match merging.mode {
                Mode::Adaptive => from + merging.interval,
                Mode::Off | Mode::Fixed | Mode::ScanTime => f64::INFINITY,
            },
            visit: None,
            walked: 0.0,
            worked: 0.0,
        }
    }

    /// Visits until an unchanged page merges: true where one is enough once a merged copy exists.
    pub(super) fn merges_at_first(&self) -> bool {
        self.merging.visits < 1.5
    }

    pub(super) fn smart(&self) -> bool {
        self.merging.smart_scan
    }

    pub(super) fn users(&self) -> f64 {
        self.merging.users_per_copy
    }

    /// Pages per second at a mean processor time per page; 0 at rest.
    pub(super) fn speed(&self, cost: f64) -> f64 {
        match self.mode {
            Mode::Off => 0.0,
            Mode::Fixed | Mode::Adaptive if self.wake <= 0.0 => 0.0,
            Mode::Fixed | Mode::Adaptive => {
                scanner::speed(self.wake, self.law.sleep, self.law.tick, cost)
            }
            Mode::ScanTime => self.aimed,
        }
    }

    /// Pages per second in the steady state.
    pub(super) fn steady_speed(&self) -> f64 {
        self.speed(self.merging.scan_cost)
    }

    /// Mean processor time of a page `[s]`.
    ///
    /// Measured for this project, pass by pass: 1.4 µs at the first visit, `merge_cost` in the pass that merges,
    /// `scan_cost` after. A page that smart scan skips costs nothing and does not use up the budget; the 0.85 µs
    /// measured where it skips is a mean over the pages still visited, and the steady state's `scan_cost` stands for it.
    pub(super) fn cost(&self, pages: &Pages) -> f64 {
        (pages.first * FIRST_COST
            + pages.second * self.merging.merge_cost
            + pages.later * self.merging.scan_cost)
            / pages.all().max(1.0)
    }

    /// Counts pages walked.
    pub(super) fn walk(&mut self, pages: f64, cost: f64) {
        self.walked += pages;
        self.pass_pages += pages;
        self.worked += pages * cost;
    }

    /// A pass has ended: the advisor corrects itself.
    pub(super) fn pass_ended(&mut self) {
        let pages = std::mem::take(&mut self.pass_pages);
        self.last_pass = pages;
        if self.mode == Mode::ScanTime && pages > 0.0 {
            let mean = self
                .mean_pages
                .map_or(pages, |mean| mean + ADVISOR_WEIGHT * (pages - mean));
            self.mean_pages = Some(mean);
            let Law {
                sleep,
                tick,
                scan_cost,
            } = self.law;
            self.aimed =
                scanner::advisor_speed(mean, self.merging.target_pass, sleep, tick, scan_cost);
        }
    }

    /// An adaptive scanner's daemon decides.
    ///
    /// At rest when everything resident, merged pages counted in full, and the threshold fit and enough is free; else
    /// faster while less than the threshold is free, slower while more is.
    pub(super) fn decide(&mut self, resident: f64, free: f64) {
        let Merging {
            threshold,
            boost,
            decay,
            least,
            most,
            interval,
            ..
        } = self.merging;
        let ample = free > threshold * self.visible;
        self.wake = if ample && scanner::may_rest(resident, self.visible, threshold) {
            0.0
        } else {
            let pressure = if free < threshold * self.visible {
                Pressure::Short
            } else {
                Pressure::Ample
            };
            scanner::next_pages(self.wake, pressure, boost, decay, least, most)
        };
        self.next_decision += interval;
    }

    /// Pages of a whole pass, as far as has been seen: the first passes over new guests visit more than later ones.
    pub(super) fn longest_pass(&self) -> f64 {
        self.pass_pages.max(self.last_pass)
    }

    /// Whether an adaptive scanner is on its way to another speed with `used` bytes of memory in use: neither at one of
    /// its bounds nor hovering at its threshold.
    pub(super) fn changes_speed(&self, used: f64) -> bool {
        let Merging {
            threshold,
            least,
            most,
            ..
        } = self.merging;
        let ceiling = (1.0 - threshold) * self.visible;
        self.mode == Mode::Adaptive
            && self.wake > 0.0
            && (used - ceiling).abs() > HOVER * self.visible
            && if used < ceiling {
                self.wake > least
            } else {
                self.wake < most
            }
    }

    /// Whether it stands still, by mode or by decision.
    pub(super) fn rests(&self) -> bool {
        self.steady_speed() <= 0.0
    }
}
