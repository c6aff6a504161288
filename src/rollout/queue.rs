//! What will happen at a known moment, in one queue.

use std::collections::BTreeMap;

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
    /// An adaptive scanner's daemon decides.
    ScannerDecision,
    /// A pool has written its clones.
    ClonesWritten,
}

/// What will happen at known moments, the earliest first.
///
/// At the same moment the scanner's daemon decides last, on what the others have made of memory; else it is first come,
/// first served.
#[derive(Debug, Clone, Default)]
pub(super) struct EventQueue {
    /// By moment (the bits of a float that is not negative are in its order), decision and number.
    entries: BTreeMap<(u64, bool, u64), Due>,
    entered: u64,
}

impl EventQueue {
    /// Enters what is due at a moment `[s]`, ≥ 0.
    pub(super) fn push(&mut self, at: f64, due: Due) {
        self.entered += 1;
        let decision = matches!(due, Due::ScannerDecision);
        let at = at.max(0.0).to_bits();
        self.entries.insert((at, decision, self.entered), due);
    }

    /// When the next one is due `[s]`.
    pub(super) fn next(&self) -> Option<f64> {
        let first = self.entries.first_key_value();
        first.map(|((at, ..), _)| f64::from_bits(*at))
    }

    /// When the next one but the scanner's decisions is due `[s]`.
    pub(super) fn next_but_decisions(&self) -> Option<f64> {
        let mut others = self.entries.keys().filter(|(_, decision, _)| !decision);
        others.next().map(|(at, ..)| f64::from_bits(*at))
    }

    /// Puts the scanner's decisions before a moment off until then.
    pub(super) fn put_off_decisions(&mut self, until: f64) {
        let early = |at: u64, decision| decision && f64::from_bits(at) < until;
        let before = self.entries.len();
        self.entries
            .retain(|(at, decision, _), _| !early(*at, *decision));
        if self.entries.len() < before {
            self.push(until, Due::ScannerDecision);
        }
    }

    /// Takes out the next one that is due, with its moment.
    pub(super) fn pop_due(&mut self, now: f64) -> Option<(f64, Due)> {
        let at = self.next().filter(|at| *at <= now + NOW)?;
        let (_, due) = self.entries.pop_first()?;
        Some((at, due))
    }
}

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
        queue.push(3.0, Due::SpellEnd(2));
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
