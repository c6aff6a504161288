//! What one guest of a profile does in time: constants of a run.

use crate::lab::{CloneKind, Guest, Mode};
use crate::model::PAGE;
use crate::model::footprint::{Age, BOOKKEEPING, Footprint, Tracking};
use crate::sizing::host::HostModel;

/// One guest of a profile. Sizes `[B]`, times `[s]`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Profile {
    /// o, there from the start.
    pub overhead: f64,
    /// t0, touched while booting.
    pub touched: f64,
    /// Part of t0 that the scanner can merge.
    pub mergeable: f64,
    /// Part of `mergeable` that is equal in every guest of the image.
    pub common: f64,
    /// Part of `mergeable` that is equal inside the guest.
    pub repeats: f64,
    /// Part of `repeats` that needs no copy at all: zero pages.
    pub zero: f64,
    /// Part of t0 shared at once through the host's page cache.
    pub files: f64,
    /// t1 − t0.
    pub grown: f64,
    /// Part of `grown` that is equal in all lived-in guests of the image.
    pub grown_common: f64,
    /// k, share of `grown` kept after a spell.
    pub keeps: f64,
    /// β, share of merged pages that a busy guest rewrites.
    pub breaks: f64,
    /// Rewrites of a merged page `[1/s]`.
    pub rewrites: f64,
    /// Page tables per byte touched.
    pub tables: f64,
    /// Bookkeeping per byte tracked, 0 where nothing is scanned.
    pub tracked: f64,
    /// Whether the scanner visits it.
    pub scanned: bool,
    /// Whether it can be swapped out.
    pub swappable: bool,
    /// Whether it holds all of t0 from the start: pinned, or from reserved huge pages.
    pub whole: bool,
    /// `boot_time`.
    pub boot_time: f64,
    /// Processor time per second of a boot `[cores]`; the whole at once where `boot_time` is 0.
    pub boot_cores: f64,
    /// `[cores]` when idle.
    pub idle_cores: f64,
    /// `[cores]` when busy.
    pub busy_cores: f64,
    /// Where its disk lies; none where the host has no pool.
    pub pool: Option<usize>,
    /// Written through the pool before it starts.
    pub cloned: f64,
    /// Disk operations `[1/s]`.
    pub reads: Operations,
    /// Disk operations `[1/s]`.
    pub writes: Operations,
    /// a, share of time busy.
    pub busy: f64,
}

/// Disk operations of one guest `[1/s]`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Operations {
    pub boot: f64,
    pub idle: f64,
    pub busy: f64,
}

impl Profile {
    /// The profiles of a host, in the order of the lab.
    pub(super) fn all(model: &HostModel) -> Vec<Profile> {
        let footprints = model.footprints(Age::Fresh);
        model
            .lab
            .guests
            .iter()
            .zip(footprints)
            .map(|(guest, footprint)| of(model, guest, footprint))
            .collect()
    }

    /// Part of t0 that nothing shares.
    pub(super) fn unique(&self) -> f64 {
        self.touched - self.mergeable - self.files
    }

    /// What a guest that is up, fresh and not merged holds `[B]`.
    pub(super) fn unmerged(&self) -> f64 {
        self.overhead
            + self.touched * (1.0 + self.tables)
            + (self.touched - self.files) * self.tracked
    }

    /// The same beside another guest of its profile, whose files it shares `[B]`.
    pub(super) fn beside_others(&self) -> f64 {
        self.unmerged() - self.files
    }

    /// Pages that a pass of the steady state visits: what merges, and the rest by the share that smart scan leaves.
    pub(super) fn pages(&self, rest: f64) -> f64 {
        if self.scanned {
            (self.mergeable + self.unique() * rest) / PAGE
        } else {
            0.0
        }
    }
}

fn of(model: &HostModel, guest: &Guest, footprint: &Footprint) -> Profile {
    let merging = &model.host.merging;
    let scanned = footprint.scanned() && merging.mode != Mode::Off;
    let files = if footprint.shares_files() {
        footprint.common
    } else {
        0.0
    };
    let mergeable = if scanned { footprint.mergeable() } else { 0.0 };
    let common = if scanned && footprint.merges_common() {
        footprint.common
    } else {
        0.0
    };
    let zero_share = if merging.use_zero_pages {
        merging.zero_share
    } else {
        0.0
    };
    let grown = (footprint.touched_busy - footprint.touched).max(0.0);
    // A lived-in guest's footprint forgets what a guest that is never busy at the busy hour would keep, but a spell can
    // be asked for.
    let keeps = if grown > 0.0 { guest.keeps } else { 0.0 };
    let vcpus = guest.vcpus as f64;
    let boot = guest.boot_time.max(1.0);
    let rate = |idle, busy, booting: f64| Operations {
        boot: booting / boot,
        idle,
        busy,
    };
    Profile {
        overhead: footprint.overhead,
        touched: footprint.touched,
        mergeable,
        common,
        repeats: mergeable - common,
        zero: (mergeable - common) * zero_share,
        files,
        grown,
        grown_common: if common > 0.0 {
            guest.common_busy.min(keeps * grown)
        } else {
            0.0
        },
        keeps,
        breaks: footprint.breaks,
        rewrites: 1.0 / guest.rewrite_interval,
        tables: footprint.meta_rate(Tracking::Off),
        tracked: if scanned { BOOKKEEPING } else { 0.0 },
        scanned,
        swappable: footprint.swappable(),
        whole: !footprint.swappable(),
        boot_time: guest.boot_time,
        boot_cores: guest.boot_cpu / boot,
        idle_cores: vcpus * guest.idle_load,
        busy_cores: vcpus * guest.busy_load,
        pool: pool_of(model, guest),
        cloned: cloned(model, guest),
        reads: rate(guest.reads_idle, guest.reads_busy, guest.boot_reads),
        writes: rate(guest.writes_idle, guest.writes_busy, 0.0),
        busy: guest.busy,
    }
}

fn pool_of(model: &HostModel, guest: &Guest) -> Option<usize> {
    let pools = &model.host.disks;
    let named = guest
        .disk
        .as_ref()
        .and_then(|name| pools.iter().position(|pool| pool.name == *name));
    named.or(if pools.is_empty() { None } else { Some(0) })
}

/// Bytes written through the pool before a new guest can start.
///
/// A copy: the image and what the guest itself uses. An overlay holds nothing yet; its first boot writes `boot_writes`.
fn cloned(model: &HostModel, guest: &Guest) -> f64 {
    match guest.clone {
        CloneKind::Copy => {
            guest
                .image
                .map_or(0.0, |image| model.lab.images[image].size)
                + guest.disk_used
        }
        CloneKind::Overlay => guest.boot_writes,
    }
}
