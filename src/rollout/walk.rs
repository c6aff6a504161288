//! The scanner's walk: visits cohort after cohort, merges what it has seen unchanged before.

use super::cohort::{Cohort, Part};
use super::host::HostState;
use super::profile::Profile;
use super::ring::Stand;
use super::scanner::{Ahead, Pages, Visit};
use super::smart::due;
use crate::model::PAGE;

/// Passes walked in one time step at most: at one moment further ones find nothing new.
const PASSES_A_STEP: u32 = 4;

impl HostState<'_> {
    /// Walks for `dt` up to now.
    pub(super) fn walk(&mut self, dt: f64) {
        let mut left = dt;
        let mut passes = 0;
        while left > 0.0 && !self.scanner.rests() {
            let Some(mut visit) = self.scanner.visit.or_else(|| self.open_visit()) else {
                if self.ring.stand() == Stand::Head {
                    self.scanner.pass_ended();
                    passes += 1;
                    if passes > PASSES_A_STEP {
                        return;
                    }
                }
                self.ring.step();
                continue;
            };
            let speed = self.scanner.speed(visit.cost);
            let pages = (speed * left).min(visit.left);
            self.apply(&mut visit, pages);
            self.scanner.walk(pages, visit.cost);
            left -= pages / speed;
            if pages < visit.left {
                self.scanner.visit = Some(Visit {
                    left: visit.left - pages,
                    ..visit
                });
            } else {
                self.close_visit(visit.cohort);
            }
        }
    }

    /// Begins the visit of the cohort that the cursor stands at; none at the head and where nothing is to be visited.
    fn open_visit(&mut self) -> Option<Visit> {
        let Stand::Cohort(id) = self.ring.stand() else {
            return None;
        };
        let now = self.now;
        let cohort = &mut self.cohorts[id];
        let profile = &self.profiles[cohort.profile];
        let totals = &self.totals;
        cohort.bring_to(now, profile.rewrites);
        let at_first = self.scanner.merges_at_first()
            && (cohort.base.reached > 0.0
                || self.families.of_profile[cohort.profile].is_some_and(|family| {
                    self.families.scanned[family].exists(|other, _| totals[other].base.reached)
                }));
        let touched = cohort.touched(profile, totals[cohort.profile].clock);
        let kept = cohort.kept(profile);
        let smart = self.scanner.smart();
        let mut pages = pages_of(
            &cohort.base,
            touched,
            Bytes {
                mergeable: profile.mergeable,
                rest: profile.unique(),
            },
            !smart || due(cohort.age + 1),
        );
        let more = pages_of(
            &cohort.grown,
            kept,
            grown_bytes(cohort, profile, kept),
            !smart || due(cohort.grown_age + 1),
        );
        pages.add(&more);
        if at_first {
            // The look for an equal page comes at the first visit already.
            pages.second += std::mem::take(&mut pages.first);
        }
        let all = cohort.weight * pages.all();
        if all < 1.0 {
            return None;
        }
        Some(Visit {
            cohort: id,
            pages: all,
            left: all,
            cost: self.scanner.cost(&pages),
            base: Ahead {
                part: cohort.base,
                touched: touched.max(cohort.base.seen),
            },
            grown: Ahead {
                part: cohort.grown,
                touched: kept.max(cohort.grown.seen),
            },
            at_first,
            at: now,
        })
    }

    /// Applies the next so many pages of a visit: each is looked at as it is when the cursor comes by.
    fn apply(&mut self, visit: &mut Visit, pages: f64) {
        let cohort = &mut self.cohorts[visit.cohort];
        let profile = &self.profiles[cohort.profile];
        let totals = &mut self.totals[cohort.profile];
        cohort.bring_to(self.now, profile.rewrites);
        let left = (-(self.now - visit.at) * profile.rewrites).exp();
        visit.base.part.merged *= left;
        visit.grown.part.merged *= left;
        visit.at = self.now;
        let share = (pages / visit.left).min(1.0);
        let base = change(&visit.base.take(share), visit.at_first);
        let grown = change(&visit.grown.take(share), visit.at_first);
        cohort.base.change(&base, 1.0);
        cohort.grown.change(&grown, 1.0);
        totals.base.change(&base, cohort.weight);
        totals.grown.change(&grown, cohort.weight);
        totals.tracked += grown.seen * cohort.weight * cohort.resident;
    }

    /// Ends a visit: the pages are a pass older.
    fn close_visit(&mut self, id: usize) {
        self.scanner.visit = None;
        let cohort = &mut self.cohorts[id];
        cohort.age = cohort.age.saturating_add(1);
        if cohort.resident > 0.0 {
            cohort.grown_age = cohort.grown_age.saturating_add(1);
        }
        self.ring.step();
    }

    /// Breaks off the visit of a cohort that is about to change; what was not visited waits for the next pass.
    pub(super) fn break_off(&mut self, id: usize) {
        if self.scanner.visit.is_some_and(|visit| visit.cohort == id) {
            self.close_visit(id);
        }
    }
}

/// Bytes of one guest where all of a part is touched.
#[derive(Debug, Clone, Copy)]
struct Bytes {
    mergeable: f64,
    rest: f64,
}

fn grown_bytes(cohort: &Cohort, profile: &Profile, kept: f64) -> Bytes {
    let rest = (cohort.resident * profile.grown - kept * profile.grown_common).max(0.0);
    Bytes {
        mergeable: profile.grown_common,
        rest: if kept > 0.0 { rest / kept } else { 0.0 },
    }
}

/// What a visit of some pages changes.
///
/// Pages seen once and unchanged since merge; pages not seen before are seen now. Where a first visit is enough, all
/// that is touched merges at once.
fn change(ahead: &Ahead, at_first: bool) -> Part {
    let Ahead { part, touched } = ahead;
    let found = if at_first { *touched } else { part.seen } - part.reached;
    let rewritten = part.rewritten();
    Part {
        seen: touched - part.seen,
        reached: found,
        merged: found + part.again + if at_first { rewritten } else { 0.0 },
        again: if at_first { 0.0 } else { rewritten } - part.again,
        held: 0.0,
    }
}

/// Pages that a visit looks at. Smart scan skips old pages that never merged, unless their pass is `due`.
fn pages_of(part: &Part, touched: f64, bytes: Bytes, due: bool) -> Pages {
    let first = (touched - part.seen).max(0.0);
    let second = (part.seen - part.reached).max(0.0);
    let old = part.reached.min(touched);
    let later = old * bytes.mergeable + if due { old * bytes.rest } else { 0.0 };
    let all = bytes.mergeable + bytes.rest;
    Pages {
        first: first * all / PAGE,
        second: second * all / PAGE,
        later: later / PAGE,
    }
}
