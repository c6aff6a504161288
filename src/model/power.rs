//! Power at the wall and energy over a year.

/// Kilowatt-hours a year per watt: 24·365/1000. Source: definition (a year of 365 days).
pub const KWH_PER_WATT_YEAR: f64 = 8.76;

/// Power at the wall at a processor load.
///
/// `watts = idle + (busy − idle)·load + extra`
///
/// - `idle`, `busy` `[W]`; `load` 0–1, held at 1 above; `extra` always there `[W]`
///
/// Returns `[W]`.
///
/// # Source
/// Fan, Weber & Barroso, *Power provisioning for a warehouse-sized computer*, ISCA 2007, linear model.
///
/// # Example
/// ```
/// use berthage::model::power::watts;
/// assert_eq!(watts(100.0, 200.0, 0.0, 0.5), 150.0);
/// ```
#[must_use]
pub fn watts(idle: f64, busy: f64, extra: f64, load: f64) -> f64 {
    idle + (busy - idle) * load.clamp(0.0, 1.0) + extra
}

/// Share of the processor in use.
///
/// `min(1, (demand + base_cores + scan load)/total)`, all in cores of speed 1.
#[must_use]
pub fn load(demand: f64, base_cores: f64, scan_load: f64, total: f64) -> f64 {
    ((demand + base_cores + scan_load) / total).min(1.0)
}

/// Energy of a year at constant power `[kWh]`. An upper bound when the power is the busy hour's.
///
/// # Example
/// ```
/// assert_eq!(berthage::model::power::kwh_per_year(1.0), 8.76);
/// ```
#[must_use]
pub fn kwh_per_year(watts: f64) -> f64 {
    watts * KWH_PER_WATT_YEAR
}
