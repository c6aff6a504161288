//! Power at the wall and energy over a year.

/// Kilowatt-hours a year per watt: 24·365/1000. Source: definition (a year of 365 days).
pub const KWH_PER_WATT_YEAR: f64 = 8.76;

/// Power at the wall at a processor load.
///
/// `watts = idle + (busy − idle)·load + extra`
///
/// - `idle` with nothing to do `[W]`, ≥ 0; `busy` with every core busy `[W]`, ≥ idle
/// - `extra` always there: switches, disks outside `[W]`, ≥ 0
/// - `load` share of the processor in use, see [`load`]; held within 0–1
///
/// Returns `[W]`.
///
/// # Valid for
/// A load averaged over minutes. Real hosts lie above the line at part load (100 W idle, 200 W busy, half load: 162 W by
/// the same paper's second model against 150 W).
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
/// `load = min(1, (demand + base_cores + S·scan_cost)/total)`
///
/// - `demand` mean demand of the guests `[cores of speed 1]`, ≥ 0
/// - `base_cores` what the host itself uses `[cores of speed 1]`, ≥ 0
/// - `scan_load` S·scan_cost, what the scanner uses `[cores of speed 1]`, ≥ 0
/// - `total` throughput of all cores `[cores of speed 1]`, > 0
///
/// Returns a share, 0–1.
///
/// # Source
/// Utilisation as in Fan, Weber & Barroso, *Power provisioning for a warehouse-sized computer*, ISCA 2007; the terms are
/// those of the processor law of this project.
///
/// # Example
/// ```
/// use berthage::model::power::load;
/// assert_eq!(load(3.0, 0.5, 0.5, 8.0), 0.5);
/// assert_eq!(load(30.0, 0.5, 0.5, 8.0), 1.0);
/// ```
#[must_use]
pub fn load(demand: f64, base_cores: f64, scan_load: f64, total: f64) -> f64 {
    ((demand + base_cores + scan_load) / total).min(1.0)
}

/// Energy of a year at constant power.
///
/// `kWh = watts·8.76`
///
/// - `watts` power at the wall `[W]`, ≥ 0
///
/// Returns `[kWh]`.
///
/// # Valid for
/// A year of 365 days at that power; an upper bound when the power is the busy hour's.
///
/// # Source
/// Definition: 24·365 h/1000.
///
/// # Example
/// ```
/// assert_eq!(berthage::model::power::kwh_per_year(1.0), 8.76);
/// ```
#[must_use]
pub fn kwh_per_year(watts: f64) -> f64 {
    watts * KWH_PER_WATT_YEAR
}
