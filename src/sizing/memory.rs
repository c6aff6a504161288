//! Memory of the guests on a host: the demand that each count is judged by.

use super::host::HostModel;
use crate::lab::Mode;
use crate::model::demand::Demand;
use crate::model::footprint::{Age, Tracking};
use crate::model::held::{Copying, Group, Held, held};
use crate::model::scanner::Scan;
use crate::model::sharing::{SmartScan, merged_share};
use crate::model::{PAGE, memory, scanner};

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

/// How many guests are busy.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Activity {
    /// None.
    Idle,
    /// As many as in the mean.
    Mean,
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

    /// How merged pages are kept.
    #[must_use]
    pub fn copying(&self) -> Copying {
        let merging = &self.host.merging;
        Copying {
            users: merging.users_per_copy,
            zero_share: if merging.use_zero_pages {
                merging.zero_share
            } else {
                0.0
            },
        }
    }

    /// Memory of the guests, given what the scanner finds: [`held`].
    #[must_use]
    pub fn memory(&self, counts: &[u64], age: Age, sharing: &Sharing) -> Held {
        let groups: Vec<Group> = counts
            .iter()
            .zip(self.footprints(age))
            .zip(&sharing.kappa)
            .map(|((n, guest), kappa)| Group {
                count: *n as f64,
                guest,
                merged_share: *kappa,
            })
            .collect();
        held(&groups, &self.families, self.copying(), sharing.tracking)
    }

    /// Mean memory of the guests `[B]`: [`Held::mean`].
    #[must_use]
    pub fn mean_memory(&self, counts: &[u64], load: &Held) -> f64 {
        let guests = counts.iter().zip(&self.lab.guests);
        load.mean(guests.map(|(n, guest)| (*n as f64, guest.busy)))
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
        self.used(counts, age, scan, Activity::Mean)
    }

    fn used(&self, counts: &[u64], age: Age, scan: Scan, activity: Activity) -> f64 {
        let load = self.memory(counts, age, &self.sharing(counts, age, scan));
        let guests = match activity {
            Activity::Idle => load.always(),
            Activity::Mean => self.mean_memory(counts, &load),
        };
        self.host.memory.base + self.host.memory.file_cache + guests
    }

    /// Whether an adaptive scanner may rest at a composition: [`scanner::may_rest`].
    #[must_use]
    pub fn may_rest(&self, counts: &[u64], age: Age) -> bool {
        let resident = self.resident(counts, age);
        scanner::may_rest(resident, self.visible, self.host.merging.threshold)
    }

    /// Where mean use settles `[B]`; an adaptive scanner hovers at its threshold: [`memory::settled_use`].
    ///
    /// Each of the uses is base + file cache + the guests' memory `[B]`.
    #[must_use]
    pub fn settled_used(&self, counts: &[u64], age: Age, activity: Activity) -> f64 {
        let used = |scan| self.used(counts, age, scan, activity);
        let merging = &self.host.merging;
        if merging.mode != Mode::Adaptive {
            return used(Scan::Steady);
        }
        let unmerged = used(Scan::Off);
        let low = match memory::slow_scan(self.may_rest(counts, age)) {
            Scan::Off => unmerged,
            slow => used(slow),
        };
        let ceiling = memory::ceiling(merging.threshold, self.visible);
        memory::settled_use(ceiling, unmerged, used(Scan::Steady), low)
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
            let rests = self.may_rest(counts, Age::LivedIn)
                && self.mean_used(counts, Age::LivedIn, Scan::Off)
                    < memory::ceiling(merging.threshold, self.visible);
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
