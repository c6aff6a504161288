//! Memory of the guests on a host: the demand that each count is judged by.

use super::host::HostModel;
use crate::lab::Mode;
use crate::model::demand::Demand;
use crate::model::footprint::{Age, Footprint, Tracking};
use crate::model::sharing::{SmartScan, copies, merged_share};
use crate::model::{PAGE, memory, scanner};

/// Which speed of the scanner counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scan {
    /// No page sharing, no bookkeeping.
    Off,
    /// The steady state of the host's mode; for an adaptive scanner its fastest.
    Steady,
    /// An adaptive scanner drifting at its slowest.
    Least,
}

/// What page sharing finds at a composition.
#[derive(Debug, Clone, PartialEq)]
pub struct Sharing {
    /// Speed of the scanner `[pages/s]`, 0 when off or nothing is scanned.
    pub speed: f64,
    /// Pages visited in a pass.
    pub pages: f64,
    /// One pass `[s]`, none when off or nothing is scanned.
    pub pass: Option<f64>,
    /// Merged share κ of each profile.
    pub kappa: Vec<f64>,
    /// Whether bookkeeping is kept.
    pub tracking: Tracking,
}

/// Memory of the guests at a composition. All `[B]`.
#[derive(Debug, Clone, PartialEq)]
pub struct MemoryLoad {
    /// Overhead, unique pages, page tables and bookkeeping.
    pub private: f64,
    /// Copies that stay of merged pages.
    pub merged: f64,
    /// Mergeable pages that are not merged (yet, or again).
    pub unmerged: f64,
    /// Δ of each profile.
    pub extras: Vec<f64>,
    /// The part of `private` that cannot be swapped out.
    pub fixed_in_memory: f64,
}

impl MemoryLoad {
    /// What is there with no guest busy.
    #[must_use]
    pub fn always(&self) -> f64 {
        self.private + self.merged + self.unmerged
    }
}

/// The counts that memory is judged by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MemoryCount {
    /// `fits`: lived-in guests within the safe limit.
    LivedIn,
    /// `fresh`: the same, never busy since boot.
    Fresh,
    /// `unshared`: the same as `fits` with page sharing off.
    Unshared,
    /// `stretched`: balloons in, swap still empty.
    Stretched,
}

