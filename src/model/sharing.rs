//! Page sharing (same-page merging): what part is found merged, how many copies stay, what it saves and costs.

use super::PAGE;
use super::number::{Measure, Number};
use crate::lab::{Guest, Kind};

/// Bookkeeping of the scanner per tracked page `[B]`. Source: compiled from Linux mm/ksm.c (`struct ksm_rmap_item`).
pub const TRACKED_PAGE: f64 = 64.0;
/// Passes of which smart scan visits one when a page never merges. Source: Linux mm/ksm.c since 6.7.
pub const SMART_SCAN_PASSES: f64 = 9.0;

/// Share of the mergeable pages that is found merged in the steady state.
///
/// `κ = 1 / (1 + T·(visits − ½)/rewrite_interval)`
///
/// - `pass` T, one pass of the scanner `[s]`, ≥ 0
/// - `visits` until an unchanged page merges `[1]`, 1 or 2 (2; kernels before about 6.11: 1 once a merged copy exists)
/// - `rewrite_interval` mean time between rewrites of a page `[s]`, > 0
///
/// Returns a share, above 0 and at most 1.
///
/// # Valid for
/// The steady state, with rewrites at random times. Optimistic for pages that are rewritten often and aged by smart scan.
///
/// # Source
/// Renewal argument of this project: a rewritten page waits half a pass on average and then `visits − 1` passes.
/// Visits measured for this project on kernel 6.18; Linux mm/ksm.c.
///
/// # Example
/// ```
/// use berthage::model::sharing::merged_share;
/// // A pass of 4 h against a rewrite every 6 h, two visits: half is merged; with one visit three quarters.
/// assert_eq!(merged_share(4.0 * 3600.0, 2.0, 6.0 * 3600.0), 0.5);
/// assert_eq!(merged_share(4.0 * 3600.0, 1.0, 6.0 * 3600.0), 0.75);
/// ```
pub fn merged_share<N: Number>(pass: N, visits: N, rewrite_interval: N) -> N {
    let found = N::of(1.0) + pass * (visits - N::of(0.5)) / rewrite_interval;
    (N::of(1.0) / found).named(Measure::Share)
}

/// Groups profiles into families that share their common pages: those of one image and kind.
///
/// A profile without an image is a family of its own. Returns the places of the profiles in `guests`.
pub fn families(guests: &[Guest]) -> Vec<Vec<usize>> {
    type Family = (Option<(usize, Kind)>, Vec<usize>);
    let mut families: Vec<Family> = Vec::new();
    for (profile, guest) in guests.iter().enumerate() {
        let key = guest.image.map(|image| (image, guest.kind));
        match families
            .iter_mut()
            .find(|(family, _)| key.is_some() && *family == key)
        {
            Some((_, members)) => members.push(profile),
            None => families.push((key, vec![profile])),
        }
    }
    families.into_iter().map(|(_, members)| members).collect()
}

/// Bytes that stay when guests of one image share their common pages, at most `users` to a copy.
///
/// `Σ_j (c_j − c_{j−1})·⌈#{guests with c ≥ c_j}/L⌉`: common sets are nested, the smaller within the larger.
///
/// - `nested` (c `[B]`, number `[1]`) of each profile of the image, the largest c first
/// - `users` L, most users of a copy `[1]`, ≥ 1
///
/// Returns `[B]`.
///
/// # Source
/// Linux mm/ksm.c and kernel admin guide, mm/ksm: `max_page_sharing` 256, then another copy is kept.
///
/// # Example
/// ```
/// use berthage::model::sharing::copies;
/// // 257 clones at 256 users per copy keep 2 copies of each common page.
/// assert_eq!(copies(&[(100.0, 257.0)], 256.0), 200.0);
/// // 3 guests hold 50, and 2 of them hold 30 more.
/// assert_eq!(copies(&[(80.0, 2.0), (50.0, 1.0)], 2.0), 30.0 + 2.0 * 50.0);
/// ```
pub fn copies<N: Number>(nested: &[(N, N)], users: N) -> N {
    let levels = nested.iter().enumerate().map(|(index, (common, _))| {
        let holders = N::sum(nested[..=index].iter().map(|(_, number)| *number));
        let width = match nested.get(index + 1) {
            Some((smaller, _)) => *common - *smaller,
            None => *common,
        };
        width * (holders / users).ceil()
    });
    N::sum(levels)
}

/// Pages visited per pass for a guest, in bytes.
///
/// `v = c + s + u/9` with smart scan (a page that never merges is skipped 8 passes of 9), else everything resident.
///
/// - `mergeable` c + s, as far as the scanner may merge it `[B]`, ≥ 0
/// - `unique` u, what never merges `[B]`, ≥ 0
/// - `smart_scan` whether old pages that never merged are skipped
///
/// Returns v `[B]`.
///
/// # Valid for
/// The steady state: a page that never merges is visited on passes 1, 2, 3, 4, 6, 9, 14, 23, 32 and every 9th after.
///
/// # Source
/// Linux mm/ksm.c, smart scan, since 6.7.
///
/// # Example
/// ```
/// use berthage::model::sharing::{SmartScan, visited};
/// assert_eq!(visited(250.0, 450.0, SmartScan::On), 300.0);
/// assert_eq!(visited(250.0, 450.0, SmartScan::Off), 700.0);
/// ```
pub fn visited<N: Number>(mergeable: N, unique: N, smart_scan: SmartScan) -> N {
    match smart_scan {
        SmartScan::On => mergeable + unique / N::of(SMART_SCAN_PASSES),
        SmartScan::Off => mergeable + unique,
    }
}

/// Whether old pages that never merged are skipped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SmartScan {
    /// Skipped 8 passes of 9.
    On,
    /// Visited in every pass.
    Off,
}

impl SmartScan {
    /// From the kernel's switch.
    pub fn from_switch(on: bool) -> SmartScan {
        if on { SmartScan::On } else { SmartScan::Off }
    }
}

/// What page sharing gains on a host, from the kernel's own counters; negative where it costs memory.
///
/// `profit = sharing·4096 − tracked·64`
///
/// - `sharing` `pages_sharing`, pages saved `[pages]`
/// - `tracked` pages with bookkeeping: shared + sharing + unshared + volatile `[pages]`
///
/// Returns `[B]`.
///
/// # Source
/// Kernel admin guide, mm/ksm, `general_profit`.
///
/// # Example
/// ```
/// use berthage::model::sharing::profit;
/// assert_eq!(profit(52.0, 3_149_958.0), -201_384_320.0);
/// ```
pub fn profit(sharing: f64, tracked: f64) -> f64 {
    sharing * PAGE - tracked * TRACKED_PAGE
}
