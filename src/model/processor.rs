//! What the processor can give, and what guests ask of it.

use crate::inventory::lab::CoreGroup;

/// Throughput of a group of cores in cores of speed 1.
///
/// `cores·speed·(1 + (threads − 1)·smt_gain)`
///
/// - `group` cores, speed against the reference core, hardware threads per core, gain per further thread
///
/// # Source
/// Sum over groups: definition. `smt_gain` 0.2–0.3 is common practice, no source; measured means 1.22 (1.02–1.67):
/// Tuck & Tullsen, *Initial observations of the simultaneous multithreading Pentium 4 processor*, PACT 2003.
///
/// # Example
/// ```
/// use berthage::inventory::lab::CoreGroup;
/// use berthage::model::processor::throughput;
/// let group = |smt_gain| CoreGroup { cores: 4, threads: 2, speed: 1.0, smt_gain };
/// assert_eq!(throughput(&group(0.25)), 5.0);
/// assert_eq!(throughput(&group(0.0)), 4.0);
/// ```
#[must_use]
pub fn throughput(group: &CoreGroup) -> f64 {
    group.cores as f64 * group.speed * (1.0 + (group.threads - 1) as f64 * group.smt_gain)
}

/// What guests can have of the processor, in cores of speed 1.
///
/// `supply = Σ throughput − base_cores − S·scan_cost`
///
/// - `total` Σ throughput of all groups
/// - `base_cores` what the host itself uses
/// - `scan_load` S·scan_cost, processor time per second of the scanner
///
/// # Source
/// Definition of this project.
#[must_use]
pub fn supply(total: f64, base_cores: f64, scan_load: f64) -> f64 {
    total - base_cores - scan_load
}

/// Number of hardware threads.
#[must_use]
pub fn hardware_threads(groups: &[CoreGroup]) -> u64 {
    groups.iter().map(|group| group.cores * group.threads).sum()
}

/// Speed of the slowest group, which a busy vCPU may land on.
#[must_use]
pub fn slowest(groups: &[CoreGroup]) -> f64 {
    groups
        .iter()
        .map(|group| group.speed)
        .fold(f64::INFINITY, f64::min)
}
