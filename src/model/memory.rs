//! What memory a host has: seen by the kernel, usable up to the safe limit, and the cliff.

use super::PAGE;
use super::number::{Measure, Number};
use super::scanner::Scan;

/// Frame table: bytes of `struct page` per byte of memory. Source: Linux kernel documentation, memory model
/// (64 B of `struct page` per 4 KiB page).
pub const FRAME_TABLE: f64 = FRAME / PAGE;
/// `struct page` of one page `[B]`.
const FRAME: f64 = 64.0;

/// Memory that the kernel can hand out: what is left of the modules after firmware and the frame table.
///
/// `visible = (installed − reserved)·(1 − 64/4096)`
///
/// - `installed` Σ of the modules `[B]`
/// - `reserved` held back by firmware and devices `[B]`, below `installed`
///
/// Returns `[B]`.
///
/// # Source
/// Linux kernel documentation, memory model: one `struct page` of 64 B describes each page of 4 KiB.
///
/// # Example
/// ```
/// use berthage::model::{GIB, MIB, memory::visible};
/// // The frame table of 64 GiB is 1,024 MiB.
/// assert_eq!(64.0 * GIB - visible(64.0 * GIB, 0.0), 1024.0 * MIB);
/// ```
pub fn visible<N: Number>(installed: N, reserved: N) -> N {
    ((installed - reserved) * (N::of(1.0) - N::ratio(FRAME, PAGE))).named(Measure::Bytes)
}

/// The safe limit: what guests may fill.
///
/// `usable = visible − base − file_cache − keep_free·visible`
///
/// All sizes `[B]`, `keep_free` a share. May be negative on a host that is too small. Returns `[B]`.
///
/// # Source
/// Definition of this project; keeping a share free is common practice.
///
/// # Example
/// ```
/// assert_eq!(berthage::model::memory::usable(100.0, 5.0, 15.0, 0.25), 55.0);
/// ```
pub fn usable<N: Number>(visible: N, base: N, file_cache: N, keep_free: N) -> N {
    (visible - base - file_cache - keep_free * visible).named(Measure::Bytes)
}

/// Compressed swap held in memory: what it adds to the cliff when `used` bytes of its uncompressed size are in use.
///
/// `gain = used − used/q`
///
/// - `used` uncompressed bytes stored in it `[B]`
/// - `ratio` q, uncompressed over compressed size, ≥ 1
///
/// Returns `[B]`.
///
/// # Source
/// Linux kernel documentation, zram: a store of 8 GiB at 2:1 takes 4 GiB.
///
/// # Example
/// ```
/// use berthage::model::{GIB, memory::compressed_gain};
/// assert_eq!(compressed_gain(8.0 * GIB, 2.0), 4.0 * GIB);
/// ```
pub fn compressed_gain<N: Number>(used: N, ratio: N) -> N {
    used - used / ratio
}

/// Swap of a host, on disk and compressed in memory.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swap<N = f64> {
    /// On disk `[B]`.
    pub disk: N,
    /// Uncompressed size of the compressed swap in memory `[B]`.
    pub compressed: N,
    /// Its compression ratio.
    pub ratio: N,
}

impl<N: Number> Swap<N> {
    /// What is swapped out at most: `min(swap + z, swappable)` `[B]`.
    ///
    /// - `swappable` what could be swapped out: guests from reserved huge pages and pinned ones cannot `[B]`
    ///
    /// # Source
    /// Definition of this project.
    pub fn swapped_out(&self, swappable: N) -> N {
        let room = self.disk + self.compressed;
        room.min(swappable).named(Measure::Bytes)
    }

    /// Memory that swapping frees: `out − min(z, out)/q`, less what the compressed part takes in memory.
    ///
    /// - `out` what is swapped out, see [`Swap::swapped_out`] `[B]`; the compressed part fills first, having the higher
    ///   priority
    ///
    /// Returns `[B]`.
    ///
    /// # Source
    /// Linux kernel documentation, zram and swap priorities.
    pub fn relief(&self, out: N) -> N {
        if self.compressed.is_positive() {
            out - self.compressed.min(out) / self.ratio
        } else {
            out
        }
    }
}

impl Swap {
    /// What has to be swapped out for a relief: the inverse of [`Swap::relief`].
    ///
    /// `out = relief/(1 − 1/q)` within the compressed part, `z + relief − gain(z)` beyond it
    ///
    /// - `relief` memory to be freed `[B]`
    ///
    /// Returns `[B]`, not bounded by the size of the swap.
    ///
    /// # Source
    /// Linux kernel documentation, zram and swap priorities.
    pub fn out_for(&self, relief: f64) -> f64 {
        let gain = compressed_gain(self.compressed, self.ratio);
        if relief <= 0.0 {
            0.0
        } else if relief < gain {
            relief / (1.0 - 1.0 / self.ratio)
        } else {
            self.compressed + (relief - gain)
        }
    }
}

