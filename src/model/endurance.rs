//! How long disks last under writes.

use super::number::Number;

/// What multiplies a guest's written byte on its way into the flash: three factors, three meters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WriteFactors<N = f64> {
    /// Device bytes per guest byte in the file system (meter: the host's block device counters over the guests').
    pub file_system: N,
    /// Device bytes per byte of the layout (meter: all devices' counters over the pool's).
    pub layout: N,
    /// Real over rated write amplification inside the device (meter: flash writes over host writes in the device log).
    pub device: N,
}

impl<N: Number> WriteFactors<N> {
    /// All three together.
    ///
    /// # Example
    /// ```
    /// use berthage::model::endurance::WriteFactors;
    /// let factors = WriteFactors { file_system: 5.0, layout: 2.0, device: 1.5 };
    /// assert_eq!(factors.product(), 15.0);
    /// ```
    pub fn product(&self) -> N {
        self.file_system * self.layout * self.device
    }
}

/// How long a pool's rated writes last.
///
/// `life = k·(endurance − already_written) / (written·file system·layout·wa_ratio)`
///
/// - `left` k·(endurance − already_written), rated writes left of all devices `[B]`
/// - `written` by guests and host `[B/s]`, ≥ 0
/// - `factors` file system, layout, wa_ratio, each > 0 `[1]`
///
/// Returns `[s]`, infinite when nothing is written, 0 when nothing is left. Endurance is host terabytes written under
/// the rating workload, so only the *ratio* of real to rated write amplification is applied.
///
/// # Valid for
/// Writes spread evenly over the devices. Devices last longer or shorter than their rating; past it the maker promises
/// nothing.
///
/// # Source
/// JEDEC JESD218 (endurance rating), JESD219 (workload).
///
/// # Example
/// ```
/// use berthage::model::endurance::{WriteFactors, life};
/// use berthage::model::{DAY, YEAR};
/// let plain = WriteFactors { file_system: 1.0, layout: 1.0, device: 1.0 };
/// let years = life(600e12, 40e9 / DAY, plain) / YEAR;
/// assert!((years - 41.0678).abs() < 5e-5);
/// ```
pub fn life<N: Number>(left: N, written: N, factors: WriteFactors<N>) -> N {
    let left = N::of(0.0).max(left);
    if left.is_positive() {
        left / (written * factors.product())
    } else {
        N::of(0.0)
    }
}

/// Rated writes left of all devices: `k·(endurance − already_written)` `[B]`; below 0 where they are used up.
///
/// # Source
/// Definition.
///
/// # Example
/// ```
/// assert_eq!(berthage::model::endurance::left(4.0, 600e12, 20e12), 2320e12);
/// ```
pub fn left<N: Number>(devices: N, endurance: N, already_written: N) -> N {
    devices * (endurance - already_written)
}

/// Most that guests and host may write for a pool to last.
///
/// `limit = left / (service_life·file system·layout·wa_ratio)`, the inverse of [`life`]
///
/// - `left` rated writes left of all devices `[B]`; nothing may be written where it is 0 or less
/// - `service_life` `[s]`, > 0
/// - `factors` file system, layout, wa_ratio, each > 0 `[1]`
///
/// Returns `[B/s]`.
///
/// # Source
/// JEDEC JESD218.
///
/// # Example
/// ```
/// use berthage::model::endurance::{WriteFactors, most_written};
/// use berthage::model::{DAY, YEAR};
/// // 1000 TB left over 5 years, each byte written 5 times: 109.514 GB a day.
/// let five = WriteFactors { file_system: 2.0, layout: 2.0, device: 1.25 };
/// assert!((most_written(1000e12, 5.0 * YEAR, five) * DAY / 1e9 - 109.514).abs() < 5e-4);
/// ```
pub fn most_written<N: Number>(left: N, service_life: N, factors: WriteFactors<N>) -> N {
    N::of(0.0).max(left) / (service_life * factors.product())
}

/// Write amplification inside a flash device under uniform random writes and greedy cleaning.
///
/// `A = (1+ρ) / (1+ρ + W(−(1+ρ)·e^{−(1+ρ)}))`, W the principal branch of Lambert's function, for many pages a block
///
/// - `spare` ρ, over-provisioning: (physical − used)/used, > 0
///
/// Returns A ≥ 1 `[1]`. Shown beside `wa_ratio` as a reference only: the rating holds part of it already.
///
/// # Valid for
/// Uniform random writes over the whole device; a spare below 1e-6 is taken as 1e-6.
///
/// # Source
/// Xiang & Kurkoski, *An improved analytical expression for write amplification in NAND flash*, ICNC 2012:
/// ρ = 0.3 gives 2.36 (simulation 2.35).
///
/// # Example
/// ```
/// use berthage::model::endurance::write_amplification;
/// assert!((write_amplification(0.3) - 2.36).abs() < 0.005);
/// // Amplification 2 needs an over-provisioning of 2·ln 2 − 1.
/// assert!((write_amplification(2.0 * 2f64.ln() - 1.0) - 2.0).abs() < 1e-9);
/// ```
pub fn write_amplification(spare: f64) -> f64 {
    let alpha = 1.0 + spare.max(1e-6);
    // y = −W(−α·e^{−α}) is the root of y·e^{−y} = α·e^{−α} in (0, 1): bisect, the left side grows there.
    let target = alpha * (-alpha).exp();
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if middle * (-middle).exp() < target {
            low = middle;
        } else {
            high = middle;
        }
    }
    alpha / (alpha - 0.5 * (low + high))
}

#[cfg(test)]
mod tests {
    use super::{WriteFactors, life, most_written};
    use crate::model::{DAY, YEAR};

    #[test]
    fn life_and_limit_are_inverse() {
        let factors = WriteFactors {
            file_system: 2.0,
            layout: 2.0,
            device: 1.3,
        };
        let limit = most_written(1200e12, 5.0 * YEAR, factors);
        assert!((life(1200e12, limit, factors) / (5.0 * YEAR) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn worn_out_is_zero_and_nothing_written_is_for_ever() {
        let factors = WriteFactors {
            file_system: 1.0,
            layout: 1.0,
            device: 1.0,
        };
        assert_eq!(life(0.0, 40e9 / DAY, factors), 0.0);
        assert_eq!(life(-1.0, 0.0, factors), 0.0);
        assert_eq!(life(1.0, 0.0, factors), f64::INFINITY);
        assert_eq!(most_written(-5.0, YEAR, factors), 0.0);
    }

    #[test]
    fn published_life_at_40_gb_a_day() {
        // 600 TB at 40 GB/day last 41.0678 years of 365.25 d: computed from the definition.
        let factors = WriteFactors {
            file_system: 1.0,
            layout: 1.0,
            device: 1.0,
        };
        assert!((life(600e12, 40e9 / DAY, factors) / YEAR - 41.0678).abs() < 5e-5);
    }
}
