//! Disk pools: what a layout leaves to use, what a small write costs, how full a pool gets and when.

use super::number::Number;
use crate::lab::Layout;

/// What a layout costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayoutCost {
    /// Devices' worth of usable space.
    pub usable_devices: f64,
    /// Device reads per small write (read-modify-write).
    pub read_backs: f64,
    /// Device writes per small write; also device bytes written per byte.
    pub writes: f64,
}

/// Usable devices, device operations per small write and device bytes per byte of a layout over `devices` devices.
///
/// | layout | usable | reads + writes per small write | device bytes per byte |
/// |---|---|---|---|
/// | stripe | k | 0 + 1 | 1 |
/// | mirror of w | k/w | 0 + w | w |
/// | parity1 | k − 1 | 2 + 2 | 2 |
/// | parity2 | k − 2 | 3 + 3 | 3 |
///
/// - `devices` k `[1]`, a multiple of w for a mirror, ≥ 3 for parity1, ≥ 4 for parity2 (the inventory refuses others)
///
/// # Valid for
/// Small writes by read-modify-write; a write of a whole stripe needs no reads.
///
/// # Source
/// Patterson, Gibson & Katz, *A case for redundant arrays of inexpensive disks*, SIGMOD 1988; Chen et al., *RAID:
/// high-performance, reliable secondary storage*, ACM Computing Surveys 1994.
///
/// # Example
/// ```
/// use berthage::lab::Layout;
/// use berthage::model::disk::layout_cost;
/// let parity2 = layout_cost(Layout::Parity2, 6);
/// assert_eq!((parity2.usable_devices, parity2.read_backs, parity2.writes), (4.0, 3.0, 3.0));
/// ```
pub fn layout_cost(layout: Layout, devices: u64) -> LayoutCost {
    let devices = devices as f64;
    let (usable_devices, read_backs, writes) = match layout {
        Layout::Stripe => (devices, 0.0, 1.0),
        Layout::Mirror { ways } => (devices / ways as f64, 0.0, ways as f64),
        Layout::Parity1 => (devices - 1.0, 2.0, 2.0),
        Layout::Parity2 => (devices - 2.0, 3.0, 3.0),
    };
    LayoutCost {
        usable_devices,
        read_backs,
        writes,
    }
}

/// How fast the devices of a pool work together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PoolSpeed<N = f64> {
    /// k devices.
    pub devices: N,
    /// Steady small reads of one device `[1/s]`.
    pub read_iops: N,
    /// Steady small writes of one device `[1/s]`.
    pub write_iops: N,
}

/// Share of time that a pool's devices are busy.
///
/// `(reads + writes·read_backs)/(k·read_iops) + writes·device_writes/(k·write_iops)`
///
/// - `reads`, `writes` small operations of the guests `[1/s]`, ≥ 0
/// - `cost` device operations per small write, see [`layout_cost`]
/// - `speed` k devices of `read_iops` and `write_iops` `[1/s]` each, all > 0
///
/// Returns a share; linear in the operations, so shares of guests add up, and above 1 it is more than the pool can do.
///
/// # Valid for
/// Operations spread evenly over the devices, at the queue depth and flush rate that the speeds were measured with.
///
/// # Source
/// Patterson, Gibson & Katz 1988 for the operations; utilisation law (Denning & Buzen, *The operational analysis of
/// queueing network models*, 1978) for the share.
///
/// # Example
/// ```
/// use berthage::lab::Layout;
/// use berthage::model::disk::{PoolSpeed, busy_share, layout_cost};
/// // 4 disks of 200/s under 70 % reads give 320 operations a second with two parities: there they are all busy.
/// let speed = PoolSpeed { devices: 4.0, read_iops: 200.0, write_iops: 200.0 };
/// let busy = busy_share(0.7 * 320.0, 0.3 * 320.0, layout_cost(Layout::Parity2, 4), speed);
/// assert!((busy - 1.0).abs() < 1e-12);
/// ```
pub fn busy_share<N: Number>(reads: N, writes: N, cost: LayoutCost, speed: PoolSpeed<N>) -> N {
    let all_reads = reads + writes * N::of(cost.read_backs);
    all_reads / (speed.devices * speed.read_iops)
        + writes * N::of(cost.writes) / (speed.devices * speed.write_iops)
}

/// Space that a pool leaves to use: usable devices·capacity `[B]`.
///
/// - `cost` see [`layout_cost`]; `capacity` of one device `[B]`
///
/// # Source
/// Patterson, Gibson & Katz 1988.
///
/// # Example
/// ```
/// use berthage::lab::Layout;
/// use berthage::model::disk::{layout_cost, usable_space};
/// assert_eq!(usable_space(layout_cost(Layout::Mirror { ways: 2 }, 4), 2e12), 4e12);
/// ```
pub fn usable_space<N: Number>(cost: LayoutCost, capacity: N) -> N {
    N::of(cost.usable_devices) * capacity
}

/// What a pool holds, or what is written to it: the host's own, and that of each guest: `base + Σ n·each`.
///
/// - `base` `[B]` or `[B/s]`; `guests` (n, each) of each profile in the same unit
///
/// # Source
/// Definition.
///
/// # Example
/// ```
/// assert_eq!(berthage::model::disk::with_guests(10.0, [(3.0, 5.0), (1.0, 2.0)]), 27.0);
/// ```
pub fn with_guests<N: Number>(base: N, guests: impl IntoIterator<Item = (N, N)>) -> N {
    base + N::sum(guests.into_iter().map(|(count, each)| count * each))
}

