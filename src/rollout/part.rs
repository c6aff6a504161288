//! The two parts of a guest's pages, and how far the scanner is with one.

/// The part of a guest's pages that is touched at boot.
pub(super) const BASE: usize = 0;
/// The part that is touched when busy.
pub(super) const GROWN: usize = 1;

/// One part of a cohort's pages, as shares.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Part {
    /// Passes in which it has been visited.
    pub age: u32,
    /// Visited at least once: tracked.
    pub seen: f64,
    /// Of the mergeable pages: found equal at least once.
    pub found: f64,
    /// Of the mergeable pages: merged now.
    pub merged: f64,
    /// Rewritten after merging and visited once since.
    pub revisited: f64,
    /// Rewritten all the time by a busy guest.
    pub hot: f64,
}

impl Part {
    /// Rewritten after merging and not visited since.
    pub(super) fn rewritten(&self) -> f64 {
        (self.found - self.merged - self.revisited - self.hot).max(0.0)
    }

    /// Adds a share of a change.
    pub(super) fn add(&mut self, change: &Part, share: f64) {
        self.seen += change.seen * share;
        self.found += change.found * share;
        self.merged += change.merged * share;
        self.revisited += change.revisited * share;
        self.hot += change.hot * share;
    }
}
