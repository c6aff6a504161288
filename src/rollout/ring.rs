//! The ring that the scanner walks.

/// Place of the ring's head, which is no cohort: a pass ends there.
const HEAD: usize = 0;

/// A ring of cohorts with the scanner's cursor; a newcomer is put just behind the cursor.
///
/// # Source
/// Linux mm/ksm.c (`__ksm_enter`: "insert just behind the scanning cursor, to let the area settle down a little").
#[derive(Debug, Clone)]
pub(super) struct Ring {
    next: Vec<usize>,
    previous: Vec<usize>,
    cursor: usize,
}

impl Ring {
    pub(super) fn new() -> Ring {
        Ring {
            next: vec![HEAD],
            previous: vec![HEAD],
            cursor: HEAD,
        }
    }

    /// The cohort that is visited now or next; none at the head, where a pass ends.
    pub(super) fn current(&self) -> Option<usize> {
        self.cursor.checked_sub(1)
    }

    /// Whether it is empty.
    pub(super) fn is_empty(&self) -> bool {
        self.next[HEAD] == HEAD
    }

    /// Moves on to the next place.
    pub(super) fn step(&mut self) {
        self.cursor = self.next[self.cursor];
    }

    /// Puts a cohort just behind the cursor, or one split off another just behind that one.
    pub(super) fn insert(&mut self, cohort: usize, split_off: Option<usize>) {
        let place = cohort + 1;
        let after = split_off.map_or(self.cursor, |other| other + 1);
        if self.next.len() <= place {
            // A place outside the ring points to itself.
            let from = self.next.len();
            self.next.extend(from..=place);
            self.previous.extend(from..=place);
        }
        let before = self.previous[after];
        self.next[before] = place;
        self.previous[place] = before;
        self.next[place] = after;
        self.previous[after] = place;
    }

    /// Takes a cohort out; a cursor that is at it moves on.
    pub(super) fn remove(&mut self, cohort: usize) {
        let place = cohort + 1;
        if place >= self.next.len() || self.next[place] == place {
            return;
        }
        if self.cursor == place {
            self.step();
        }
        let (before, after) = (self.previous[place], self.next[place]);
        self.next[before] = after;
        self.previous[after] = before;
        self.next[place] = place;
        self.previous[place] = place;
    }
}

#[cfg(test)]
mod tests {
    use super::Ring;

    fn pass(ring: &mut Ring) -> Vec<usize> {
        let mut seen = Vec::new();
        loop {
            ring.step();
            match ring.current() {
                None => return seen,
                Some(cohort) => seen.push(cohort),
            }
        }
    }

    #[test]
    fn a_newcomer_waits_for_the_rest_of_the_ring() {
        let mut ring = Ring::new();
        (0..3).for_each(|cohort| ring.insert(cohort, None));
        assert_eq!(pass(&mut ring), [0, 1, 2]);
        ring.step();
        ring.step();
        assert_eq!(ring.current(), Some(1));
        ring.insert(7, None);
        assert_eq!(pass(&mut ring), [2]);
        assert_eq!(pass(&mut ring), [0, 7, 1, 2]);
        ring.remove(7);
        ring.remove(9);
        assert_eq!(pass(&mut ring), [0, 1, 2]);
    }
}
