//! Memory of the guests on a host: the demand that each count is judged by.

use super::host::HostModel;
use crate::lab::Mode;
use crate::model::demand::Demand;
use crate::model::footprint::{Age, Footprint, Tracking};
use crate::model::held::{Copying, Group, Held, held, merged_part, resident, visited_pages};
use crate::model::memory::Swap;
use crate::model::number::{Measure, Number, Read};
use crate::model::scanner::Scan;
use crate::model::sharing::{SmartScan, merged_share};
use crate::model::{memory, scanner};

/// What page sharing finds at a composition.
#[derive(Debug, Clone, PartialEq)]
pub struct Sharing<N = f64> {
    /// Speed of the scanner `[pages/s]`, 0 when off or nothing is scanned.
    pub speed: N,
    /// Pages visited in a pass.
    pub pages: N,
    /// One pass `[s]`, none when off or nothing is scanned.
    pub pass: Option<N>,
    /// Merged share κ of each profile.
    pub kappa: Vec<N>,
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

impl<R: Read> HostModel<'_, R> {
    /// What the scanner finds.
    pub fn sharing(&self, counts: &[u64], age: Age, scan: Scan) -> Sharing<R::Number> {
        let merging = &self.host.merging;
        let footprints = self.footprints(age);
        let none = R::Number::of(0.0);
        let off = Sharing {
            speed: none,
            pages: none,
            pass: None,
            kappa: vec![none; footprints.len()],
            tracking: Tracking::Off,
        };
        if scan == Scan::Off || merging.mode == Mode::Off {
            return off;
        }
        let smart = SmartScan::from_switch(merging.smart_scan);
        let pages = visited_pages(self.running(counts, age), smart);
        if !pages.is_positive() {
            return Sharing {
                tracking: Tracking::On,
                ..off
            };
        }
        let number = |key, value, measure| self.own(key, value, measure);
        let speed = self.scanner.steady_speed(merging, pages, scan, number);
        let pass = (pages / speed).named(Measure::Seconds);
        let visits = self.own("merging.visits", merging.visits, Measure::Plain);
        let kappa = self.lab.guests.iter().zip(footprints).map(|(guest, f)| {
            if !f.scanned() {
                return none;
            }
            let every = guest.rewrite_interval;
            let interval = self.of_guest(guest, "rewrite_interval", every, Measure::Seconds);
            merged_share(pass, visits, interval)
        });
        Sharing {
            speed,
            pages,
            pass: Some(pass),
            kappa: kappa.collect(),
            tracking: Tracking::On,
        }
    }

