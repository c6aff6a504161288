//! Money: what a host costs to run and to own.

use super::number::Number;

/// What the energy of a host costs over a horizon.
///
/// `running = years·kWh·tariff`
///
/// - `years` horizon `[years]`, ≥ 0
/// - `kwh_per_year` energy of a year `[kWh]`, ≥ 0, see [`kwh_per_year`](super::power::kwh_per_year)
/// - `tariff` price of energy `[money/kWh]`, ≥ 0
///
/// Returns `[money]`, in the currency of the tariff.
///
/// # Valid for
/// A constant tariff and constant power; prices are not discounted. An upper bound where the energy is that of the busy
/// hour all year.
///
/// # Source
/// Definition.
///
/// # Example
/// ```
/// use berthage::model::cost::running;
/// // 60 W all year are 525.6 kWh; at 0.25 a kWh four years of it cost 525.60.
/// assert_eq!(running(4.0, 525.6, 0.25), 525.6);
/// ```
pub fn running<N: Number>(years: N, kwh_per_year: N, tariff: N) -> N {
    years * kwh_per_year * tariff
}

/// How long a more expensive purchase takes to pay back by what it saves: `more/saved`, none where it saves nothing (never).
///
/// - `more` what it costs beyond the other; less than 0, or 0 with a saving, pays back at once `[money]`
/// - `saved` what it saves a year `[money/year]`
///
/// Returns `[years]`.
///
/// # Source
/// Definition (simple payback time: no interest).
///
/// # Example
/// ```
/// use berthage::model::cost::{break_even, running};
/// // 200 more, 15 W less, 0.30 per kWh.
/// let saved = running(1.0, 15.0 * 8.76, 0.30);
/// assert!((break_even(200.0, saved).unwrap() - 5.0736).abs() < 5e-5);
/// assert_eq!(break_even(200.0, 0.0), None);
/// assert_eq!((break_even(-5.0, 0.0), break_even(0.0, 0.0)), (Some(0.0), None));
/// ```
pub fn break_even(more: f64, saved: f64) -> Option<f64> {
    if saved > 0.0 {
        Some((more / saved).max(0.0))
    } else if more < 0.0 && saved >= 0.0 {
        Some(0.0)
    } else {
        None
    }
}
