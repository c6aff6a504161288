//! The link, and the nightly backup that uses it.

use super::number::{Measure, Number};

/// Bits per byte. Source: IEC 80000-13.
pub const BITS: f64 = 8.0;

/// Speed of the backup: the target's or the accepted share of the link, whichever is lower.
///
/// `min(speed, ceiling·link/8)`
///
/// - `target` speed of the backup target `[B/s]`, > 0, if known
/// - `link` `[bit/s]`, > 0, if known
/// - `ceiling` accepted share of the link, above 0 and at most 1
///
/// Returns `[B/s]`, infinite when neither is known (the inventory refuses that).
///
/// # Valid for
/// A backup that runs while the guests are quiet: it does not share the link with them.
///
/// # Source
/// Definition of this project.
///
/// # Example
/// ```
/// use berthage::model::network::backup_speed;
/// // 70 % of 1 Gbit/s is 87.5 MB/s, less than a target of 100 MB/s takes.
/// assert_eq!(backup_speed(Some(100e6), Some(1e9), 0.7), 87.5e6);
/// assert_eq!(backup_speed(Some(50e6), Some(1e9), 0.7), 50e6);
/// ```
pub fn backup_speed<N: Number>(target: Option<N>, link: Option<N>, ceiling: N) -> N {
    let by_link = link.map(|link| ceiling * link / N::of(BITS));
    let speeds = target.into_iter().chain(by_link);
    speeds
        .reduce(N::min)
        .unwrap_or(N::measured(f64::INFINITY, Measure::ByteRate))
}