impl HostModel<'_> {
    /// What the scanner finds.
    #[must_use]
    pub fn sharing(&self, counts: &[u64], age: Age, scan: Scan) -> Sharing {
        let merging = &self.host.merging;
        let footprints = self.footprints(age);
        let off = Sharing {
            speed: 0.0,
            pages: 0.0,
            pass: None,
            kappa: vec![0.0; footprints.len()],
            tracking: Tracking::Off,
        };
        if scan == Scan::Off || merging.mode == Mode::Off {
            return off;
        }
        let smart = SmartScan::from_switch(merging.smart_scan);
        let pages = counts
            .iter()
            .zip(footprints)
            .map(|(n, f)| *n as f64 * f.visited(smart))
            .sum::<f64>()
            / PAGE;
        if pages <= 0.0 {
            return Sharing {
                tracking: Tracking::On,
                ..off
            };
        }
        let speed = self.scan_speed(pages, scan);
        let pass = pages / speed;
        let kappa = self
            .lab
            .guests
            .iter()
            .zip(footprints)
            .map(|(guest, f)| {
                if f.scanned() {
                    merged_share(pass, merging.visits, guest.rewrite_interval)
                } else {
                    0.0
                }
            })
            .collect();
        Sharing {
            speed,
            pages,
            pass: Some(pass),
            kappa,
            tracking: Tracking::On,
        }
    }

    /// Speed of the scanner with `pages` to visit in a pass `[pages/s]`.
    fn scan_speed(&self, pages: f64, scan: Scan) -> f64 {
        let merging = &self.host.merging;
        match (merging.mode, scan) {
            (Mode::Off, _) | (_, Scan::Off) => 0.0,
            (Mode::Fixed, _) => self.scanner.speed(merging.pages_per_wake),
            (Mode::Adaptive, Scan::Least) => self.scanner.speed(merging.least),
            (Mode::Adaptive, Scan::Steady) => self.scanner.speed(merging.most),
            (Mode::ScanTime, _) => {
                let scanner::Scanner {
                    sleep,
                    tick,
                    scan_cost,
                } = self.scanner;
                scanner::advisor_speed(pages, merging.target_pass, sleep, tick, scan_cost)
            }
        }
    }

    /// Memory of the guests, given what the scanner finds.
    ///
    /// `Σ n·(o + u + meta) + Σ κ·copies + Σ κ·n·s/L + Σ (1 − κ)·n·(c + s)`, and Δ of each profile. A container's common
    /// files are shared at once through the page cache: one copy an image.
    ///
    /// - `counts` n, guests of each profile `[1]`; `sharing` κ of each profile and whether bookkeeping is kept
    /// - o, u, c, s `[B]`, meta `[B]` and Δ `[B]` as in [`Footprint`]; L users of a copy `[1]`; with the kernel's zero page
    ///   in use the zeroed part of s needs no copy
    ///
    /// # Source
    /// Linux mm/ksm.c and kernel admin guide, mm/ksm, for copies; the sum is a definition of this project. Worked out by
    /// hand in tests/published/guest_kinds.rs and containers.rs.
    #[must_use]
    pub fn memory(&self, counts: &[u64], age: Age, sharing: &Sharing) -> MemoryLoad {
        let footprints = self.footprints(age);
        let users = self.host.merging.users_per_copy;
        let zero = if self.host.merging.use_zero_pages {
            self.host.merging.zero_share
        } else {
            0.0
        };
        let mut load = MemoryLoad {
            private: 0.0,
            merged: self.common_copies(counts, footprints, sharing),
            unmerged: 0.0,
            extras: Vec::with_capacity(footprints.len()),
            fixed_in_memory: 0.0,
        };
        for ((n, f), kappa) in counts.iter().zip(footprints).zip(&sharing.kappa) {
            let n = *n as f64;
            let own = n * (f.overhead + f.unique + f.meta(sharing.tracking));
            load.private += own;
            if !f.swappable() {
                load.fixed_in_memory += own;
            }
            let shared_files = if f.shares_files() { f.common } else { 0.0 };
            let loose = f.common + f.repeats - shared_files;
            load.unmerged += (1.0 - kappa) * n * loose;
            load.merged += kappa * n * f.repeats * (1.0 - zero) / users;
            load.extras.push(f.busy_extra(*kappa, sharing.tracking));
        }
        load
    }

    /// Copies that stay of the common pages: by the scanner's merged share in machines, one an image in containers.
    fn common_copies(&self, counts: &[u64], footprints: &[Footprint], sharing: &Sharing) -> f64 {
        let users = self.host.merging.users_per_copy;
        let mut total = 0.0;
        for family in &self.families {
            let of = |wanted: fn(&Footprint) -> bool| -> Vec<(usize, f64, f64)> {
                let kept = family.iter().filter(|p| wanted(&footprints[**p]));
                kept.map(|p| (*p, footprints[*p].common, counts[*p] as f64))
                    .collect()
            };
            let files: Vec<(f64, f64)> = of(Footprint::shares_files)
                .iter()
                .map(|(_, c, n)| (*c, *n))
                .collect();
            total += copies(&files, f64::INFINITY);
            let machines = of(Footprint::merges_common);
            let weight: f64 = machines.iter().map(|(_, c, n)| c * n).sum();
            if weight > 0.0 {
                let kappa = machines
                    .iter()
                    .map(|(p, c, n)| c * n * sharing.kappa[*p])
                    .sum::<f64>()
                    / weight;
                let sets: Vec<(f64, f64)> = machines.iter().map(|(_, c, n)| (*c, *n)).collect();
                total += kappa * copies(&sets, users);
            }
        }
        total
    }

    /// Mean memory of the guests `[B]`: `always + Σ n·a·Δ`.
    #[must_use]
    pub fn mean_memory(&self, counts: &[u64], load: &MemoryLoad) -> f64 {
        let busy = counts.iter().zip(&self.lab.guests).zip(&load.extras);
        load.always()
            + busy
                .map(|((n, guest), extra)| *n as f64 * guest.busy * extra)
                .sum::<f64>()
    }

    /// Which scan the safe limit counts with.
    ///
    /// An adaptive scanner that starts only after the safe limit has been passed on the way up does not count: that is so
    /// where `keep_free` (a share) is above its `threshold` (a share).
    ///
    /// # Source
    /// Definition of this project, from the default configuration of the public tuning daemon.
    #[must_use]
    pub fn counted_scan(&self) -> Scan {
        let merging = &self.host.merging;
        match merging.mode {
            Mode::Off => Scan::Off,
            Mode::Adaptive if self.lab.policy.memory_keep_free > merging.threshold => Scan::Off,
            Mode::Adaptive | Mode::Fixed | Mode::ScanTime => Scan::Steady,
        }
    }

    /// The random demand that a count of memory is judged by, and its limit `[B]`.
    #[must_use]
    pub fn memory_demand(&self, counts: &[u64], count: MemoryCount) -> (Demand, f64) {
        let (age, scan) = match count {
            MemoryCount::LivedIn => (Age::LivedIn, self.counted_scan()),
            MemoryCount::Fresh => (Age::Fresh, self.counted_scan()),
            MemoryCount::Unshared => (Age::LivedIn, Scan::Off),
            MemoryCount::Stretched => (Age::LivedIn, Scan::Steady),
        };
        let load = self.memory(counts, age, &self.sharing(counts, age, scan));
        if count != MemoryCount::Stretched {
            return (
                self.demand_of(counts, load.always(), &load.extras),
                self.usable(),
            );
        }
        // Balloons take from idle guests only: a busy one holds its extra and what it would have given.
        let given: f64 = counts
            .iter()
            .zip(&self.lived_in)
            .map(|(n, f)| *n as f64 * f.give)
            .sum();
        let extras: Vec<f64> = load
            .extras
            .iter()
            .zip(&self.lived_in)
            .map(|(extra, f)| extra + f.give)
            .collect();
        let limit = self.beside_base() - self.host.memory.file_cache_floor;
        (
            self.demand_of(counts, load.always() - given, &extras),
            limit,
        )
    }

    /// Safe limit of the guests' memory `[B]`.
    #[must_use]
    pub fn usable(&self) -> f64 {
        let memory = &self.host.memory;
        memory::usable(
            self.visible,
            memory.base,
            memory.file_cache,
            self.lab.policy.memory_keep_free,
        )
    }

    /// Mean demand and the cliff `[B]` when the file-system cache has shrunk to `cache`.
    #[must_use]
    pub fn cliff(&self, counts: &[u64], cache: f64) -> (f64, f64) {
        let load = self.memory(
            counts,
            Age::LivedIn,
            &self.sharing(counts, Age::LivedIn, Scan::Steady),
        );
        let mean = self.mean_memory(counts, &load);
        let memory = &self.host.memory;
        let swap = memory::Swap {
            disk: memory.swap,
            compressed: memory.compressed_swap,
            ratio: memory.compressed_swap_ratio,
        };
        let relief = swap.relief(mean - load.fixed_in_memory);
        (
            mean,
            memory::cliff(self.visible, memory.base, cache, relief),
        )
    }

    /// Resident memory of all guests, merged pages counted in full `[B]`: Σ n·(o + ti).
    #[must_use]
    pub fn resident(&self, counts: &[u64], age: Age) -> f64 {
        counts
            .iter()
            .zip(self.footprints(age))
            .map(|(n, f)| *n as f64 * (f.overhead + f.idle))
            .sum()
    }

    /// Mean use of visible memory by base, cache and guests at a scan `[B]`.
    #[must_use]
    pub fn mean_used(&self, counts: &[u64], age: Age, scan: Scan) -> f64 {
        let load = self.memory(counts, age, &self.sharing(counts, age, scan));
        self.host.memory.base + self.host.memory.file_cache + self.mean_memory(counts, &load)
    }

    /// Where mean use settles `[B]`; an adaptive scanner hovers at its threshold.
    ///
    /// `min(unmerged, max(merged at the fastest, min(ceiling, low)))`, `ceiling = (1 − threshold)·visible`, low = merged
    /// at the slowest while `Σ n·(o + ti) + threshold·visible ≥ visible`, else unmerged.
    ///
    /// - `threshold` a share; `visible`, o and ti `[B]`; each of the uses is base + file cache + mean memory `[B]`
    ///
    /// # Source
    /// Definition of this project, from the default configuration of the public tuning daemon.
    #[must_use]
    pub fn settled_used(&self, counts: &[u64], age: Age) -> f64 {
        let steady = self.mean_used(counts, age, Scan::Steady);
        if self.host.merging.mode != Mode::Adaptive {
            return steady;
        }
        let threshold = self.host.merging.threshold;
        let unmerged = self.mean_used(counts, age, Scan::Off);
        let low = if scanner::may_rest(self.resident(counts, age), self.visible, threshold) {
            unmerged
        } else {
            self.mean_used(counts, age, Scan::Least)
        };
        let ceiling = (1.0 - threshold) * self.visible;
        unmerged.min(steady.max(ceiling.min(low)))
    }

    /// Processor time per second that the scanner takes at a composition `[cores]`.
    ///
    /// `S·scan_cost`, S `[pages/s]`, scan_cost `[s/page]`; 0 where nothing is scanned, and for an adaptive scanner where it
    /// rests and the mean use without sharing is below `(1 − threshold)·visible`.
    ///
    /// # Source
    /// Kernel admin guide, mm/ksm; default configuration of the public tuning daemon.
    #[must_use]
    pub fn scan_load(&self, counts: &[u64]) -> f64 {
        let merging = &self.host.merging;
        if merging.mode == Mode::Adaptive {
            let rests = scanner::may_rest(
                self.resident(counts, Age::LivedIn),
                self.visible,
                merging.threshold,
            ) && self.mean_used(counts, Age::LivedIn, Scan::Off)
                < (1.0 - merging.threshold) * self.visible;
            if rests {
                return 0.0;
            }
        }
        self.sharing(counts, Age::LivedIn, Scan::Steady).speed * self.scanner.scan_cost
    }

    /// Share of the mergeable pages found merged: Σ n(c + s)κ / Σ n(c + s); 0 where nothing can merge.
    #[must_use]
    pub fn kappa(&self, counts: &[u64], sharing: &Sharing) -> f64 {
        let rows = counts.iter().zip(&self.lived_in).zip(&sharing.kappa);
        let (mut merged, mut all) = (0.0, 0.0);
        for ((n, f), kappa) in rows {
            let weight = *n as f64 * f.mergeable();
            merged += weight * kappa;
            all += weight;
        }
        if all > 0.0 { merged / all } else { 0.0 }
    }
}
