//! Memory getting short: the cache lets go, swap fills and drains, the kernel kills.

use super::host::HostState;
use super::kill::Victim;
use crate::model::MIB;
use crate::model::memory::{Swap, compressed_gain};
use crate::sizing::host::HostModel;

/// Share of visible memory that the kernel never hands out. Source: zone watermarks, about 1 %, Linux mm/page_alloc.c.
const WATERMARK: f64 = 0.01;
/// How fast a file-system cache lets go `[B/s]`. Assumption: it is known to let go more slowly than guests grow.
const CACHE_LETS_GO: f64 = 256.0 * MIB;
/// How fast swap on disk fills and drains where the pool's speed is not given `[B/s]`. Assumption.
const SWAP_SPEED: f64 = 200e6;
/// Mean time until a page swapped out is used again and comes back `[s]`. Assumption: idle guests leave it there long.
const SWAP_RETURN: f64 = 3600.0;

/// Cache and swap of a host at one moment.
#[derive(Debug)]
pub(super) struct Pressure {
    /// What the kernel can hand out beside base and cache `[B]`.
    room: f64,
    /// File-system cache now, and its least `[B]`.
    pub cache: f64,
    cache_floor: f64,
    swap: Swap,
    swap_speed: Option<f64>,
    /// Swapped out, uncompressed `[B]`.
    pub swapped: f64,
    /// Guests that ask for memory wait for swap to take more out.
    pub stalled: bool,
}

impl Pressure {
    pub(super) fn new(model: &HostModel) -> Pressure {
        let memory = &model.host.memory;
        Pressure {
            room: model.visible * (1.0 - WATERMARK) - memory.base,
            cache: memory.file_cache,
            cache_floor: memory.file_cache_floor,
            swap: Swap {
                disk: memory.swap,
                compressed: memory.compressed_swap,
                ratio: memory.compressed_swap_ratio,
            },
            swap_speed: None,
            swapped: 0.0,
            stalled: false,
        }
    }

    /// Share of visible memory in use when it is full.
    pub(super) fn full(&self) -> f64 {
        1.0 - WATERMARK
    }

    /// Memory that swapping frees now `[B]`.
    pub(super) fn relief(&self) -> f64 {
        self.swap.relief(self.swapped)
    }

    /// Bytes to swap out for a relief, the compressed part first.
    fn out_for(&self, relief: f64) -> f64 {
        let Swap {
            compressed, ratio, ..
        } = self.swap;
        let gain = compressed_gain(compressed, ratio);
        if relief <= 0.0 {
            0.0
        } else if relief < gain {
            relief / (1.0 - 1.0 / ratio)
        } else {
            compressed + (relief - gain)
        }
    }

    /// Most that can be swapped out `[B]`.
    fn most(&self, swappable: f64) -> f64 {
        (self.swap.disk + self.swap.compressed).min(swappable.max(0.0))
    }

    /// Bytes missing with a demand of the guests.
    fn missing(&self, demand: f64) -> f64 {
        demand - self.relief() - (self.room - self.cache)
    }

    /// The cache lets go, for `dt`.
    fn shrink_cache(&mut self, demand: f64, dt: f64) {
        let over = self.missing(demand);
        if over > 0.0 {
            self.cache -= over
                .min(CACHE_LETS_GO * dt)
                .min((self.cache - self.cache_floor).max(0.0));
        }
    }

    /// Swap fills or drains, for `dt`.
    fn swap(&mut self, demand: f64, swappable: f64, dt: f64) {
        self.swapped = self.swapped.min(self.most(swappable));
        let moved = self.swap_speed.unwrap_or(SWAP_SPEED) * dt;
        let over = self.missing(demand);
        if over > 0.0 {
            let wanted = self.out_for(self.relief() + over).min(self.most(swappable));
            // The compressed part moves at the speed of memory.
            self.swapped = wanted.min(self.swapped.max(self.swap.compressed.min(wanted)) + moved);
        } else if self.swapped > 0.0 {
            let least = self.out_for(self.relief() + over);
            let back = (self.swapped * dt / SWAP_RETURN).min(moved);
            self.swapped = (self.swapped - back).max(least).min(self.swapped);
        }
    }
}

impl HostState<'_> {
    /// Brings memory into balance after `dt`; returns the guests killed for it.
    ///
    /// The kernel kills only when swap is full: before that the guests that ask for memory wait.
    pub(super) fn balance(&mut self, dt: f64) -> Vec<Victim> {
        self.pressure.swap_speed = self.pools.first().and_then(|pool| pool.write_speed());
        let mut victims = Vec::new();
        let mut time = dt;
        loop {
            let load = self.load();
            self.pressure.shrink_cache(load.demand, time);
            self.pressure.swap(load.demand, load.swappable, time);
            // Relative slack: memory that is exactly full is not short.
            let short = self.pressure.missing(load.demand) > 1e-9 * self.model.visible;
            let full = self.pressure.swapped >= self.pressure.most(load.swappable) * (1.0 - 1e-9);
            self.pressure.stalled = short && !full;
            if !short || !full {
                return victims;
            }
            let Some(victim) = self.kill_largest() else {
                return victims;
            };
            // Swap holds the victim's pages in the same proportion as the others'.
            let share = victim.returned / load.swappable.max(victim.returned).max(1.0);
            self.pressure.swapped *= 1.0 - share;
            victims.push(victim);
            time = 0.0;
        }
    }
}
