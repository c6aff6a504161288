//! Copies that stay of pages equal in many guests, while guests come and go.

use super::cohort::Pages;
use super::guests::Guests;
use super::profile::Profile;

/// A stretch of an image's nested common pages that the same profiles hold.
#[derive(Debug, Clone)]
struct Level {
    /// `[B]`
    width: f64,
    holders: Vec<(usize, Pages)>,
}

/// The common pages of one image.
#[derive(Debug, Clone)]
struct Family {
    levels: Vec<Level>,
}

/// The common pages of each image that the scanner merges, and of each that the page cache shares.
#[derive(Debug, Clone)]
pub(super) struct Families {
    scanned: Vec<Family>,
    files: Vec<Family>,
    /// Family of each profile that the scanner merges.
    of_profile: Vec<Option<usize>>,
}

impl Families {
    /// Families of `profiles`, given which profiles share their common pages.
    pub(super) fn new(families: &[Vec<usize>], profiles: &[Profile]) -> Families {
        let mut of_profile = vec![None; profiles.len()];
        for (family, members) in families.iter().enumerate() {
            for profile in members.iter().filter(|profile| profiles[**profile].scanned) {
                of_profile[*profile] = Some(family);
            }
        }
        let scanned = families.iter().map(|members| {
            Family::new(members.iter().flat_map(|profile| {
                let common = profiles[*profile].common;
                let all = common + profiles[*profile].grown_common;
                [
                    (0.0, common, *profile, Pages::Base),
                    (common, all, *profile, Pages::Grown),
                ]
            }))
        });
        let files = families.iter().map(|members| {
            let files = |profile: &usize| (0.0, profiles[*profile].files, *profile, Pages::Base);
            Family::new(members.iter().map(files))
        });
        Families {
            scanned: scanned.collect(),
            files: files.collect(),
            of_profile,
        }
    }

    /// Copies that stay of what the scanner merged, at most `users` to a copy `[B]`.
    pub(super) fn merged_copies(&self, guests: &Guests, users: f64) -> f64 {
        let part = |profile: usize, pages| guests.sums(profile).part(pages);
        let copies = self.scanned.iter().map(|family| {
            family.copies(
                users,
                |profile, pages| part(profile, pages).found,
                |profile, pages| part(profile, pages).merged,
            )
        });
        copies.sum()
    }

    /// Files that the page cache keeps, one copy an image `[B]`.
    pub(super) fn file_copies(&self, guests: &Guests) -> f64 {
        let touched = |profile: usize, _| guests.sums(profile).touched(guests.profile(profile));
        let files = self.files.iter();
        files
            .map(|family| family.copies(f64::INFINITY, touched, touched))
            .sum()
    }

    /// Whether a merged copy of a page exists that a guest of a profile can share.
    pub(super) fn offer_copies(&self, profile: usize, guests: &Guests) -> bool {
        self.of_profile[profile].is_some_and(|family| {
            let levels = &self.scanned[family].levels;
            let mut holders = levels.iter().flat_map(|level| &level.holders);
            holders.any(|(profile, _)| guests.sums(*profile).base.found > 0.0)
        })
    }
}

impl Family {
    /// From stretches (from, to, profile, which pages) of the nested common pages.
    fn new(stretches: impl Iterator<Item = (f64, f64, usize, Pages)>) -> Family {
        let stretches: Vec<_> = stretches.filter(|(from, to, ..)| to > from).collect();
        let mut ends: Vec<f64> = stretches
            .iter()
            .flat_map(|(from, to, ..)| [*from, *to])
            .collect();
        ends.sort_by(f64::total_cmp);
        ends.dedup();
        let levels = ends.windows(2).filter_map(|pair| {
            let &[from, to] = pair else { return None };
            let holders: Vec<_> = stretches
                .iter()
                .filter(|(start, end, ..)| *start <= from && *end >= to)
                .map(|(.., profile, pages)| (*profile, *pages))
                .collect();
            (!holders.is_empty()).then_some(Level {
                width: to - from,
                holders,
            })
        });
        Family {
            levels: levels.collect(),
        }
    }

    /// Bytes that stay of the common pages.
    ///
    /// `Σ_levels width·κ·copies(R)`, `copies(R) = ⌊R/L⌋ + min(1, R − L·⌊R/L⌋)`, `κ = Σ width·M / Σ width·R`
    ///
    /// - `found(profile, pages)` R, guests whose pages have been merged at least once; a part of a guest counts as such
    /// - `merged(profile, pages)` M ≤ R, guests whose pages are merged now
    /// - `users` L, most users of a copy
    ///
    /// With whole guests this is `κ·Σ (c_j − c_{j−1})·⌈n_j/L⌉`, the law of [`crate::model::sharing::copies`], which knows
    /// no parts of guests. In between a new copy appears page by page as the first guest that needs it is visited, so the
    /// first guest to be merged saves nothing; rounding up would keep a whole copy at its first page.
    fn copies(
        &self,
        users: f64,
        found: impl Fn(usize, Pages) -> f64,
        merged: impl Fn(usize, Pages) -> f64,
    ) -> f64 {
        let (mut kept, mut weight_merged, mut weight_found) = (0.0, 0.0, 0.0);
        for level in &self.levels {
            let holders = level.holders.iter();
            let all = holders.map(|(profile, pages)| found(*profile, *pages));
            let all = all.sum::<f64>().max(0.0);
            let holders = level.holders.iter();
            let now = holders.map(|(profile, pages)| merged(*profile, *pages));
            let now = now.sum::<f64>().max(0.0);
            kept += level.width * copies_of(all, users);
            weight_merged += level.width * now;
            weight_found += level.width * all;
        }
        if weight_found > 0.0 {
            kept * (weight_merged / weight_found).min(1.0)
        } else {
            0.0
        }
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
    use super::{Family, Pages, copies_of};

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
        let family = Family::new(
            [
                (0.0, 100.0, 0, Pages::Base),
                (100.0, 150.0, 0, Pages::Grown),
                (0.0, 130.0, 1, Pages::Base),
            ]
            .into_iter(),
        );
        let guests = |profile: usize, pages: Pages| match (profile, pages) {
            (0, Pages::Base) => 3.0,
            (0, Pages::Grown) => 1.0,
            _ => 2.0,
        };
        assert_eq!(
            family.copies(2.0, guests, guests),
            100.0 * 3.0 + 30.0 * 2.0 + 20.0
        );
    }
}
