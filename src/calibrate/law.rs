//! What a reading says, as a linear equation in the four numbers that are sought.

use crate::lab::{Guest, Kind, Lab, Mode};
use crate::model::footprint::{BOOKKEEPING, TABLES_MACHINE};
use crate::sizing::host::HostModel;

/// Whether the guests that were read had been busy.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lived {
    /// They had: each keeps a part of what it touched then.
    Yes,
    /// Never since they started.
    No,
}

/// The numbers that are sought, in this order wherever there is a list of them. `[B]`
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sought {
    /// B, the host's own memory.
    Base,
    /// U, what one more settled guest takes: unique, overhead, page tables and bookkeeping.
    Slope,
    /// M, c + s: what a guest shares with others or with itself.
    Shared,
    /// T, what one fresh guest takes right after it started, before its pages are tracked.
    Step,
}

/// `constant + base·B + slope·U + shared·M + step·T`
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Linear {
    /// The part that does not depend on what is sought `[B]`.
    pub constant: f64,
    /// Factors of B, U, M, T.
    pub factors: [f64; 4],
}

impl Linear {
    /// A constant.
    #[must_use]
    pub fn constant(constant: f64) -> Linear {
        Linear {
            constant,
            factors: [0.0; 4],
        }
    }

    /// One of the numbers sought.
    #[must_use]
    pub fn of(sought: Sought) -> Linear {
        let mut linear = Linear::constant(0.0);
        linear.factors[sought as usize] = 1.0;
        linear
    }

    /// This plus `factor` times another.
    #[must_use]
    pub fn plus(mut self, factor: f64, other: Linear) -> Linear {
        self.constant += factor * other.constant;
        for (own, theirs) in self.factors.iter_mut().zip(other.factors) {
            *own += factor * theirs;
        }
        self
    }

    /// Its value at B, U, M, T.
    #[must_use]
    pub fn at(&self, sought: &[f64; 4]) -> f64 {
        self.constant
            + self
                .factors
                .iter()
                .zip(sought)
                .map(|(factor, value)| factor * value)
                .sum::<f64>()
    }
}

/// What the lab fixes about the guest and the host that were read. Sizes `[B]`.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// m, configured.
    pub memory: f64,
    /// o.
    pub overhead: f64,
    /// k; 0 for guests never busy.
    pub keeps: f64,
    /// t0 in the lab.
    pub touched: f64,
    /// t1 in the lab.
    pub touched_busy: f64,
    /// Common part of what a lived-in guest keeps.
    pub common_busy: f64,
    /// M in the lab.
    pub shared: f64,
    /// Share of M that is common to all guests of the image; the rest repeats inside one.
    pub common_share: f64,
    /// B in the lab.
    pub base: f64,
    /// File-system cache that does not shrink.
    pub file_cache: f64,
    /// Memory that the kernel sees.
    pub visible: f64,
    /// L.
    pub users: f64,
    /// Zero-filled part of what repeats, where it needs no copy.
    pub zero: f64,
    /// Scanner mode as far as this guest goes.
    pub mode: Mode,
    /// Memory above which an adaptive scanner works.
    pub ceiling: f64,
    /// Bookkeeping per tracked byte.
    pub books: f64,
}

impl Frame {
    /// The frame of one guest on a host.
    #[must_use]
    pub fn new(model: &HostModel, guest: &Guest, lived: Lived) -> Frame {
        let host = model.host;
        let keeps = if lived == Lived::No || guest.busy == 0.0 {
            0.0
        } else {
            guest.keeps
        };
        let shared = guest.common + guest.repeats;
        let merging = &host.merging;
        Frame {
            memory: guest.memory,
            overhead: guest.overhead,
            keeps,
            touched: guest.touched,
            touched_busy: guest.touched_busy,
            common_busy: guest
                .common_busy
                .min(keeps * (guest.touched_busy - guest.touched)),
            shared,
            // Where the lab has nothing to share, what is found counts as common.
            common_share: if shared > 0.0 {
                guest.common / shared
            } else {
                1.0
            },
            base: host.memory.base,
            file_cache: host.memory.file_cache,
            visible: model.visible,
            users: merging.users_per_copy,
            zero: if merging.use_zero_pages {
                merging.zero_share
            } else {
                0.0
            },
            mode: if guest.merge { merging.mode } else { Mode::Off },
            ceiling: (1.0 - merging.threshold) * model.visible,
            books: if guest.merge && merging.mode != Mode::Off {
                BOOKKEEPING
            } else {
                0.0
            },
        }
    }

