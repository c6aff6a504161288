//! The largest N within a limit, by galloping and bisection.

use schemars::JsonSchema;
use serde::Serialize;

/// Most guests that are tried; still within at this many counts as unbounded.
pub const MOST_GUESTS: u64 = 1_000_000;

/// Outcome of a search for the largest N within a limit; the order is that of how much is held. Serialised as the
/// number, or null where there is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(into = "Option<u64>")]
#[schemars(inline, with = "Option<u64>")]
pub enum Largest {
    /// Past the limit at N = 0 already.
    Infeasible,
    /// Within up to this N, past it at the next.
    Bound(u64),
    /// Within at [`MOST_GUESTS`].
    Unbounded,
}

impl Largest {
    /// The number, where there is one.
    pub fn bound(self) -> Option<u64> {
        match self {
            Largest::Bound(n) => Some(n),
            Largest::Unbounded | Largest::Infeasible => None,
        }
    }

    /// The number to go on with: none where it is infeasible, the most that is tried where it is unbounded.
    pub fn number(self) -> u64 {
        match self {
            Largest::Infeasible => 0,
            Largest::Bound(n) => n,
            Largest::Unbounded => MOST_GUESTS,
        }
    }
}

impl From<Largest> for Option<u64> {
    fn from(largest: Largest) -> Self {
        largest.bound()
    }
}

/// The largest N for which `within` holds; `within` must not become true again once false.
///
/// Gallops from `guess` (doubling steps up or down), then bisects: O(log N) calls, about two when the guess is right.
pub fn largest(guess: u64, mut within: impl FnMut(u64) -> bool) -> Largest {
    let (mut n, mut step) = (guess.min(MOST_GUESTS), 1);
    let (mut inside, mut outside) = (None, None);
    loop {
        match (within(n), n) {
            (true, MOST_GUESTS) => return Largest::Unbounded,
            (false, 0) => return Largest::Infeasible,
            (true, _) => inside = Some(n),
            (false, _) => outside = Some(n),
        }
        n = match (inside, outside) {
            (Some(inside), Some(outside)) => {
                return Largest::Bound(bisected(inside, outside, within));
            }
            (Some(inside), None) => inside.saturating_add(step).min(MOST_GUESTS),
            (None, _) => n.saturating_sub(step),
        };
        step *= 2;
    }
}

/// The largest number within a limit, between one that is `inside` and one that is `outside`.
pub fn bisected(mut inside: u64, mut outside: u64, mut within: impl FnMut(u64) -> bool) -> u64 {
    while outside - inside > 1 {
        let middle = inside + (outside - inside) / 2;
        if within(middle) {
            inside = middle;
        } else {
            outside = middle;
        }
    }
    inside
}

#[cfg(test)]
mod tests {
    use super::{Largest, MOST_GUESTS, largest};

    #[test]
    fn finds_every_border_from_every_guess() {
        for border in [0, 1, 2, 3, 17, 62, 1000, 999_999] {
            for guess in [0, 1, 16, 17, 18, 5000, MOST_GUESTS] {
                assert_eq!(
                    largest(guess, |n| n <= border),
                    Largest::Bound(border),
                    "{border} from {guess}"
                );
            }
        }
    }

    #[test]
    fn knows_broken_and_unbounded() {
        assert_eq!(largest(77, |_| false), Largest::Infeasible);
        assert_eq!(largest(77, |_| true), Largest::Unbounded);
    }

    #[test]
    fn a_right_guess_takes_two_evaluations() {
        let mut evaluations = 0;
        let found = largest(300, |n| {
            evaluations += 1;
            n <= 300
        });
        assert_eq!((found, evaluations), (Largest::Bound(300), 2));
    }
}
