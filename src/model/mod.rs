//! The laws: small pure functions, one subject a file, in the symbols of their sources. No I/O, no clock, no randomness.
//!
//! A law is written once, over a [`Number`](number::Number).

pub mod affine;
pub mod cost;
pub mod demand;
pub mod disk;
pub mod endurance;
pub mod finite_source;
pub mod footprint;
pub mod growth;
pub mod held;
pub mod memory;
pub mod network;
pub mod number;
pub mod periods;
pub mod pert;
pub mod power;
pub mod processor;
pub mod quantiles;
pub mod scanner;
pub mod sharing;
pub mod tape;

/// Size of a memory page `[B]`. Source: x86-64 and arm64 Linux with 4 KiB pages, kernel documentation.
pub const PAGE: f64 = 4096.0;
/// 2^30 `[B]`. Source: IEC 80000-13.
pub const GIB: f64 = 1_073_741_824.0;
/// 2^20 `[B]`. Source: IEC 80000-13.
pub const MIB: f64 = 1_048_576.0;
/// A day `[s]`.
pub const DAY: f64 = 86_400.0;
/// A year of 365.25 days `[s]` (the Julian year).
pub const YEAR: f64 = 365.25 * DAY;
/// Relative slack of every comparison with a limit: demand equal to the limit is within.
pub const SLACK: f64 = 1e-9;

/// Whether `demand` is within `limit`, equal counted as within with a relative slack of [`SLACK`].
///
/// # Example
/// ```
/// use berthage::model::within;
/// assert!(within(0.1 + 0.2, 0.3));
/// assert!(!within(0.301, 0.3));
/// // The slack is a share of the limit.
/// assert!(within(1e12 + 1.0, 1e12) && !within(1e-12 + 1e-13, 1e-12));
/// ```
pub fn within(demand: f64, limit: f64) -> bool {
    demand <= limit + SLACK * limit.abs()
}
