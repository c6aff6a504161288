//! Copies that stay of pages equal in many guests, while guests come and go.

use super::guests::Guests;
use super::part::{BASE, GROWN};
use super::profile::Profile;

/// A stretch of an image's nested common pages: its width `[B]`, and which parts of which profiles lie in it.
type Level = (f64, Vec<(usize, usize)>);

/// Profiles that share their common pages.
#[derive(Debug, Clone)]
struct Family {
    members: Vec<usize>,
    /// What the scanner merges.
    scanned: Vec<Level>,
    /// What the page cache shares.
    files: Vec<Level>,
}

/// The common pages of each image.
#[derive(Debug, Clone)]
pub(super) struct Families(Vec<Family>);

impl Families {
    /// Families of `profiles`, given which profiles share their common pages.
    pub(super) fn new(families: &[Vec<usize>], profiles: &[Profile]) -> Families {
        let family = |members: &Vec<usize>| {
            let scanned = members.iter().flat_map(|profile| {
                let common = profiles[*profile].common;
                let all = common + profiles[*profile].mergeable[GROWN];
                [
                    (0.0, common, *profile, BASE),
                    (common, all, *profile, GROWN),
                ]
            });
            let files = |profile: &usize| (0.0, profiles[*profile].files, *profile, BASE);
            Family {
                scanned: levels(scanned),
                files: levels(members.iter().map(files)),
                members: members.clone(),
            }
        };
        Families(families.iter().map(family).collect())
    }

    /// Copies that stay of what the scanner merged, at most `users` to a copy `[B]`.
    pub(super) fn merged_copies(&self, guests: &Guests, users: f64) -> f64 {
        let holders = |profile: usize, part: usize| {
            let part = &guests.sums[profile].parts[part];
            (part.found, part.merged)
        };
        let families = self.0.iter();
        families
            .map(|family| copies(&family.scanned, users, holders))
            .sum()
    }

    /// Files that the page cache keeps, one copy an image `[B]`.
    pub(super) fn file_copies(&self, guests: &Guests) -> f64 {
        let holders = |profile: usize, _| {
            let touched = guests.sums[profile].touched(&guests.profiles[profile]);
            (touched, touched)
        };
        let families = self.0.iter();
        families
            .map(|family| copies(&family.files, f64::INFINITY, holders))
            .sum()
    }

    /// Whether a merged copy of a page exists that a guest of a profile can share.
    pub(super) fn offer_copies(&self, profile: usize, guests: &Guests) -> bool {
        let mut families = self.0.iter();
        let family = families.find(|family| family.members.contains(&profile));
        let levels = family.into_iter().flat_map(|family| &family.scanned);
        let mut holders = levels.flat_map(|(_, holders)| holders);
        holders.any(|(profile, _)| guests.sums[*profile].parts[BASE].found > 0.0)
    }
}

/// The levels of stretches (from, to, profile, part) of nested common pages.
fn levels(stretches: impl Iterator<Item = (f64, f64, usize, usize)>) -> Vec<Level> {
    let stretches: Vec<_> = stretches.filter(|(from, to, ..)| to > from).collect();
    let ends = stretches.iter().flat_map(|(from, to, ..)| [*from, *to]);
    let mut ends: Vec<f64> = ends.collect();
    ends.sort_by(f64::total_cmp);
    ends.dedup();
    let level = |pair: &[f64]| {
        let (from, to) = (pair[0], pair[1]);
        let holders = stretches
            .iter()
            .filter(|(start, end, ..)| *start <= from && *end >= to);
        let holders = holders.map(|(.., profile, part)| (*profile, *part));
        (to - from, holders.collect())
    };
    ends.windows(2).map(level).collect()
}

/// Bytes that stay of the common pages.
///
/// `Σ_levels width·κ·copies(R)`, `copies(R) = ⌊R/L⌋ + min(1, R − L·⌊R/L⌋)`, `κ = Σ width·M / Σ width·R`
///
/// - `holders(profile, part)` R, guests whose pages have been merged at least once, a part of a guest counting as such,
///   and M ≤ R, guests whose pages are merged now
/// - `users` L, most users of a copy
///
/// With whole guests this is `κ·Σ (c_j − c_{j−1})·⌈n_j/L⌉`, the law of [`crate::model::sharing::copies`], which knows
/// no parts of guests. In between a new copy appears page by page as the first guest that needs it is visited, so the
/// first guest to be merged saves nothing; rounding up would keep a whole copy at its first page.
fn copies(levels: &[Level], users: f64, holders: impl Fn(usize, usize) -> (f64, f64)) -> f64 {
    let (mut kept, mut weight_merged, mut weight_found) = (0.0, 0.0, 0.0);
    for (width, in_level) in levels {
        let each = in_level
            .iter()
            .map(|(profile, part)| holders(*profile, *part));
        let (found, merged) = each.fold((0.0, 0.0), |all, one| (all.0 + one.0, all.1 + one.1));
        let found = f64::max(found, 0.0);
        kept += width * copies_of(found, users);
        weight_merged += width * f64::max(merged, 0.0);
        weight_found += width * found;
    }
    if weight_found > 0.0 {
        kept * (weight_merged / weight_found).min(1.0)
    } else {
        0.0
    }
}

/// Copies of a page that so many guests hold, a part of a guest with it.
fn copies_of(holders: f64, users: f64) -> f64 {
    if !users.is_finite() {
        return holders.min(1.0);
    }
    // Sums of shares miss whole guests by rounding errors.
    let full = ((holders - 1e-6) / users).floor().max(0.0);
    full + (holders - full * users).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::{BASE, GROWN, copies, copies_of, levels};

    #[test]
    fn whole_guests_keep_whole_copies() {
        // Linux mm/ksm.c: 257 users at 256 a copy keep 2 copies.
        for (guests, copies) in [
            (0.0, 0.0),
            (0.25, 0.25),
            (1.0, 1.0),
            (256.0, 1.0),
            (256.5, 1.5),
            (257.0, 2.0),
        ] {
            assert_eq!(copies_of(guests, 256.0), copies, "{guests}");
        }
        assert_eq!(copies_of(257.0, f64::INFINITY), 1.0);
    }

    #[test]
    fn common_pages_of_different_sizes_are_nested() {
        // Profile 0 shares 100 bytes and 50 more when busy, profile 1 shares 130.
        let levels = levels(
            [
                (0.0, 100.0, 0, BASE),
                (100.0, 150.0, 0, GROWN),
                (0.0, 130.0, 1, BASE),
            ]
            .into_iter(),
        );
        let guests = |profile: usize, part: usize| match (profile, part) {
            (0, BASE) => (3.0, 3.0),
            (0, GROWN) => (1.0, 1.0),
            _ => (2.0, 2.0),
        };
        assert_eq!(
            copies(&levels, 2.0, guests),
            100.0 * 3.0 + 30.0 * 2.0 + 20.0
        );
    }
}
