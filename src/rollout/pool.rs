//! Disk pools in time: clones written through them, boot reads, how busy they are.

use super::guests::Guests;
use super::profile::Profile;
use crate::lab::Pool;
use crate::model::disk::{LayoutCost, PoolSpeed, busy_share, layout_cost};

/// The pools of a host.
#[derive(Debug, Clone)]
pub(super) struct Pools(Vec<PoolState>);

impl Pools {
    pub(super) fn new(pools: &[Pool]) -> Pools {
        Pools(pools.iter().map(PoolState::new).collect())
    }

    /// Bytes per second written to the first one in the long run, which swap is on; none where not given.
    pub(super) fn swap_speed(&self) -> Option<f64> {
        self.0.first().and_then(|pool| pool.sustained_speed)
    }

    /// Busy share of the busiest one.
    pub(super) fn busy(&self, now: f64) -> f64 {
        let busy = |pool: &PoolState| match now < pool.writing_until {
            true => 1.0,
            false => pool.asked.min(1.0),
        };
        self.0.iter().map(busy).fold(0.0, f64::max)
    }

    /// Share of the small operations asked for that a pool can do.
    pub(super) fn share(&self, pool: usize) -> f64 {
        1.0 / self.0[pool].asked.max(1.0)
    }

    /// Time that the pool takes longest that reads so much for each guest of these counts, by profile `[s]`; none where no
    /// pool has a speed.
    pub(super) fn reading(&self, profiles: &[Profile], counts: &[u64]) -> Option<f64> {
        let times = self.0.iter().enumerate().filter_map(|(index, pool)| {
            let own = profiles.iter().zip(counts);
            let own = own.filter(|(profile, _)| profile.pool == Some(index));
            let reads: f64 = own.map(|(profile, n)| *n as f64 * profile.boot_reads).sum();
            Some(busy_share(reads, 0.0, pool.cost, pool.speed?))
        });
        times.reduce(f64::max)
    }

    /// Asks for the small operations of the guests.
    pub(super) fn serve(&mut self, guests: &Guests) {
        for (index, pool) in self.0.iter_mut().enumerate() {
            let [mut reads, mut writes] = [0.0; 2];
            let on_it = guests.by_profile();
            for (profile, sums) in on_it.filter(|(profile, _)| profile.pool == Some(index)) {
                reads += sums.asked(&profile.reads);
                writes += sums.asked(&profile.writes);
            }
            let busy = |speed| busy_share(reads, writes, pool.cost, speed);
            pool.asked = pool.speed.map_or(0.0, busy);
        }
    }

    /// Writes the clones of guests of these profiles; returns how long each pool takes that has a speed `[s]`.
    pub(super) fn write_clones(
        &mut self,
        profiles: &[usize],
        guests: &Guests,
        now: f64,
    ) -> Vec<f64> {
        let mut bytes = vec![0.0; self.0.len()];
        for profile in profiles.iter().map(|profile| &guests.profiles[*profile]) {
            if let Some(pool) = profile.pool {
                bytes[pool] += profile.cloned;
            }
        }
        let pools = self.0.iter_mut().zip(bytes);
        pools
            .filter(|(_, bytes)| *bytes > 0.0)
            .filter_map(|(pool, bytes)| pool.write(bytes, now))
            .collect()
    }
}

/// A pool at one moment.
#[derive(Debug, Clone)]
struct PoolState {
    /// Bytes per second written to the pool in its fast phase; none where not given.
    burst_speed: Option<f64>,
    /// Bytes per second after that.
    sustained_speed: Option<f64>,
    /// Bytes that the fast phase takes, and those it takes now.
    burst: f64,
    burst_left: f64,
    /// Small operations; none where not given.
    speed: Option<PoolSpeed>,
    cost: LayoutCost,
    /// Clones are being written until then `[s]`.
    writing_until: f64,
    /// Small operations asked for over those it can do.
    asked: f64,
}

impl PoolState {
    fn new(pool: &Pool) -> PoolState {
        let cost = layout_cost(pool.layout, pool.devices);
        let devices = pool.devices as f64;
        let together = devices / cost.writes;
        let sustained = pool.sustained_speed.or(pool.burst_speed);
        let burst = pool.burst.filter(|_| pool.burst_speed.is_some());
        let burst = burst.unwrap_or(0.0) * together;
        let speed = pool.read_iops.or(pool.write_iops).map(|_| PoolSpeed {
            devices,
            read_iops: pool.read_iops.unwrap_or(f64::INFINITY),
            write_iops: pool.write_iops.unwrap_or(f64::INFINITY),
        });
        PoolState {
            burst_speed: pool.burst_speed.map(|speed| speed * together),
            sustained_speed: sustained.map(|speed| speed * together),
            burst,
            burst_left: burst,
            speed,
            cost,
            writing_until: 0.0,
            asked: 0.0,
        }
    }

    /// Writes clones from `now` on; returns how long that takes `[s]`, none where no speed is given.
    ///
    /// `min(B, burst)/burst_speed + max(0, B − burst)/sustained_speed`. Between two batches the fast phase recovers at
    /// the sustained speed (assumption).
    fn write(&mut self, bytes: f64, now: f64) -> Option<f64> {
        let sustained = self.sustained_speed?;
        let idle = (now - self.writing_until).max(0.0);
        self.burst_left = (self.burst_left + idle * sustained).min(self.burst);
        let fast = bytes.min(self.burst_left);
        self.burst_left -= fast;
        let time = fast / self.burst_speed.unwrap_or(sustained) + (bytes - fast) / sustained;
        self.writing_until = now + time;
        Some(time)
    }
}

#[cfg(test)]
mod tests {
    use super::{PoolState, Pools};
    use crate::lab::{Layout, Pool};

    fn pool() -> Pool {
        Pool {
            name: String::from("pool"),
            devices: 2,
            capacity: 1e12,
            layout: Layout::Mirror { ways: 2 },
            read_iops: Some(1000.0),
            write_iops: None,
            sustained_speed: Some(0.5e9),
            burst: Some(280e9),
            burst_speed: Some(4.5e9),
            endurance: None,
            already_written: 0.0,
            wa_ratio: 1.0,
            amplification: 1.0,
            base_used: 0.0,
            base_written: 0.0,
            capacity_prices: Vec::new(),
            price: None,
        }
    }

    #[test]
    fn fast_phase_first_then_sustained() {
        // The fast phase of a published drive review, 280 GB at 4.5 GB/s, then 0.5 GB/s; a mirror writes all of it twice.
        let mut state = PoolState::new(&pool());
        let first = state.write(300e9, 0.0).unwrap_or(0.0);
        assert!((first - (280.0 / 4.5 + 20.0 / 0.5)).abs() < 1e-9);
        // 10 s later the fast phase takes 5 GB again.
        let next = state.write(10e9, first + 10.0).unwrap_or(0.0);
        assert!((next - (5.0 / 4.5 + 5.0 / 0.5)).abs() < 1e-9);
    }

    #[test]
    fn no_speed_no_time() {
        let mut state = PoolState::new(&Pool {
            sustained_speed: None,
            burst_speed: None,
            ..pool()
        });
        assert_eq!(state.write(1e9, 0.0), None);
        state.asked = 0.75;
        let pools = Pools(vec![state]);
        assert_eq!((pools.share(0), pools.busy(1.0)), (1.0, 0.75));
    }
}