    /// Page tables and bookkeeping of a settled guest, per byte.
    fn meta(&self) -> f64 {
        TABLES_MACHINE + self.books
    }

    /// ti, what an idle guest holds: `(U − o + M + cb)/(1 + meta)`.
    #[must_use]
    pub fn idle(&self) -> Linear {
        Linear::of(Sought::Slope)
            .plus(1.0, Linear::of(Sought::Shared))
            .plus(1.0, Linear::constant(self.common_busy - self.overhead))
            .scaled(1.0 / (1.0 + self.meta()))
    }

    /// t0, what a fresh guest touches: `(T − o)/(1 + page tables)`.
    #[must_use]
    pub fn fresh(&self) -> Linear {
        Linear::of(Sought::Step)
            .plus(1.0, Linear::constant(-self.overhead))
            .scaled(1.0 / (1.0 + TABLES_MACHINE))
    }

    /// ti from what a fresh guest touches: `(1 − k)·t0 + k·t1`.
    fn idle_from_step(&self) -> Linear {
        self.fresh()
            .scaled(1.0 - self.keeps)
            .plus(self.keeps, Linear::constant(self.touched_busy))
    }

    /// M from step and slope: `o + ti·(1 + meta) − cb − U`, which is step − slope + k·(t1 − t0)·(1 + meta) and the
    /// bookkeeping that a step read before its pages were tracked lacks.
    #[must_use]
    pub fn shared_from_step(&self) -> Linear {
        self.idle_from_step()
            .scaled(1.0 + self.meta())
            .plus(1.0, Linear::constant(self.overhead - self.common_busy))
            .plus(-1.0, Linear::of(Sought::Slope))
    }

    /// U from a step and M: `o + ti·(1 + meta) − M − cb`.
    #[must_use]
    pub fn slope_from_step(&self) -> Linear {
        self.idle_from_step()
            .scaled(1.0 + self.meta())
            .plus(1.0, Linear::constant(self.overhead - self.common_busy))
            .plus(-1.0, Linear::of(Sought::Shared))
    }

    /// What the copies of `n` merged guests take: `(φM + cb)·⌈n/L⌉ + n·(1 − φ)·M·(1 − zero)/L`.
    fn copies(&self, n: f64) -> Linear {
        let kept = (n / self.users).ceil();
        let repeats = (1.0 - self.common_share) * n * (1.0 - self.zero) / self.users;
        Linear::constant(self.common_busy * kept).plus(
            self.common_share * kept + repeats,
            Linear::of(Sought::Shared),
        )
    }

    /// All that `n` guests share, unmerged: `n·(M + cb)`.
    fn loose(&self, n: f64) -> Linear {
        Linear::constant(n * self.common_busy).plus(n, Linear::of(Sought::Shared))
    }

    /// Memory in use with `n` guests of which the share `kappa` of what can merge is merged.
    ///
    /// `B + cache + n·U + κ·copies(n) + (1 − κ)·n·(M + cb)`
    #[must_use]
    pub fn merged(&self, n: f64, kappa: f64) -> Linear {
        Linear::constant(self.file_cache)
            .plus(1.0, Linear::of(Sought::Base))
            .plus(n, Linear::of(Sought::Slope))
            .plus(kappa, self.copies(n))
            .plus(1.0 - kappa, self.loose(n))
    }

    /// Memory in use with `n` guests, none merged and none tracked: `B + cache + n·(o + ti·(1 + page tables))`.
    #[must_use]
    pub fn unmerged(&self, n: f64) -> Linear {
        Linear::constant(self.file_cache + n * self.overhead)
            .plus(1.0, Linear::of(Sought::Base))
            .plus(n * (1.0 + TABLES_MACHINE), self.idle())
    }

    /// What the merge counters show as saved with `n` guests: `κ·(n·(M + cb) − copies(n))`.
    #[must_use]
    pub fn saved(&self, n: f64, kappa: f64) -> Linear {
        self.loose(n).plus(-1.0, self.copies(n)).scaled(kappa)
    }
}

impl Linear {
    /// This times a factor.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Linear {
        Linear::constant(0.0).plus(factor, self)
    }
}

/// Whether readings of the host's memory can tell anything of a guest.
#[must_use]
pub fn can_be_calibrated(guest: &Guest) -> bool {
    guest.kind == Kind::Machine && !guest.huge_pages && !guest.pinned
}

/// Counts of all profiles when `n` guests of one run and nothing else.
#[must_use]
pub fn counts(lab: &Lab, profile: usize, n: u64) -> Vec<u64> {
    let mut counts = vec![0; lab.guests.len()];
    counts[profile] = n;
    counts
}
