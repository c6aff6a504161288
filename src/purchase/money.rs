//! Money that may not be known.

use crate::lab::Lab;
use crate::model::{cost, power};

/// A number to compare by; what is not known comes last.
pub(super) fn or_infinite(value: Option<f64>) -> f64 {
    value.unwrap_or(f64::INFINITY)
}

/// Whether a value is within a limit; what is not known is within none.
pub(super) fn is_within(value: Option<f64>, limit: Option<f64>) -> bool {
    limit.is_none_or(|limit| or_infinite(value) <= limit)
}

/// What the energy of a year costs at this power `[W]`; none where the lab has no tariff.
pub(super) fn energy_per_year(lab: &Lab, watts: f64) -> Option<f64> {
    let kwh = power::kwh_per_year(watts);
    lab.tariff.map(|tariff| cost::running(1.0, kwh, tariff))
}
