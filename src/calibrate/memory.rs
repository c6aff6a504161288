//! Memory of a number of equal guests, as a linear equation in the four unknowns.

use super::question::Question;
use crate::lab::{Guest, Mode};
use crate::model::footprint::{Footprint, Tracking};
use crate::model::held::{Copying, Group, Held, held};
use crate::model::number::Number;
use crate::sizing::host::HostModel;

/// `constant + base·B + slope·U + shared·M + step·T` `[B]`
pub type Affine = crate::model::affine::Affine<4>;

/// The numbers that readings may determine, in this order wherever there is a list of them. `[B]`
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unknown {
    /// B, the host's own memory.
    Base,
    /// U, what one more settled guest takes: unique, overhead, page tables and bookkeeping.
    Slope,
    /// M, c + s: what a guest shares with others or with itself.
    Shared,
    /// T, what one fresh guest takes right after it started, before its pages are tracked.
    Step,
}

impl Unknown {
    /// All of them.
    pub const ALL: [Unknown; 4] = [
        Unknown::Base,
        Unknown::Slope,
        Unknown::Shared,
        Unknown::Step,
    ];

    /// The unknown itself.
    pub fn affine(self) -> Affine {
        Affine::unknown(self as usize)
    }
}

/// What the lab fixes about the guest and the host that were read. Sizes `[B]`.
#[derive(Debug, Clone, PartialEq)]
pub struct MemoryModel {
    /// The guest by the lab.
    pub guest: Footprint,
    /// The same as constants of the equations.
    constants: Footprint<Affine>,
    /// M in the lab.
    pub shared: f64,
    /// Share of M that is common to all guests of the image; the rest repeats inside one.
    pub common_share: f64,
    /// cb, common part of what a lived-in guest keeps.
    common_busy: f64,
    /// How merged pages are kept.
    copying: Copying,
    /// B in the lab.
    pub base: f64,
    /// File-system cache that does not shrink.
    file_cache: f64,
    /// Memory that the kernel sees.
    pub visible: f64,
    /// Scanner mode as far as this guest goes.
    pub mode: Mode,
    /// Memory above which an adaptive scanner works.
    pub ceiling: f64,
}

/// Share of what a guest shares that is common; where it shares nothing, what is found counts as common.
pub fn common_share(guest: &Guest) -> f64 {
    let shared = guest.common + guest.repeats;
    if shared > 0.0 {
        guest.common / shared
    } else {
        1.0
    }
}

impl MemoryModel {
    /// The model of the guest and the host that were read.
    pub fn new(question: &Question) -> MemoryModel {
        let (host, guest) = (question.host(), question.guest());
        let model = HostModel::new(question.lab, host);
        let footprint = Footprint::of(guest, question.age);
        MemoryModel {
            guest: footprint,
            constants: Footprint::read(guest, question.age, |_, value, _| Affine::of(value)),
            shared: guest.common + guest.repeats,
            common_share: common_share(guest),
            common_busy: footprint.common - guest.common,
            copying: model.copying(),
            base: host.memory.base,
            file_cache: host.memory.file_cache,
            visible: model.visible,
            mode: if footprint.scanned() {
                host.merging.mode
            } else {
                Mode::Off
            },
            ceiling: (1.0 - host.merging.threshold) * model.visible,
        }
    }

    /// Whether settled guests are tracked by the scanner.
    pub fn tracking(&self) -> Tracking {
        if self.mode == Mode::Off {
            Tracking::Off
        } else {
            Tracking::On
        }
    }

    /// 1 and page tables and bookkeeping of a byte that a guest holds.
    fn cost_per_byte(&self, tracking: Tracking) -> Affine {
        Affine::of(1.0 + self.guest.meta_rate(tracking))
    }

    /// What a guest takes beside what it holds and shares: o − cb.
    fn fixed(&self) -> Affine {
        Affine::of(self.guest.overhead - self.common_busy)
    }

    /// ti, what an idle guest holds: `(U − o + M + cb)/(1 + meta)`.
    pub fn idle(&self) -> Affine {
        let settled = Unknown::Slope.affine() + Unknown::Shared.affine();
        (settled - self.fixed()) / self.cost_per_byte(self.tracking())
    }

    /// u, what an idle guest keeps for itself: `ti − M − cb`.
    pub fn unique(&self) -> Affine {
        self.idle() - Unknown::Shared.affine() - Affine::of(self.common_busy)
    }

    /// t0, what a fresh guest touches: `(T − o)/(1 + page tables)`.
    pub fn fresh(&self) -> Affine {
        let touched = Unknown::Step.affine() - Affine::of(self.guest.overhead);
        touched / self.cost_per_byte(Tracking::Off)
    }

    /// T in the lab: `o + t0·(1 + page tables)`.
    pub fn step(&self) -> Affine {
        let touched = Affine::of(self.guest.touched);
        Affine::of(self.guest.overhead) + touched * self.cost_per_byte(Tracking::Off)
    }

    /// U + M from a step: `o + ti·(1 + meta) − cb` with `ti = (1 − k)·t0 + k·t1`.
    ///
    /// That is T + k·(t1 − t0)·(1 + meta) and the bookkeeping that a step read before its pages were tracked lacks.
    pub fn settled_from_step(&self) -> Affine {
        let kept = Affine::of(self.guest.keeps * self.guest.touched_busy);
        let idle = self.fresh().scaled(1.0 - self.guest.keeps) + kept;
        self.fixed() + idle * self.cost_per_byte(self.tracking())
    }

    /// What `n` guests hold of which the share `merged` of what can merge is merged.
    fn held(&self, n: f64, merged: f64, tracking: Tracking) -> Held<Affine> {
        let common = Unknown::Shared.affine().scaled(self.common_share);
        let common = common + Affine::of(self.common_busy);
        let repeats = Unknown::Shared.affine().scaled(1.0 - self.common_share);
        let guest = Footprint {
            idle: self.idle(),
            common,
            repeats,
            unique: self.unique(),
            ..self.constants
        };
        let group = Group {
            count: Affine::of(n),
            guest: &guest,
            merged_share: Affine::of(merged),
        };
        let copying = Copying {
            users: Affine::of(self.copying.users),
            zero_share: Affine::of(self.copying.zero_share),
        };
        held(&[group], &[vec![0]], copying, tracking)
    }

    /// Memory in use with `n` guests: B, the cache and what the guests hold.
    fn used(&self, held: &Held<Affine>) -> Affine {
        Unknown::Base.affine() + Affine::of(self.file_cache) + held.always()
    }

    /// Memory in use with `n` settled guests of which the share `merged` of what can merge is merged.
    pub fn merged(&self, n: f64, merged: f64) -> Affine {
        self.used(&self.held(n, merged, self.tracking()))
    }

    /// Memory in use with `n` guests, none merged and none tracked.
    pub fn unmerged(&self, n: f64) -> Affine {
        self.used(&self.held(n, 0.0, Tracking::Off))
    }

    /// What the merge counters show as saved with `n` guests: what is shared less what is kept of it.
    pub fn saved(&self, n: f64, merged: f64) -> Affine {
        let [without, with] = [0.0, merged].map(|share| self.held(n, share, self.tracking()));
        without.unmerged - (with.merged + with.unmerged)
    }
}
