//! What one guest of a profile does in time: constants of a run.

use super::part::{BASE, GROWN, Part};
use crate::lab::{CloneKind, Guest, Mode};
use crate::model::PAGE;
use crate::model::footprint::{Age, BOOKKEEPING, Footprint, Tracking};
use crate::model::sharing::SmartScan;
use crate::sizing::host::HostModel;

/// One guest of a profile. Sizes `[B]`, times `[s]`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Profile {
    /// What a fresh guest holds.
    pub footprint: Footprint,
    /// What the scanner can merge of each part when all of it is touched.
    pub mergeable: [f64; 2],
    /// What is equal in every guest of the image, of what is touched at boot.
    pub common: f64,
    /// What repeats inside the guest and needs copies: not the zero pages that the kernel has one of.
    pub repeats: f64,
    /// Part of t0 shared at once through the host's page cache.
    pub files: f64,
    /// Part of t0 that nothing shares.
    pub unique: f64,
    /// What a guest that is up, fresh and not merged holds.
    pub unmerged: f64,
    /// Pages that a pass of the steady state visits.
    pub visited: f64,
    /// t1 − t0.
    pub grown: f64,
    /// k, share of `grown` kept after a spell.
    pub keeps: f64,
    /// Rewrites of a merged page `[1/s]`.
    pub rewrites: f64,
    /// Page tables per byte touched.
    pub tables: f64,
    /// Bookkeeping per byte tracked, 0 where nothing is scanned.
    pub bookkeeping: f64,
    /// Whether the scanner visits it.
    pub scanned: bool,
    /// `boot_time`.
    pub boot_time: f64,
    /// Processor time per second `[cores]`; the whole boot at once where `boot_time` is 0.
    pub cores: Rates,
    /// Where its disk lies; none where the host has no pool.
    pub pool: Option<usize>,
    /// Written through the pool before it starts: of a copy the image and what the guest itself uses; an overlay holds
    /// nothing yet, its first boot writes `boot_writes`.
    pub cloned: f64,
    /// Reads of a boot, and its processor time `[s]`.
    pub boot_reads: f64,
    pub boot_cpu: f64,
    /// Disk operations `[1/s]`.
    pub reads: Rates,
    /// Disk operations `[1/s]`.
    pub writes: Rates,
}

/// What one guest demands per second, by what it is doing.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rates {
    pub boot: f64,
    pub idle: f64,
    pub busy: f64,
}

impl Profile {
    /// The profiles of a host, in the order of the lab.
    pub(super) fn all(model: &HostModel) -> Vec<Profile> {
        let guests = model.lab.guests.iter();
        guests
            .zip(model.footprints(Age::Fresh))
            .map(|(guest, footprint)| Profile::new(model, guest, footprint))
            .collect()
    }

    /// What a fresh, unmerged guest holds beside another one of its profile, whose files it shares `[B]`.
    pub(super) fn beside_others(&self) -> f64 {
        self.unmerged - self.files
    }

    /// Whether it holds all of t0 from the start, and cannot be swapped out: pinned, or from reserved huge pages.
    pub(super) fn whole(&self) -> bool {
        !self.footprint.swappable()
    }

    /// Bytes of these parts that are merged.
    pub(super) fn merged(&self, parts: &[Part; 2]) -> f64 {
        parts[BASE].merged * self.mergeable[BASE] + parts[GROWN].merged * self.mergeable[GROWN]
    }

    fn new(model: &HostModel, guest: &Guest, footprint: &Footprint) -> Profile {
        let merging = &model.host.merging;
        let scanned = footprint.scanned() && merging.mode != Mode::Off;
        let given = |given: bool, bytes: f64| if given { bytes } else { 0.0 };
        let common = given(scanned && footprint.merges_common(), footprint.common);
        let repeats = given(scanned, footprint.repeats);
        let files = given(footprint.shares_files(), footprint.common);
        let tracking = if scanned { Tracking::On } else { Tracking::Off };
        let smart_scan = SmartScan::from_switch(merging.smart_scan);
        let grown = (footprint.touched_busy - footprint.touched).max(0.0);
        // A lived-in guest's footprint forgets what a guest that is never busy at the busy hour would keep, but a spell
        // can be asked for.
        let keeps = given(grown > 0.0, guest.keeps);
        let grown_common = given(common > 0.0, guest.common_busy.min(keeps * grown));
        let (vcpus, boot_time) = (guest.vcpus as f64, guest.boot_time.max(1.0));
        let rates = |boot, idle, busy| Rates { boot, idle, busy };
        Profile {
            footprint: *footprint,
            mergeable: [common + repeats, grown_common],
            common,
            repeats: repeats - repeats * given(merging.use_zero_pages, merging.zero_share),
            files,
            unique: footprint.touched - common - repeats - files,
            unmerged: footprint.overhead + footprint.idle + footprint.meta(tracking),
            visited: given(scanned, footprint.visited(smart_scan)) / PAGE,
            grown,
            keeps,
            rewrites: 1.0 / guest.rewrite_interval,
            tables: footprint.meta_rate(Tracking::Off),
            bookkeeping: given(scanned, BOOKKEEPING),
            scanned,
            boot_time: guest.boot_time,
            cores: rates(
                guest.boot_cpu / boot_time,
                vcpus * guest.idle_load,
                vcpus * guest.busy_load,
            ),
            pool: (!model.host.disks.is_empty()).then(|| model.pool_of(guest)),
            cloned: match guest.clone {
                CloneKind::Copy => model.copied_image(guest) + guest.disk_used,
                CloneKind::Overlay => guest.boot_writes,
            },
            boot_reads: guest.boot_reads,
            boot_cpu: guest.boot_cpu,
            reads: rates(
                guest.boot_reads / boot_time,
                guest.reads_idle,
                guest.reads_busy,
            ),
            writes: rates(0.0, guest.writes_idle, guest.writes_busy),
        }
    }
}
