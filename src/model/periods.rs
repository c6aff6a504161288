//! Parts of the time in which guests are busy with other chances.

use super::number::Number;

/// What holds in each period, over all the time: `Σ ω·x`.
///
/// - `periods` ω and x of each: its share of the time `[1]`, which add up to 1, and what holds in it, in any unit: a mean, a
///   power, the chance of passing a limit
///
/// # Source
/// Definition: the law of total expectation.
///
/// # Example
/// ```
/// use berthage::model::periods::over_time;
/// // A limit that is passed 6 % of eight hours and never else.
/// assert!((over_time([(8.0 / 24.0, 0.06), (16.0 / 24.0, 0.0)]) - 0.02).abs() < 1e-15);
/// ```
pub fn over_time<N: Number>(periods: impl IntoIterator<Item = (N, N)>) -> N {
    N::sum(periods.into_iter().map(|(share, value)| share * value))
}
