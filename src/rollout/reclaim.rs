//! Memory getting short: the cache lets go, swap fills and drains.

use super::load::Load;
use crate::model::MIB;
use crate::model::memory::Swap;
use crate::sizing::host::HostModel;

/// Share of visible memory in use when it is full: the kernel never hands out the rest. Source: zone watermarks, about 1 %,
/// Linux mm/page_alloc.c.
pub(super) const FULL: f64 = 1.0 - 0.01;
/// How fast a file-system cache lets go `[B/s]`. Assumption: it is known to let go more slowly than guests grow.
const CACHE_LETS_GO: f64 = 256.0 * MIB;
/// How fast swap on disk fills and drains where the pool's speed is not given `[B/s]`. Assumption.
const SWAP_SPEED: f64 = 200e6;
/// Mean time until a page swapped out is used again and comes back `[s]`. Assumption: idle guests leave it there long.
const SWAP_RETURN: f64 = 3600.0;

/// Cache and swap of a host in time.
#[derive(Debug, Clone)]
pub(super) struct Reclaim {
    visible: f64,
    base: f64,
    /// File-system cache now, and its least `[B]`.
    pub cache: f64,
    cache_floor: f64,
    swap: Swap,
    swap_speed: f64,
    /// Swapped out, uncompressed `[B]`.
    pub swapped: f64,
    /// Whether guests that ask for memory wait for swap to take more out.
    pub stalled: bool,
}

impl Reclaim {
    /// At rest; `swap_speed` is how fast the disk that swap is on can be written `[B/s]`.
    pub(super) fn new(model: &HostModel, swap_speed: Option<f64>) -> Reclaim {
        let memory = &model.host.memory;
        Reclaim {
            visible: model.visible,
            base: memory.base,
            cache: memory.file_cache,
            cache_floor: memory.file_cache_floor,
            swap: model.swap(),
            swap_speed: swap_speed.unwrap_or(SWAP_SPEED),
            swapped: 0.0,
            stalled: false,
        }
    }

    /// Base, cache and guests in memory `[B]`.
    pub(super) fn used(&self, load: &Load) -> f64 {
        let used = self.base + self.cache + load.demand - self.relief();
        // A guest that waits for swap has not got its memory yet.
        used.min(self.visible)
    }

    /// Brings memory into balance for `dt`; whether guests get the memory they ask for, or wait for swap to take more out.
    /// If not, swap is full and memory short: the kernel kills.
    pub(super) fn balance(&mut self, load: &Load, dt: f64) -> bool {
        self.shrink_cache(load.demand, dt);
        self.swap(load, dt);
        // Relative slack: memory that is exactly full is not short.
        let short = self.missing(load.demand) > 1e-9 * self.visible;
        let full = self.swapped >= self.swap.swapped_out(load.swappable) * (1.0 - 1e-9);
        self.stalled = short && !full;
        !(short && full)
    }

    /// Drops the swapped pages of a guest that was killed and held so many bytes of `load` alone: swap holds its pages in
    /// the same proportion as the others'.
    pub(super) fn drop_swapped(&mut self, returned: f64, load: &Load) {
        let share = returned / load.swappable.max(returned).max(1.0);
        self.swapped *= 1.0 - share;
    }

    /// Memory that fills again as swap drains `[B]`.
    pub(super) fn coming_back(&self, load: &Load) -> f64 {
        let spare = (-self.missing(load.demand)).max(0.0);
        spare.min(self.relief())
    }

    /// Memory that swapping frees now `[B]`.
    fn relief(&self) -> f64 {
        self.swap.relief(self.swapped)
    }

    /// Bytes missing with a demand of the guests.
    fn missing(&self, demand: f64) -> f64 {
        let room = self.visible * FULL - self.base;
        demand - self.relief() - (room - self.cache)
    }

    fn shrink_cache(&mut self, demand: f64, dt: f64) {
        let over = self.missing(demand);
        if over > 0.0 {
            self.cache -= over
                .min(CACHE_LETS_GO * dt)
                .min((self.cache - self.cache_floor).max(0.0));
        }
    }

    /// Swap fills or drains, for `dt`.
    fn swap(&mut self, load: &Load, dt: f64) {
        let most = self.swap.swapped_out(load.swappable);
        self.swapped = self.swapped.min(most);
        let moved = self.swap_speed * dt;
        let over = self.missing(load.demand);
        if over > 0.0 {
            let wanted = self.swap.out_for(self.relief() + over).min(most);
            // The compressed part moves at the speed of memory.
            self.swapped = wanted.min(self.swapped.max(self.swap.compressed.min(wanted)) + moved);
        } else if self.swapped > 0.0 {
            let least = self.swap.out_for(self.relief() + over);
            let back = (self.swapped * dt / SWAP_RETURN).min(moved);
            self.swapped = (self.swapped - back).max(least).min(self.swapped);
        }
    }
}
