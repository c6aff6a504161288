//! What the processor can give, and the guests' demand for it.

use super::number::Number;
use crate::lab::CoreGroup;

/// Throughput of a group of cores in cores of speed 1.
///
/// `cores·speed·(1 + (threads − 1)·smt_gain)`
///
/// - `cores` of the group `[1]`, ≥ 1; `threads` hardware threads per core `[1]`, ≥ 1
/// - `speed` of one core against the reference core that loads are stated in `[1]`, > 0
/// - `smt_gain` throughput gained per further thread of a core, 0–1
/// - `number` makes the number of a key of the group from its name and its value
///
/// Returns `[cores of speed 1]`.
///
/// # Valid for
/// All threads busy; a thread alone on its core gets the whole core.
///
/// # Source
/// Sum over groups: definition. `smt_gain` 0.2–0.3 is common practice, no source; measured gains of 0.22 on average
/// (0.02–0.67): Tuck & Tullsen, PACT 2003.
///
/// # Example
/// ```
/// use berthage::lab::CoreGroup;
/// use berthage::model::processor::throughput;
/// let group = |smt_gain| CoreGroup { cores: 4, threads: 2, speed: 1.0, smt_gain };
/// assert_eq!(throughput(&group(0.25), |_, value| value), 5.0);
/// assert_eq!(throughput(&group(0.0), |_, value| value), 4.0);
/// ```
pub fn throughput<N: Number>(group: &CoreGroup, number: impl Fn(&'static str, f64) -> N) -> N {
    let more_threads = number("threads", group.threads as f64) - N::of(1.0);
    let gain = N::of(1.0) + more_threads * number("smt_gain", group.smt_gain);
    number("cores", group.cores as f64) * number("speed", group.speed) * gain
}

/// What guests can have of the processor, in cores of speed 1.
///
/// `supply = Σ throughput − base_cores − S·scan_cost`
///
/// - `total` Σ throughput of all groups `[cores of speed 1]`
/// - `base_cores` what the host itself uses `[cores of speed 1]`
/// - `scan_load` S·scan_cost, processor time per second of the scanner `[s/s]`, counted as cores of speed 1
///
/// Returns `[cores of speed 1]`; 0 or less where the host has no processor left for guests.
///
/// # Source
/// Definition of this project.
///
/// # Example
/// ```
/// use berthage::model::processor::supply;
/// // 62,500 pages a second of 5.3 µs take a third of a core.
/// assert_eq!(supply(10.0, 0.2, 62_500.0 * 5.3e-6), 9.46875);
/// ```
pub fn supply<N: Number>(total: N, base_cores: N, scan_load: N) -> N {
    total - base_cores - scan_load
}

/// Mean demand of a guest between idle and busy: `idle + a·(busy − idle)`.
///
/// - `idle`, `busy` in any unit; `chance` a, probability of being busy
///
/// # Source
/// Definition.
///
/// # Example
/// ```
/// assert_eq!(berthage::model::processor::mean_of(1.0, 5.0, 0.25), 2.0);
/// ```
pub fn mean_of<N: Number>(idle: N, busy: N, chance: N) -> N {
    idle + chance * (busy - idle)
}

/// Speed of the slowest group, which a busy vCPU may land on `[1]`; infinite for no groups, which the inventory refuses.
///
/// # Example
/// ```
/// use berthage::lab::CoreGroup;
/// let group = |speed| CoreGroup { cores: 4, threads: 1, speed, smt_gain: 0.25 };
/// assert_eq!(berthage::model::processor::slowest(&[group(1.0), group(0.6)]), 0.6);
/// ```
pub fn slowest(groups: &[CoreGroup]) -> f64 {
    groups
        .iter()
        .map(|group| group.speed)
        .fold(f64::INFINITY, f64::min)
}
