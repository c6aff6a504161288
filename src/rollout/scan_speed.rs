//! The scanner's speed in time: what its mode makes of it.

use super::visit::PageCounts;
use crate::lab::{Merging, Mode};
use crate::model::memory::ceiling;
use crate::model::scanner::{self, Pressure, Scanner as Law};
use crate::sizing::host::HostModel;

/// Processor time of a first visit, a checksum `[s]`. Measured for this project on kernel 6.18.
const FIRST_COST: f64 = 1.4e-6;
/// Weight of the last pass in the advisor's running mean. Source: Linux mm/ksm.c (`EWMA_WEIGHT` 30 of 100).
const ADVISOR_WEIGHT: f64 = 0.3;
/// How near to its threshold an adaptive scanner hovers `[share of visible memory]`. Assumption.
const HOVER: f64 = 0.01;

/// The speed of a host's scanner in time.
#[derive(Debug, Clone)]
pub(super) struct ScanSpeed {
    merging: Merging,
    law: Law,
    visible: f64,
    /// Pages per wake; 0 at rest.
    wake: f64,
    /// Pages per second that the advisor aims at.
    aimed: f64,
    /// Running mean of the pages of a pass, for the advisor.
    mean_pages: Option<f64>,
}

impl ScanSpeed {
    pub(super) fn new(model: &HostModel) -> ScanSpeed {
        let merging = &model.host.merging;
        ScanSpeed {
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
        }
    }

    /// Pages per second at a mean processor time per page; 0 at rest.
    pub(super) fn at_cost(&self, cost: f64) -> f64 {
        match self.merging.mode {
            Mode::Off => 0.0,
            Mode::Fixed | Mode::Adaptive if self.wake <= 0.0 => 0.0,
            Mode::Fixed | Mode::Adaptive => {
                scanner::speed(self.wake, self.law.sleep, self.law.tick, cost)
            }
            Mode::ScanTime => self.aimed,
        }
    }

    /// Pages per second in the steady state.
    pub(super) fn steady(&self) -> f64 {
        self.at_cost(self.steady_cost())
    }

    /// Mean processor time of a page in the steady state `[s]`.
    pub(super) fn steady_cost(&self) -> f64 {
        self.merging.scan_cost
    }

    /// Mean processor time of a page `[s]`.
    ///
    /// Measured for this project, pass by pass: 1.4 µs at the first visit, `merge_cost` in the pass that merges,
    /// `scan_cost` after. A page that smart scan skips costs nothing and does not use up the budget; the 0.85 µs
    /// measured where it skips is a mean over the pages still visited, and the steady state's `scan_cost` stands for it.
    pub(super) fn cost(&self, pages: &PageCounts) -> f64 {
        (pages.first * FIRST_COST
            + pages.second * self.merging.merge_cost
            + pages.later * self.merging.scan_cost)
            / pages.all().max(1.0)
    }

    /// The advisor corrects itself after a pass of so many pages.
    pub(super) fn advise(&mut self, pages: f64) {
        if self.merging.mode != Mode::ScanTime || pages <= 0.0 {
            return;
        }
        let mean = self
            .mean_pages
            .map_or(pages, |mean| mean + ADVISOR_WEIGHT * (pages - mean));
        self.mean_pages = Some(mean);
        let Law {
            sleep,
            tick,
            scan_cost,
        } = self.law;
        self.aimed = scanner::advisor_speed(mean, self.merging.target_pass, sleep, tick, scan_cost);
    }

    /// Time between two decisions of an adaptive scanner's daemon `[s]`; none in another mode.
    pub(super) fn decides_every(&self) -> Option<f64> {
        (self.merging.mode == Mode::Adaptive).then_some(self.merging.interval)
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
    }

    /// Whether an adaptive scanner is on its way to another speed with `used` bytes of memory in use: neither at one of
    /// its bounds nor hovering at its threshold.
    pub(super) fn changes(&self, used: f64) -> bool {
        let ceiling = ceiling(self.merging.threshold, self.visible);
        self.merging.mode == Mode::Adaptive
            && self.wake > 0.0
            && (used - ceiling).abs() > HOVER * self.visible
            && if used < ceiling {
                self.wake > self.merging.least
            } else {
                self.wake < self.merging.most
            }
    }
}
