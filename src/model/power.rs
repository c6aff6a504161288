//! Power at the wall and energy over a year.

use super::number::Number;

/// Kilowatt-hours a year per watt: 24·365/1000. Source: definition (a year of 365 days).
pub const KWH_PER_WATT_YEAR: f64 = 8.76;

/// Power at the wall at a processor load.
///
/// `watts = idle + (busy − idle)·load + extra`
///
/// - `idle` with nothing to do `[W]`, ≥ 0; `busy` with every core busy `[W]`, ≥ idle
/// - `extra` always there: switches, disks outside `[W]`, ≥ 0
/// - `load` share of the processor in use, 0–1, see [`load`]
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
pub fn watts<N: Number>(idle: N, busy: N, extra: N, load: N) -> N {
    idle + (busy - idle) * load + extra
}

/// Power that one core of speed 1 in use adds at the wall: `(busy − idle)/total` `[W]`.
///
/// - `idle`, `busy` `[W]`; `total` throughput of all cores `[cores of speed 1]`, > 0
///
/// # Valid for
/// A load below 1, see [`load`]: power is linear in the guests' demand up to there.
///
/// # Source
/// As [`watts`].
///
/// # Example
/// ```
/// assert_eq!(berthage::model::power::per_core(20.0, 60.0, 8.0), 5.0);
/// ```
pub fn per_core<N: Number>(idle: N, busy: N, total: N) -> N {
    (busy - idle) / total
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
pub fn load<N: Number>(demand: N, base_cores: N, scan_load: N, total: N) -> N {
    N::of(1.0).min((demand + base_cores + scan_load) / total)
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
pub fn kwh_per_year<N: Number>(watts: N) -> N {
    watts * N::of(KWH_PER_WATT_YEAR)
}
