//! The scanner: walks a ring of cohorts and merges what it has seen unchanged before.

use super::copies::Families;
use super::guests::Guests;
use super::part::BASE;
use super::ring::Ring;
use super::scan_speed::ScanSpeed;
use super::visit::Visit;
use crate::model::sharing::SmartScan;
use crate::sizing::host::HostModel;

/// Passes walked in one time step at most: at one moment further ones find nothing new.
const PASSES_A_STEP: u32 = 4;

/// The scanner of a host in time.
#[derive(Debug, Clone)]
pub(super) struct Scanner {
    pub speed: ScanSpeed,
    pub ring: Ring,
    /// The visit under way.
    visit: Option<Visit>,
    smart: SmartScan,
    /// Whether one visit is enough once a merged copy exists.
    one_visit: bool,
    /// Pages walked in this pass, and in the one before.
    pass_pages: f64,
    last_pass: f64,
    /// Pages visited so far.
    pub walked: f64,
    /// Processor time used so far `[s]`.
    pub worked: f64,
    /// Places of the ring visited so far.
    pub looks: u64,
}

impl Scanner {
    pub(super) fn new(model: &HostModel) -> Scanner {
        let merging = &model.host.merging;
        Scanner {
            speed: ScanSpeed::new(model),
            ring: Ring::new(),
            visit: None,
            smart: SmartScan::from_switch(merging.smart_scan),
            one_visit: merging.visits < 1.5,
            pass_pages: 0.0,
            last_pass: 0.0,
            walked: 0.0,
            worked: 0.0,
            looks: 0,
        }
    }

    /// Whether it is at rest, by mode or by decision.
    pub(super) fn rests(&self) -> bool {
        self.speed.steady() <= 0.0
    }

    /// Pages of a whole pass, as far as has been seen: the first passes over new guests visit more than later ones.
    pub(super) fn longest_pass(&self) -> f64 {
        self.pass_pages.max(self.last_pass)
    }

    /// Takes the guest `one` that was split off a cohort into its ring; `left` guests stay in the cohort.
    pub(super) fn split(&mut self, cohort: usize, one: usize, left: f64) {
        if let Some(visit) = &mut self.visit
            && visit.cohort == cohort
        {
            visit.left *= left / (left + 1.0);
        }
        self.ring.insert(one, Some(cohort));
    }

    /// Breaks off the visit of a cohort that is about to change; what was not visited waits for the next pass.
    pub(super) fn break_off(&mut self, cohort: usize, guests: &mut Guests) {
        if self.visit.is_some_and(|visit| visit.cohort == cohort) {
            self.close_visit(cohort, guests);
        }
    }

    /// Nothing new is found for `dt` up to `now`.
    pub(super) fn skip(&mut self, now: f64, dt: f64) {
        if let Some(visit) = &mut self.visit {
            visit.at = now;
        }
        if !self.ring.is_empty() {
            self.worked += (self.speed.steady() * self.speed.steady_cost()).min(1.0) * dt;
        }
    }

    /// Walks for `dt` up to `now`.
    pub(super) fn walk(&mut self, guests: &mut Guests, families: &Families, now: f64, dt: f64) {
        let mut left = dt;
        let mut passes = 0;
        while left > 0.0 && !self.rests() {
            self.looks += 1;
            let visit = self.visit.take();
            let Some(mut visit) = visit.or_else(|| self.open_visit(guests, families, now)) else {
                if self.ring.current().is_none() {
                    self.end_pass();
                    passes += 1;
                    if passes > PASSES_A_STEP {
                        return;
                    }
                }
                self.ring.step();
                continue;
            };
            let (cohort, profile, sums) = guests.cohort_at(visit.cohort, now);
            visit.touch(cohort, profile, sums.clock);
            let cost = self.speed.cost(&visit.pages);
            let speed = self.speed.at_cost(cost);
            let pages = (speed * left).min(visit.left);
            let complete = pages >= visit.left;
            let changes = visit.take(pages, now, profile.rewrites);
            for (part, change) in cohort.parts.iter_mut().zip(&changes) {
                part.add(change, 1.0);
            }
            sums.count_visit(cohort, &changes);
            self.walked += pages;
            self.pass_pages += pages;
            self.worked += pages * cost;
            left -= pages / speed;
            if complete {
                self.close_visit(visit.cohort, guests);
            } else {
                self.visit = Some(visit);
            }
        }
    }

    fn end_pass(&mut self) {
        self.last_pass = std::mem::take(&mut self.pass_pages);
        self.speed.advise(self.last_pass);
    }

    /// Begins the visit of the cohort at the cursor; none at the head and where nothing is to be visited.
    fn open_visit(&self, guests: &mut Guests, families: &Families, now: f64) -> Option<Visit> {
        let id = self.ring.current()?;
        let cohort = &guests.cohorts[id];
        let shared =
            || cohort.parts[BASE].found > 0.0 || families.offer_copies(cohort.profile, guests);
        let merge_at_once = self.one_visit && shared();
        let (cohort, profile, sums) = guests.cohort_at(id, now);
        Visit::new(id, cohort, profile, sums.clock, self.smart, merge_at_once)
    }

    /// Ends a visit: the pages are a pass older.
    fn close_visit(&mut self, id: usize, guests: &mut Guests) {
        self.visit = None;
        guests.age(id);
        self.ring.step();
    }
}