/// Past this mean demand of guests the host thrashes or kills guests.
///
/// `cliff = visible − base − file_cache_floor + swap relief`
///
/// All `[B]`. An upper bound: thrashing starts when the memory in active use passes `visible − base`, zone watermarks
/// hold back about 1 %, and user-space killers act earlier on pressure.
///
/// # Source
/// Linux kernel, mm/oom_kill.c and mm/page_alloc.c (watermarks); definition of this project.
pub fn cliff<N: Number>(visible: N, base: N, file_cache_floor: N, swap_relief: N) -> N {
    (visible - base - file_cache_floor + swap_relief).named(Measure::Bytes)
}

/// Which speed of the scanner the slower end of [`settled_use`] counts with.
///
/// # Source
/// Default configuration of the public tuning daemon: it stops while `resident + threshold·visible < visible`.
pub fn slow_scan(may_rest: bool) -> Scan {
    if may_rest { Scan::Off } else { Scan::Least }
}

/// Where the use of visible memory settles under an adaptive scanner, which hovers at its threshold.
///
/// `min(unmerged, max(fastest, min(ceiling, low)))`
///
/// - `ceiling` `(1 − threshold)·visible`, see [`ceiling`] `[B]`
/// - `unmerged`, `fastest`, `low` use with page sharing off, at its fastest, and at the speed of [`slow_scan`] `[B]`
///
/// Returns `[B]`. A scanner in another mode settles at `fastest`, its only speed.
///
/// # Source
/// Definition of this project, from the default configuration of the public tuning daemon.
///
/// # Example
/// ```
/// use berthage::model::memory::settled_use;
/// // It merges down to its ceiling of 48, no further, and not below what it reaches at its fastest.
/// assert_eq!(settled_use(48.0, 60.0, 40.0, 60.0), 48.0);
/// assert_eq!(settled_use(48.0, 60.0, 52.0, 60.0), 52.0);
/// // Below the ceiling it rests; at its slowest it drifts on.
/// assert_eq!(settled_use(48.0, 45.0, 30.0, 45.0), 45.0);
/// assert_eq!(settled_use(48.0, 47.0, 30.0, 41.0), 41.0);
/// ```
pub fn settled_use<N: Number>(ceiling: N, unmerged: N, fastest: N, low: N) -> N {
    unmerged.min(fastest.max(ceiling.min(low)))
}

/// Memory use above which an adaptive scanner works: `(1 − threshold)·visible` `[B]`.
///
/// - `threshold` a share; `visible` `[B]`
///
/// # Source
/// Default configuration of the public tuning daemon.
pub fn ceiling<N: Number>(threshold: N, visible: N) -> N {
    (N::of(1.0) - threshold) * visible
}

#[cfg(test)]
mod tests {
    use super::{Swap, cliff, usable, visible};
    use crate::model::{GIB, MIB};

    #[test]
    fn frame_table_of_64_gib_is_1024_mib() {
        // Linux kernel documentation, memory model: 64 B per 4 KiB page.
        assert_eq!(64.0 * GIB - visible(64.0 * GIB, 0.0), 1024.0 * MIB);
    }

    #[test]
    fn compressed_swap_of_8_gib_at_two_to_one_gains_4_gib() {
        // Linux kernel documentation, zram.
        let swap = Swap {
            disk: 0.0,
            compressed: 8.0 * GIB,
            ratio: 2.0,
        };
        assert_eq!(swap.relief(swap.swapped_out(100.0 * GIB)), 4.0 * GIB);
    }

    #[test]
    fn pinned_guests_leave_swap_unused() {
        let swap = Swap {
            disk: 8.0 * GIB,
            compressed: 4.0 * GIB,
            ratio: 2.0,
        };
        assert_eq!(swap.relief(swap.swapped_out(0.0)), 0.0);
        assert_eq!(swap.relief(swap.swapped_out(2.0 * GIB)), 1.0 * GIB);
        assert_eq!(swap.relief(swap.swapped_out(6.0 * GIB)), 4.0 * GIB);
        assert_eq!(swap.relief(swap.swapped_out(100.0 * GIB)), 10.0 * GIB);
        for relief in [0.0, 1.0, 2.0, 7.0] {
            let out = swap.out_for(relief * GIB);
            assert_eq!(swap.relief(out), relief * GIB, "{relief}");
        }
    }

    #[test]
    fn supply_adds_up() {
        let seen = visible(64.0 * GIB, 0.5 * GIB);
        assert!(usable(seen, 2.0 * GIB, 4.0 * GIB, 0.1) < usable(seen, 2.0 * GIB, 4.0 * GIB, 0.0));
        assert_eq!(
            cliff(seen, 2.0 * GIB, 1.0 * GIB, 8.0 * GIB),
            seen + 5.0 * GIB
        );
    }
}
