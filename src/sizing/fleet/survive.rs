//! Whether the other hosts can take over when some fail.

use super::place::{Order, Rule, choose, ordered};
use super::room::{Counts, Room, empty, none};

/// Whether any `spare` of these hosts may fail and the guests of the failed be started on the rest.
///
/// Fewer failures are survived then as well: each remaining host gets no more than with all of them.
///
/// # Errors
/// The hosts that must not fail together.
pub fn survives(
    room: &impl Room,
    counts: &Counts,
    hosts: &[usize],
    spare: usize,
) -> Result<(), Vec<usize>> {
    combinations(hosts, spare.min(hosts.len()))
        .iter()
        .try_for_each(|failed| takes_over(room, counts, hosts, failed))
}

/// Whether the guests of the failed hosts can be started on the others; if not, which failed.
fn takes_over(
    room: &impl Room,
    counts: &Counts,
    hosts: &[usize],
    failed: &[usize],
) -> Result<(), Vec<usize>> {
    let left: Vec<usize> = hosts
        .iter()
        .copied()
        .filter(|host| !failed.contains(host))
        .collect();
    let mut homeless = none(room);
    for host in failed {
        for (sum, n) in homeless.iter_mut().zip(&counts[*host]) {
            *sum += n;
        }
    }
    let guests = ordered(room, &homeless, Order::Largest);
    let rules = [Rule::Emptiest, Rule::Together, Rule::First, Rule::Fullest];
    let by_rule = rules
        .iter()
        .any(|rule| restart(room, counts, &guests, &left, *rule));
    if by_rule || every_way(room, counts, &guests, &left) {
        Ok(())
    } else {
        Err(failed.to_vec())
    }
}

/// The load of a host that took over: the worse of the moment of the restart, when the moved guests are fresh and
/// unmerged, and of later, when they have settled like all others.
fn load_after(room: &impl Room, host: usize, own: &[u64], moved: &[u64]) -> Option<f64> {
    let settled: Vec<u64> = own
        .iter()
        .zip(moved)
        .map(|(own, moved)| own + moved)
        .collect();
    let restart = room.load(host, own, moved)?;
    Some(restart.max(room.load(host, &settled, &none(room))?))
}

fn restart(
    room: &impl Room,
    counts: &Counts,
    guests: &[usize],
    left: &[usize],
    rule: Rule,
) -> bool {
    let mut moved = empty(room);
    guests.iter().all(|&profile| {
        let host = choose(
            room,
            left,
            rule,
            profile,
            &mut moved,
            |room, host, moved| load_after(room, host, &counts[host], &moved[host]),
        );
        if let Some(host) = host {
            moved[host][profile] += 1;
        }
        host.is_some()
    })
}

/// Most guests that are restarted in every way before it is said that they cannot be.
const MOST_MOVED: usize = 10;

/// The same by trying every way, for few guests.
fn every_way(room: &impl Room, counts: &Counts, guests: &[usize], left: &[usize]) -> bool {
    guests.len() <= MOST_MOVED && try_from(room, counts, guests, left, &mut empty(room), 0)
}

fn try_from(
    room: &impl Room,
    counts: &Counts,
    guests: &[usize],
    left: &[usize],
    moved: &mut Counts,
    lowest: usize,
) -> bool {
    let Some((&profile, rest)) = guests.split_first() else {
        return true;
    };
    let alike = rest.first() == Some(&profile);
    (lowest..left.len()).any(|index| {
        let host = left[index];
        moved[host][profile] += 1;
        let held = load_after(room, host, &counts[host], &moved[host]).is_some()
            && try_from(
                room,
                counts,
                rest,
                left,
                moved,
                if alike { index } else { 0 },
            );
        if !held {
            moved[host][profile] -= 1;
        }
        held
    })
}

/// All ways to choose `size` of the items.
fn combinations(items: &[usize], size: usize) -> Vec<Vec<usize>> {
    if size == 0 {
        return vec![Vec::new()];
    }
    let Some((first, rest)) = items.split_first() else {
        return Vec::new();
    };
    let mut all: Vec<Vec<usize>> = combinations(rest, size - 1)
        .into_iter()
        .map(|mut chosen| {
            chosen.insert(0, *first);
            chosen
        })
        .collect();
    all.extend(combinations(rest, size));
    all
}
