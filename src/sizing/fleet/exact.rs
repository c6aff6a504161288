//! Placing all guests by trying every way, for small sets.

use super::room::{Counts, Room, empty, none};

/// Most guests that are tried in every way.
pub const MOST_GUESTS: u64 = 20;
/// Most looks at a host before giving up.
const MOST_LOOKS: u64 = 200_000;

/// What trying every way found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Exact {
    /// A placement of all guests.
    Found(Counts),
    /// There is none.
    Impossible,
    /// It was given up.
    Unknown,
}

/// Places all guests (a profile each; equal ones next to each other) on hosts so that `accepted` says yes.
///
/// Depth first with what is equal tried once: guests of a profile go to hosts in ascending order, and of several empty
/// hosts of one kind only the first is tried.
pub fn exact(
    room: &impl Room,
    guests: &[usize],
    hosts: &[usize],
    accepted: impl FnMut(&Counts) -> bool,
) -> Exact {
    if guests.len() as u64 > MOST_GUESTS {
        return Exact::Unknown;
    }
    let mut search = Search {
        room,
        guests,
        hosts,
        nobody: none(room),
        counts: empty(room),
        looks: 0,
        accepted,
    };
    match search.from(0, 0) {
        Some(true) => Exact::Found(search.counts),
        Some(false) => Exact::Impossible,
        None => Exact::Unknown,
    }
}

struct Search<'a, R, A> {
    room: &'a R,
    guests: &'a [usize],
    hosts: &'a [usize],
    nobody: Vec<u64>,
    counts: Counts,
    looks: u64,
    accepted: A,
}

impl<R: Room, A: FnMut(&Counts) -> bool> Search<'_, R, A> {
    /// Whether the guests from this one on can be placed, `lowest` being the first host for one like the last; none if
    /// it was given up.
    fn from(&mut self, guest: usize, lowest: usize) -> Option<bool> {
        let Some(&profile) = self.guests.get(guest) else {
            return Some((self.accepted)(&self.counts));
        };
        let next_is_alike = self.guests.get(guest + 1) == Some(&profile);
        let mut empty_kinds = Vec::new();
        for index in lowest..self.hosts.len() {
            let host = self.hosts[index];
            if self.counts[host].iter().all(|n| *n == 0) {
                if empty_kinds.contains(&self.room.kind(host)) {
                    continue;
                }
                empty_kinds.push(self.room.kind(host));
            }
            self.looks += 1;
            if self.looks > MOST_LOOKS {
                return None;
            }
            self.counts[host][profile] += 1;
            if self
                .room
                .load(host, &self.counts[host], &self.nobody)
                .is_some()
                && self.from(guest + 1, if next_is_alike { index } else { 0 })?
            {
                return Some(true);
            }
            self.counts[host][profile] -= 1;
        }
        Some(false)
    }
}
