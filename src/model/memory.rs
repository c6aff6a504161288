//! What memory a host has: seen by the kernel, usable up to the safe limit, and the cliff.

use super::PAGE;

/// Frame table: bytes of `struct page` per byte of memory. Source: Linux kernel documentation, memory model
/// (64 B of `struct page` per 4 KiB page).
pub const FRAME_TABLE: f64 = 64.0 / PAGE;

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
#[must_use]
pub fn visible(installed: f64, reserved: f64) -> f64 {
    (installed - reserved) * (1.0 - FRAME_TABLE)
}

/// What guests may fill up to the safe limit (the load line).
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
#[must_use]
pub fn usable(visible: f64, base: f64, file_cache: f64, keep_free: f64) -> f64 {
    visible - base - file_cache - keep_free * visible
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
#[must_use]
pub fn compressed_gain(used: f64, ratio: f64) -> f64 {
    used - used / ratio
}

/// Swap of a host, on disk and compressed in memory.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swap {
    /// On disk `[B]`.
    pub disk: f64,
    /// Uncompressed size of the compressed swap in memory `[B]`.
    pub compressed: f64,
    /// Its compression ratio.
    pub ratio: f64,
}

impl Swap {
    /// Memory that swapping can free when at most `swappable` bytes of guests may be swapped out.
    ///
    /// `min(swap + z, swappable)`, less what the compressed part takes in memory (it fills first, having the higher
    /// priority). Guests from reserved huge pages and pinned ones cannot be swapped. Returns `[B]`.
    ///
    /// # Source
    /// Linux kernel documentation, zram and swap priorities; definition of this project for the cap.
    #[must_use]
    pub fn relief(&self, swappable: f64) -> f64 {
        let out = (self.disk + self.compressed).min(swappable.max(0.0));
        let compressed = self.compressed.min(out);
        out - compressed + compressed_gain(compressed, self.ratio)
    }
}

/// Past this mean demand of guests the kernel kills guests.
///
/// `cliff = visible − base − file_cache_floor + swap relief`
///
/// All `[B]`. An upper bound: thrashing starts when the memory in active use passes `visible − base`, zone watermarks
/// hold back about 1 %, and user-space killers act earlier on pressure.
///
/// # Source
/// Linux kernel, mm/oom_kill.c and mm/page_alloc.c (watermarks); definition of this project.
#[must_use]
pub fn cliff(visible: f64, base: f64, file_cache_floor: f64, swap_relief: f64) -> f64 {
    visible - base - file_cache_floor + swap_relief
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
        assert_eq!(swap.relief(100.0 * GIB), 4.0 * GIB);
    }

    #[test]
    fn pinned_guests_leave_swap_unused() {
        let swap = Swap {
            disk: 8.0 * GIB,
            compressed: 4.0 * GIB,
            ratio: 2.0,
        };
        assert_eq!(swap.relief(0.0), 0.0);
        assert_eq!(swap.relief(2.0 * GIB), 1.0 * GIB);
        assert_eq!(swap.relief(6.0 * GIB), 4.0 * GIB);
        assert_eq!(swap.relief(100.0 * GIB), 10.0 * GIB);
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
