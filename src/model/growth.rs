//! Guests that come at a rate.

use super::YEAR;

/// A month, a twelfth of a year `[s]`.
pub const MONTH: f64 = YEAR / 12.0;
/// Rounding errors of rate times time at a moment at which a guest comes.
const ROUNDING: f64 = 1e-9;

/// Guests that have come after a time: `⌊rate·t⌋`.
///
/// - `rate` guests that come `[1/s]`, ≥ 0; `time` t `[s]`, ≥ 0
///
/// # Source
/// Definition of this project.
///
/// # Example
/// ```
/// use berthage::model::growth::{MONTH, come};
/// assert_eq!([0.0, 0.4, 0.5, 14.0].map(|months| come(2.0 / MONTH, months * MONTH)), [0, 0, 1, 28]);
/// ```
pub fn come(rate: f64, time: f64) -> u64 {
    (rate * time * (1.0 + ROUNDING)).floor() as u64
}

/// Time that the guests that have come have been there, all together: `m·t − m·(m + 1)/(2·rate)`, m of [`come`].
///
/// Guest j comes at j/rate.
///
/// # Source
/// Definition of this project.
///
/// # Example
/// ```
/// use berthage::model::growth::time_there;
/// // One a second: after 3 s the first has been there 2 s, the second 1 s, the third just came.
/// assert_eq!(time_there(1.0, 3.0), 3.0);
/// assert_eq!(time_there(0.0, 3.0), 0.0);
/// ```
pub fn time_there(rate: f64, time: f64) -> f64 {
    let come = come(rate, time) as f64;
    if come > 0.0 {
        come * time - come * (come + 1.0) / (2.0 * rate)
    } else {
        0.0
    }
}
