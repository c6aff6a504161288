//! What will happen at a known moment, in one queue.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use super::options::Spell;

/// Moments nearer than this are the same `[s]`.
pub(super) const NOW: f64 = 1e-9;

/// What will happen.
#[derive(Debug, Clone, Copy)]
pub(super) enum Due {
    /// Some guests of a profile become busy.
    Spell(Spell),
    /// A guest of a cohort becomes busy by chance.
    ChanceSpell(usize),
    /// A guest falls idle again.
    SpellEnd(usize),
    /// The scanner begins to walk.
    ScannerStart,
    /// An adaptive scanner's daemon decides.
    ScannerDecision,
    /// A pool has written its clones.
    ClonesWritten,
}

/// What will happen at known moments, the earliest first.
#[derive(Debug, Default)]
pub(super) struct EventQueue {
    entries: BinaryHeap<Entry>,
    entered: u64,
}

#[derive(Debug, Clone, Copy)]
struct Entry {
    at: f64,
    /// Settles ties: first come, first served.
    number: u64,
    due: Due,
}

impl EventQueue {
    pub(super) fn push(&mut self, at: f64, due: Due) {
        self.entered += 1;
        self.entries.push(Entry {
            at,
            number: self.entered,
            due,
        });
    }

    /// When the next one is due `[s]`.
    pub(super) fn next(&self) -> Option<f64> {
        self.entries.peek().map(|entry| entry.at)
    }

    /// Takes out the next one that is due, with its moment.
    pub(super) fn pop_due(&mut self, now: f64) -> Option<(f64, Due)> {
        self.next().filter(|at| *at <= now + NOW)?;
        self.entries.pop().map(|entry| (entry.at, entry.due))
    }
}

impl Entry {
    /// At the same moment the scanner's daemon decides last, on what the others have made of memory.
    fn key(&self) -> (bool, u64) {
        (matches!(self.due, Due::ScannerDecision), self.number)
    }
}

impl Ord for Entry {
    fn cmp(&self, other: &Self) -> Ordering {
        // The heap hands out the largest: the earliest.
        let later = other.at.total_cmp(&self.at);
        later.then_with(|| other.key().cmp(&self.key()))
    }
}

impl PartialOrd for Entry {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Entry {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Entry {}

#[cfg(test)]
mod tests {
    use super::{Due, EventQueue};

    #[test]
    fn the_earliest_comes_first_and_the_scanners_decision_last() {
        let mut queue = EventQueue::default();
        queue.push(2.0, Due::ScannerDecision);
        queue.push(2.0, Due::ChanceSpell(1));
        queue.push(2.0, Due::ChanceSpell(2));
        queue.push(1.0, Due::ClonesWritten);
        queue.push(3.0, Due::ScannerStart);
        assert!(matches!(queue.pop_due(1.0), Some((_, Due::ClonesWritten))));
        assert!(queue.pop_due(1.0).is_none());
        assert!(matches!(queue.pop_due(2.0), Some((_, Due::ChanceSpell(1)))));
        assert!(matches!(queue.pop_due(2.0), Some((_, Due::ChanceSpell(2)))));
        assert!(matches!(queue.pop_due(2.0), Some((at, Due::ScannerDecision)) if at == 2.0));
        assert_eq!(
            (queue.pop_due(2.0).is_none(), queue.next()),
            (true, Some(3.0))
        );
    }
}
