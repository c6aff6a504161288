//! Copies that stay of pages equal in many guests, while guests come and go.

use crate::lab::{Guest, Kind};
use crate::rollout::profile::Profile;

/// Which pages of a profile.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Which {
    /// Touched at boot.
    Base,
    /// Touched when busy.
    Grown,
}

/// A stretch of an image's nested common pages that the same profiles hold.
#[derive(Debug, Clone)]
struct Level {
    /// `[B]`
    width: f64,
    holders: Vec<(usize, Which)>,
}

/// The common pages of one image.
#[derive(Debug, Clone)]
pub(super) struct Family {
    levels: Vec<Level>,
}

/// The common pages of each image that the scanner merges, and of each that the page cache shares.
#[derive(Debug, Clone)]
pub(super) struct Families {
    pub scanned: Vec<Family>,
    pub files: Vec<Family>,
    /// Family of each profile that the scanner merges.
    pub of_profile: Vec<Option<usize>>,
}

/// Profiles of one image and kind; without an image, one profile by itself.
type Group = (Option<(usize, Kind)>, Vec<usize>);

impl Families {
    /// Groups profiles by image and kind; a profile without an image is a family of its own.
    pub(super) fn new(guests: &[Guest], profiles: &[Profile]) -> Families {
        let mut groups: Vec<Group> = Vec::new();
        for (profile, guest) in guests.iter().enumerate() {
            let key = guest.image.map(|image| (image, guest.kind));
            match groups
                .iter_mut()
                .find(|(group, _)| key.is_some() && *group == key)
            {
                Some((_, members)) => members.push(profile),
                None => groups.push((key, vec![profile])),
            }
        }
        let mut families = Families {
            scanned: Vec::new(),
            files: Vec::new(),
            of_profile: vec![None; guests.len()],
        };
        for (_, members) in &groups {
            for profile in members.iter().filter(|profile| profiles[**profile].scanned) {
                families.of_profile[*profile] = Some(families.scanned.len());
            }
            families
                .scanned
                .push(Family::new(members.iter().flat_map(|profile| {
                    let common = profiles[*profile].common;
                    let all = common + profiles[*profile].grown_common;
                    [
                        (0.0, common, *profile, Which::Base),
                        (common, all, *profile, Which::Grown),
                    ]
                })));
            families.files.push(Family::new(
                members
                    .iter()
                    .map(|profile| (0.0, profiles[*profile].files, *profile, Which::Base)),
            ));
        }
        families
    }
}

impl Family {
    /// From stretches (from, to, profile, which pages) of the nested common pages.
    fn new(stretches: impl Iterator<Item = (f64, f64, usize, Which)>) -> Family {
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
                .map(|(.., profile, which)| (*profile, *which))
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
    /// - `reached(profile, which)` R, guests whose pages have been merged at least once; a part of a guest counts as such
    /// - `merged(profile, which)` M ≤ R, guests whose pages are merged now
    /// - `users` L, most users of a copy
    ///
    /// With whole guests this is `κ·Σ (c_j − c_{j−1})·⌈n_j/L⌉`, the steady state; in between a new copy appears page by
    /// page as the first guest that needs it is visited, so the first guest to be merged saves nothing.
    pub(super) fn copies(
        &self,
        users: f64,
        reached: impl Fn(usize, Which) -> f64,
        merged: impl Fn(usize, Which) -> f64,
    ) -> f64 {
        let (mut kept, mut weight_merged, mut weight_reached) = (0.0, 0.0, 0.0);
        for level in &self.levels {
            let sum = |of: &dyn Fn(usize, Which) -> f64| -> f64 {
                level
                    .holders
                    .iter()
                    .map(|(profile, which)| of(*profile, *which))
                    .sum::<f64>()
                    .max(0.0)
            };
            let (all, now) = (sum(&reached), sum(&merged));
            kept += level.width * copies_of(all, users);
            weight_merged += level.width * now;
            weight_reached += level.width * all;
        }
        if weight_reached > 0.0 {
            kept * (weight_merged / weight_reached).min(1.0)
        } else {
            0.0
        }
    }

    /// Whether a merged copy of some page exists.
    pub(super) fn exists(&self, reached: impl Fn(usize, Which) -> f64) -> bool {
        self.levels.iter().any(|level| {
            level
                .holders
                .iter()
                .any(|(profile, which)| reached(*profile, *which) > 0.0)
        })
    }
}

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
    use super::{Family, Which, copies_of};

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
                (0.0, 100.0, 0, Which::Base),
                (100.0, 150.0, 0, Which::Grown),
                (0.0, 130.0, 1, Which::Base),
            ]
            .into_iter(),
        );
        let guests = |profile: usize, which: Which| match (profile, which) {
            (0, Which::Base) => 3.0,
            (0, Which::Grown) => 1.0,
            _ => 2.0,
        };
        assert_eq!(
            family.copies(2.0, guests, guests),
            100.0 * 3.0 + 30.0 * 2.0 + 20.0
        );
    }
}