    /// How many run of each profile, and one of them.
    fn running<'g>(
        &'g self,
        counts: &'g [u64],
        age: Age,
    ) -> impl Iterator<Item = (R::Number, &'g Footprint<R::Number>)> {
        let guests = counts.iter().zip(self.footprints(age));
        guests.map(|(n, guest)| (R::Number::of(*n as f64), guest))
    }

    /// The guests of each profile with what the scanner finds of them.
    pub(super) fn groups<'g>(
        &'g self,
        counts: &'g [u64],
        age: Age,
        sharing: &Sharing<R::Number>,
    ) -> Vec<Group<'g, R::Number>> {
        let running = self.running(counts, age).zip(&sharing.kappa);
        running
            .map(|((count, guest), kappa)| Group {
                count,
                guest,
                merged_share: *kappa,
            })
            .collect()
    }

    /// How merged pages are kept.
    pub fn copying(&self) -> Copying<R::Number> {
        let merging = &self.host.merging;
        let users = merging.users_per_copy;
        Copying {
            users: self.own("merging.users_per_copy", users, Measure::Plain),
            zero_share: if merging.use_zero_pages {
                self.own("merging.zero_share", merging.zero_share, Measure::Share)
            } else {
                R::Number::of(0.0)
            },
        }
    }

    /// Memory of the guests, given what the scanner finds: [`held`].
    pub fn memory(
        &self,
        counts: &[u64],
        age: Age,
        sharing: &Sharing<R::Number>,
    ) -> Held<R::Number> {
        let groups = self.groups(counts, age, sharing);
        held(&groups, &self.families, self.copying(), sharing.tracking)
    }

    /// Mean memory of the guests `[B]`: [`Held::mean`].
    pub fn mean_memory(&self, counts: &[u64], load: &Held<R::Number>) -> R::Number {
        let guests = counts.iter().zip(&self.lab.guests);
        load.mean(guests.map(|(n, guest)| (R::Number::of(*n as f64), self.busy_of(guest))))
    }

    /// Which scan the safe limit counts with.
    ///
    /// An adaptive scanner that starts only after the safe limit has been passed on the way up does not count: that is so
    /// where `keep_free` (a share) is above its `threshold` (a share).
    ///
    /// # Source
    /// Definition of this project, from the default configuration of the public tuning daemon.
    pub fn counted_scan(&self) -> Scan {
        let merging = &self.host.merging;
        match merging.mode {
            Mode::Off => Scan::Off,
            Mode::Adaptive if self.lab.policy.memory_keep_free > merging.threshold => Scan::Off,
            Mode::Adaptive | Mode::Fixed | Mode::ScanTime => Scan::Steady,
        }
    }

    /// Safe limit of the guests' memory `[B]`: [`memory::usable`].
    pub fn usable(&self) -> R::Number {
        let keep_free = self.lab.policy.memory_keep_free;
        let keep_free = self.policy("memory_keep_free", keep_free, Measure::Share);
        memory::usable(self.visible, self.base(), self.file_cache(), keep_free)
    }

    /// Swap of the host.
    pub(crate) fn swap(&self) -> Swap<R::Number> {
        let memory = &self.host.memory;
        let size = |key, value| self.own(key, value, Measure::Bytes);
        let ratio = memory.compressed_swap_ratio;
        Swap {
            disk: size("memory.swap", memory.swap),
            compressed: size("memory.compressed_swap", memory.compressed_swap),
            ratio: self.own("memory.compressed_swap_ratio", ratio, Measure::Plain),
        }
    }

    /// Mean memory of the guests with page sharing at its fastest, and the part that could be swapped out `[B]`.
    pub(crate) fn swappable(&self, counts: &[u64]) -> (R::Number, R::Number) {
        let sharing = self.sharing(counts, Age::LivedIn, Scan::Steady);
        let load = self.memory(counts, Age::LivedIn, &sharing);
        let mean = self.mean_memory(counts, &load);
        let swappable = R::Number::of(0.0).max(mean - load.fixed_in_memory);
        (mean, swappable.named(Measure::Bytes))
    }

    /// Mean demand and the cliff `[B]` when the file-system cache has shrunk to `cache`: [`memory::cliff`].
    pub fn cliff(&self, counts: &[u64], cache: R::Number) -> (R::Number, R::Number) {
        let (mean, swappable) = self.swappable(counts);
        let swap = self.swap();
        let relief = swap.relief(swap.swapped_out(swappable));
        (
            mean,
            memory::cliff(self.visible, self.base(), cache, relief),
        )
    }

    /// Resident memory of all guests, merged pages counted in full `[B]`: [`resident`].
    pub fn resident(&self, counts: &[u64], age: Age) -> R::Number {
        resident(self.running(counts, age))
    }

    /// Mean use of visible memory by base, cache and guests at a scan `[B]`.
    pub fn mean_used(&self, counts: &[u64], age: Age, scan: Scan) -> R::Number {
        self.used(counts, age, scan, Activity::Mean)
    }

    fn used(&self, counts: &[u64], age: Age, scan: Scan, activity: Activity) -> R::Number {
        let load = self.memory(counts, age, &self.sharing(counts, age, scan));
        let guests = match activity {
            Activity::Idle => load.always(),
            Activity::Mean => self.mean_memory(counts, &load),
        };
        self.base() + self.file_cache() + guests
    }

    fn threshold(&self) -> R::Number {
        let threshold = self.host.merging.threshold;
        self.own("merging.threshold", threshold, Measure::Share)
    }

    /// Memory use above which an adaptive scanner works `[B]`: [`memory::ceiling`].
    pub fn ceiling(&self) -> R::Number {
        memory::ceiling(self.threshold(), self.visible)
    }

    /// Whether an adaptive scanner may rest at a composition: [`scanner::may_rest`].
    pub fn may_rest(&self, counts: &[u64], age: Age) -> bool {
        scanner::may_rest(self.resident(counts, age), self.visible, self.threshold())
    }

    /// Where mean use settles `[B]`; an adaptive scanner hovers at its threshold: [`memory::settled_use`].
    ///
    /// Each of the uses is base + file cache + the guests' memory `[B]`.
    pub fn settled_used(&self, counts: &[u64], age: Age, activity: Activity) -> R::Number {
        let used = |scan| self.used(counts, age, scan, activity);
        if self.host.merging.mode != Mode::Adaptive {
            return used(Scan::Steady);
        }
        let unmerged = used(Scan::Off);
        let low = match memory::slow_scan(self.may_rest(counts, age)) {
            Scan::Off => unmerged,
            slow => used(slow),
        };
        memory::settled_use(self.ceiling(), unmerged, used(Scan::Steady), low)
    }

    /// Processor time per second that the scanner takes at a composition `[cores]`.
    ///
    /// `S·scan_cost`, S `[pages/s]`, scan_cost `[s/page]`; 0 where nothing is scanned, and for an adaptive scanner where it
    /// rests and the mean use without sharing is below `(1 − threshold)·visible`.
    ///
    /// # Source
    /// Kernel admin guide, mm/ksm; default configuration of the public tuning daemon.
    pub fn scan_load(&self, counts: &[u64]) -> R::Number {
        if self.host.merging.mode == Mode::Adaptive {
            let rests = self.may_rest(counts, Age::LivedIn) && {
                let unmerged = self.mean_used(counts, Age::LivedIn, Scan::Off);
                (self.ceiling() - unmerged).is_positive()
            };
            if rests {
                return R::Number::of(0.0);
            }
        }
        let speed = self.sharing(counts, Age::LivedIn, Scan::Steady).speed;
        (speed * self.scanner.scan_cost).named(Measure::Plain)
    }

    /// Share of the mergeable pages found merged: [`merged_part`].
    pub fn kappa(&self, counts: &[u64], sharing: &Sharing<R::Number>) -> R::Number {
        merged_part(&self.groups(counts, Age::LivedIn, sharing))
    }
}

impl<'a> HostModel<'a> {
    /// The model in the period in which the mean memory of the guests is largest.
    pub fn fullest(&self, counts: &[u64]) -> &HostModel<'a> {
        self.worst_by(|model| model.mean_used(counts, Age::LivedIn, model.counted_scan()))
    }

    /// The random demand that a count of memory is judged by, and its limit `[B]`.
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
}
