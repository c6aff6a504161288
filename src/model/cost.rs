//! Money: what a host costs to run and to own.

/// Running cost over a horizon: `years·kWh·tariff`. In the lab's currency.
#[must_use]
pub fn running(years: f64, kwh_per_year: f64, tariff: f64) -> f64 {
    years * kwh_per_year * tariff
}
