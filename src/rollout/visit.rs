//! The visit of one cohort: what the scanner finds there, page by page, and what that changes.

use super::cohort::Cohort;
use super::part::{BASE, GROWN, Part};
use super::profile::Profile;
use crate::model::PAGE;
use crate::model::sharing::SmartScan;

/// One cohort being visited.
#[derive(Debug, Clone, Copy)]
pub(super) struct Visit {
    pub cohort: usize,
    /// Pages left to visit.
    pub left: f64,
    /// What they cost, of one guest.
    pub pages: PageCounts,
    /// What is still to be visited of each part.
    parts: [Remaining; 2],
    /// Share of t0 that was touched when the cursor came by last.
    touched: f64,
    /// Whether unchanged pages merge at their first visit.
    merge_at_once: bool,
    /// Moment up to which rewriting of what is to be visited has been counted `[s]`.
    pub at: f64,
}

/// What the cursor has not come to yet of one part of a cohort, as shares of all of it.
#[derive(Debug, Clone, Copy)]
struct Remaining {
    part: Part,
    /// Touched.
    touched: f64,
}

/// Pages of a visit by what they cost.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct PageCounts {
    /// Visited for the first time: a checksum.
    pub first: f64,
    /// Visited for the second time: looked up and merged or kept for others to be found.
    pub second: f64,
    /// Visited before.
    pub later: f64,
}

impl Visit {
    /// Begins the visit of a cohort; none where not one page is to be visited.
    pub(super) fn new(
        id: usize,
        cohort: &Cohort,
        profile: &Profile,
        clock: f64,
        smart: SmartScan,
        merge_at_once: bool,
    ) -> Option<Visit> {
        let kept = cohort.kept(profile);
        let rest = (cohort.resident * profile.grown - kept * profile.mergeable[GROWN]).max(0.0);
        let rest = [profile.unique, if kept > 0.0 { rest / kept } else { 0.0 }];
        let parts = [cohort.touched(profile, clock), kept];
        let mut pages = PageCounts::default();
        for index in [BASE, GROWN] {
            let part = &cohort.parts[index];
            let due = smart == SmartScan::Off || smart_scan_visits(part.age + 1);
            pages.add(
                part,
                parts[index],
                profile.mergeable[index],
                rest[index],
                due,
            );
        }
        if merge_at_once {
            // The look for an equal page comes at the first visit already.
            pages.second += std::mem::take(&mut pages.first);
        }
        let left = cohort.weight * pages.all();
        (left >= 1.0).then_some(Visit {
            cohort: id,
            left,
            pages,
            touched: parts[BASE],
            parts: [BASE, GROWN].map(|index| Remaining::new(&cohort.parts[index], parts[index])),
            merge_at_once,
            at: cohort.at,
        })
    }

    /// Counts in what a booting cohort has touched since: the cursor comes to it in this pass. Assumption: a boot touches
    /// memory in the order of addresses, ahead of the cursor.
    pub(super) fn touch(&mut self, cohort: &Cohort, profile: &Profile, clock: f64) {
        let touched = cohort.touched(profile, clock);
        let ahead = touched - self.touched;
        if ahead > 0.0 {
            let mut pages = PageCounts::default();
            let [mergeable, rest] = [profile.mergeable[BASE], profile.unique];
            pages.add(&Part::default(), ahead, mergeable, rest, true);
            self.left += cohort.weight * pages.first;
            self.parts[BASE].touched += ahead;
            self.touched = touched;
            if self.merge_at_once {
                self.pages.second += pages.first;
            } else {
                self.pages.first += pages.first;
            }
        }
    }

    /// Visits the next so many pages, each as it is when the cursor comes by; returns what changes in each part.
    pub(super) fn take(&mut self, pages: f64, now: f64, rewrites: f64) -> [Part; 2] {
        let unchanged = (-(now - self.at) * rewrites).exp();
        self.at = now;
        let share = (pages / self.left).min(1.0);
        self.left -= pages;
        self.parts.each_mut().map(|remaining| {
            remaining.part.merged *= unchanged;
            remaining.take(share).change(self.merge_at_once)
        })
    }
}

impl Remaining {
    fn new(part: &Part, touched: f64) -> Remaining {
        Remaining {
            part: *part,
            touched: touched.max(part.seen),
        }
    }

    /// Takes a share of what is left.
    fn take(&mut self, share: f64) -> Remaining {
        let mut taken = Remaining {
            part: Part::default(),
            touched: self.touched * share,
        };
        taken.part.add(&self.part, share);
        self.touched -= taken.touched;
        self.part.add(&taken.part, -1.0);
        taken
    }

    /// What the visit of these pages changes.
    ///
    /// Pages seen once and unchanged since merge; pages not seen before are seen now. Where a first visit is enough, all
    /// that is touched merges at once.
    fn change(&self, merge_at_once: bool) -> Part {
        let Remaining { part, touched } = self;
        let known = if merge_at_once { *touched } else { part.seen };
        let found = known - part.found;
        let mut change = Part {
            seen: touched - part.seen,
            found,
            merged: found + part.revisited,
            revisited: -part.revisited,
            ..Part::default()
        };
        if merge_at_once {
            change.merged += part.rewritten();
        } else {
            change.revisited += part.rewritten();
        }
        change
    }
}

impl PageCounts {
    /// Adds the pages of a part that a visit looks at, given its mergeable bytes and the others where all of it is touched.
    /// Smart scan skips old pages that never merged, unless their pass is `due`.
    fn add(&mut self, part: &Part, touched: f64, mergeable: f64, rest: f64, due: bool) {
        let pages = (mergeable + rest) / PAGE;
        let old = part.found.min(touched);
        self.first += (touched - part.seen).max(0.0) * pages;
        self.second += (part.seen - part.found).max(0.0) * pages;
        self.later += old * if due { pages } else { mergeable / PAGE };
    }

    pub(super) fn all(&self) -> f64 {
        self.first + self.second + self.later
    }
}

/// Whether smart scan visits a page that never merged on its `pass`-th pass, counted from 1.
///
/// Passes 1, 2, 3, 4, 6, 9, 14, 23, 32, then every 9th: 41, 50, …
///
/// # Source
/// Linux mm/ksm.c since 6.7 (`should_skip_rmap_item`, `skip_age`).
fn smart_scan_visits(pass: u32) -> bool {
    matches!(pass, 1..=4 | 6 | 9) || (pass >= 14 && (pass - 14).is_multiple_of(9))
}

#[cfg(test)]
mod tests {
    use super::smart_scan_visits;

    #[test]
    fn smart_scan_skips_ever_more_passes() {
        let visited: Vec<u32> = (1..=50).filter(|pass| smart_scan_visits(*pass)).collect();
        assert_eq!(visited, [1, 2, 3, 4, 6, 9, 14, 23, 32, 41, 50]);
    }
}