/// Disk that a guest's own files take after `horizon`.
///
/// `min(disk_size, disk_used + disk_grows·horizon)`; the whole size at once when freed blocks are not given back.
///
/// - `used` disk_used, taken now `[B]`, 0 … size
/// - `size` disk_size, promised `[B]`
/// - `grows` disk_grows `[B/s]`, ≥ 0
/// - `horizon` how far ahead `[s]`, ≥ 0
/// - `trims` whether freed blocks come back; without, every block is written once sooner or later
///
/// Returns `[B]`.
///
/// # Source
/// Definition of this project.
///
/// # Example
/// ```
/// use berthage::model::DAY;
/// use berthage::model::disk::{Trims, guest_used};
/// // 10 GB of 50 that grow by 1 GB a day.
/// let after = |days: f64, trims| guest_used(10e9, 50e9, 1e9, days, trims);
/// assert_eq!(after(20.0, Trims::Yes), 30e9);
/// assert_eq!(after(100.0, Trims::Yes), 50e9);
/// assert_eq!(after(0.0, Trims::No), 50e9);
/// assert_eq!(guest_used(10e9, 50e9, 1e9 / DAY, 20.0 * DAY, Trims::Yes).round(), 30e9);
/// ```
pub fn guest_used<N: Number>(used: N, size: N, grows: N, horizon: N, trims: Trims) -> N {
    match trims {
        Trims::Yes => size.min(used + grows * horizon),
        Trims::No => size,
    }
}

/// Whether a guest gives freed blocks back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trims {
    /// Freed blocks return to the pool.
    Yes,
    /// The disk grows to its whole size.
    No,
}

/// When growing disks fill a space, from now on.
///
/// Each disk grows at its rate until its own size; the answer is exact for that piecewise straight line.
///
/// - `space` left for growth now `[B]`, 0 or less when full
/// - `disks` (room until its size `[B]`, rate `[B/s]`) of each kind, both for all guests of the kind together
///
/// Returns `[s]`; 0 when full already, none when never.
///
/// # Source
/// Definition of this project.
///
/// # Example
/// ```
/// use berthage::model::disk::full_in;
/// assert_eq!(full_in(100.0, &[(50.0, 1.0), (200.0, 2.0)]), Some(100.0 / 3.0));
/// assert_eq!(full_in(160.0, &[(50.0, 1.0), (200.0, 2.0)]), Some(55.0));
/// assert_eq!(full_in(300.0, &[(50.0, 1.0), (200.0, 2.0)]), None);
/// // A disk that does not grow, or cannot, changes nothing.
/// assert_eq!(full_in(160.0, &[(50.0, 1.0), (200.0, 2.0), (9.0, 0.0), (0.0, 9.0)]), Some(55.0));
/// assert_eq!(full_in(300.0, &[(50.0, 1.0), (9.0, 0.0), (0.0, 9.0)]), None);
/// ```
pub fn full_in(space: f64, disks: &[(f64, f64)]) -> Option<f64> {
    if space <= 0.0 {
        return Some(0.0);
    }
    let mut ends: Vec<(f64, f64)> = disks
        .iter()
        .filter(|(room, rate)| *room > 0.0 && *rate > 0.0)
        .map(|(room, rate)| (room / rate, *rate))
        .collect();
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut rate: f64 = ends.iter().map(|(_, rate)| rate).sum();
    let (mut left, mut now) = (space, 0.0);
    for (end, own) in ends {
        let grown = rate * (end - now);
        if grown >= left {
            return Some(now + left / rate);
        }
        left -= grown;
        now = end;
        rate -= own;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::{PoolSpeed, busy_share, layout_cost};
    use crate::lab::Layout;

    #[test]
    fn four_disks_under_70_percent_reads() {
        // Penalties 1/2/4/6: Patterson, Gibson & Katz 1988; Stallings, Operating Systems, §6.2 of the answer sheet.
        let speed = PoolSpeed {
            devices: 4.0,
            read_iops: 200.0,
            write_iops: 200.0,
        };
        for (layout, expected) in [
            (Layout::Stripe, 800.0),
            (Layout::Mirror { ways: 2 }, 615.384615385),
            (Layout::Parity1, 421.052631579),
            (Layout::Parity2, 320.0),
        ] {
            let per_operation = busy_share(0.7, 0.3, layout_cost(layout, 4), speed);
            assert!((1.0 / per_operation - expected).abs() < 5e-10, "{layout:?}");
        }
    }

    #[test]
    fn usable_space_of_layouts() {
        // Patterson, Gibson & Katz 1988.
        assert_eq!(layout_cost(Layout::Stripe, 6).usable_devices, 6.0);
        assert_eq!(
            layout_cost(Layout::Mirror { ways: 3 }, 6).usable_devices,
            2.0
        );
        assert_eq!(layout_cost(Layout::Parity1, 6).usable_devices, 5.0);
        assert_eq!(layout_cost(Layout::Parity2, 6).usable_devices, 4.0);
    }
}
