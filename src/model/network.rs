//! The link, and the nightly backup that uses it.

/// Bits per byte.
pub const BITS: f64 = 8.0;

/// Speed of the backup: the target's or the accepted share of the link, whichever is lower.
///
/// `min(speed, ceiling·link/8)`
///
/// - `target` speed of the backup target `[B/s]`, if known
/// - `link` `[bit/s]`, if known; `ceiling` accepted share of it
///
/// Returns `[B/s]`, infinite when neither is known (the inventory refuses that).
///
/// # Source
/// Definition of this project.
#[must_use]
pub fn backup_speed(target: Option<f64>, link: Option<f64>, ceiling: f64) -> f64 {
    let by_link = link.map_or(f64::INFINITY, |link| ceiling * link / BITS);
    target.unwrap_or(f64::INFINITY).min(by_link)
}
