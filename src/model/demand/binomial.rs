//! The binomial distribution as a run of weights around its mode.

use super::group::Chance;

/// Weights below this share of the mode are left out under it.
///
/// Leaving out a lower end of mass ε changes an upper tail by less than ε of itself, because the tail given few busy
/// guests is smaller than the tail.
const LOWER_CUT: f64 = 1e-14;

/// Weights below this share of the mode are left out above it: tails down to about 1e-25 keep their digits.
const UPPER_CUT: f64 = 1e-34;

/// Weight of the mode, rounding included; odds without end lead past it.
const MODE: f64 = 1.0 + 1e-9;

/// The run of counts that has a weight.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Window {
    /// Smallest count kept.
    pub first: usize,
    /// Largest count kept.
    pub last: usize,
}

/// Writes the probabilities of k busy of n guests into `weights[k]` for k in the returned window.
///
/// The ratios (n−k)/(k+1)·a/(1−a) run outwards from the mode at weight 1; dividing by the sum makes them
/// probabilities, so no factorial is needed and nothing overflows. `weights` holds n + 1 places; those outside of the
/// window keep what they had.
pub(super) fn fill(guests: u64, chance: Chance, weights: &mut [f64]) -> Window {
    let n = guests as usize;
    let mode = (((guests as f64 + 1.0) * chance.busy) as usize).min(n);
    let odds = chance.busy / chance.quiet;
    let against = chance.quiet / chance.busy;
    weights[mode] = 1.0;
    let mut sum = 1.0;
    let mut window = Window {
        first: mode,
        last: mode,
    };
    let mut weight = 1.0;
    while window.last < n {
        let k = window.last as f64;
        weight *= (guests as f64 - k) / (k + 1.0) * odds;
        // Also ends the run where odds are infinite or not a number.
        if !(UPPER_CUT..=MODE).contains(&weight) {
            break;
        }
        window.last += 1;
        weights[window.last] = weight;
        sum += weight;
    }
    weight = 1.0;
    while window.first > 0 {
        let k = window.first as f64;
        weight *= k / (guests as f64 - k + 1.0) * against;
        if !(LOWER_CUT..=MODE).contains(&weight) {
            break;
        }
        window.first -= 1;
        weights[window.first] = weight;
        sum += weight;
    }
    let scale = 1.0 / sum;
    for weight in &mut weights[window.first..=window.last] {
        *weight *= scale;
    }
    window
}
