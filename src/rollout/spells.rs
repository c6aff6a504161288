//! Busy spells: when guests become busy and fall idle again.

use rand_pcg::Pcg32;
use rand_pcg::rand_core::Rng;

use super::options::Spells;
use super::queue::{Due, EventQueue};
use crate::lab::{BusyShare, Lab, parts_of_day};
use crate::model::DAY;

/// Stream of the generator for busy spells, so that other uses of a seed do not repeat it.
const STREAM: u64 = 9;

/// Busy spells of a run.
#[derive(Debug, Clone)]
pub(super) struct SpellPlan {
    /// Where spells come by chance.
    sampling: Option<Sampling>,
    /// Spells asked for that are still to come or to end.
    pub awaited: u64,
}

/// Spells that come by chance.
#[derive(Debug, Clone)]
struct Sampling {
    random: Pcg32,
    /// Mean length of a spell `[s]`.
    mean: f64,
    /// When each part of the day begins `[s]`, the first at 0, and the share of time that each profile is busy in it.
    parts: Vec<(f64, Vec<f64>)>,
    /// Time of the day at which the run begins `[s]`.
    at: f64,
}

impl SpellPlan {
    /// Enters the spells that were asked for into the queue.
    pub(super) fn new(spells: &Spells, lab: &Lab, queue: &mut EventQueue) -> SpellPlan {
        let mut plan = SpellPlan {
            sampling: None,
            awaited: 0,
        };
        match spells {
            Spells::None => {}
            Spells::At(spells) => {
                for spell in spells {
                    queue.push(spell.at_s, Due::Spell(*spell));
                    plan.awaited += 1;
                }
            }
            Spells::Sampled { seed, mean_s, at_s } => {
                let random = Pcg32::new(*seed, STREAM);
                plan.sampling = Some(Sampling::new(random, mean_s.max(1.0), *at_s, lab));
            }
        }
        plan
    }

    /// Whether spells come by chance.
    pub(super) fn by_chance(&self) -> bool {
        self.sampling.is_some()
    }

    /// A spell that was asked for begins for so many guests.
    pub(super) fn begun(&mut self, guests: u64) {
        self.awaited = self.awaited - 1 + guests;
    }

    /// The spell of one guest has ended; whether it was one asked for.
    pub(super) fn ended(&mut self) -> bool {
        let asked_for = self.sampling.is_none();
        if asked_for {
            self.awaited -= 1;
        }
        asked_for
    }

    /// Samples when so many guests of a profile become busy that are idle from `now` on `[s]`.
    pub(super) fn sample(&mut self, profile: usize, guests: u64, now: f64) -> Vec<f64> {
        let mut times = Vec::new();
        if let Some(sampling) = &mut self.sampling {
            times.extend((0..guests).filter_map(|_| sampling.next_busy(profile, now)));
        }
        times
    }

    /// Samples how long a spell lasts `[s]`.
    pub(super) fn sample_length(&mut self) -> f64 {
        self.sampling
            .as_mut()
            .map_or(0.0, |one| exponential(&mut one.random, one.mean))
    }
}

impl Sampling {
    fn new(random: Pcg32, mean: f64, at: Option<f64>, lab: &Lab) -> Sampling {
        let day = at.map_or_else(Vec::new, |_| parts_of_day(&lab.periods));
        let guests = lab.guests.iter().map(|guest| &guest.busy);
        let part = |&(minute, period): &(u32, usize)| {
            let busy = guests.clone().map(|busy| busy.in_period(period));
            (f64::from(minute) * 60.0, busy.collect())
        };
        let mut parts: Vec<(f64, Vec<f64>)> = day.iter().map(part).collect();
        if parts.is_empty() {
            parts.push((0.0, guests.map(BusyShare::most).collect()));
        }
        Sampling {
            random,
            mean,
            parts,
            at: at.unwrap_or(0.0),
        }
    }

    /// When a guest that is idle at `now` becomes busy `[s]`; none where it never does.
    ///
    /// Idle times have in each part of the day the mean that makes the profile's share the share of time busy. A time that
    /// reaches into the next part is as long there as it still would be: what is exponential has no memory.
    fn next_busy(&mut self, profile: usize, now: f64) -> Option<f64> {
        let parts = &self.parts;
        if parts.iter().all(|(_, busy)| busy[profile] <= 0.0) {
            return None;
        }
        let mut left = exponential(&mut self.random, 1.0);
        let clock = (self.at + now) % DAY;
        let mut part = parts.partition_point(|(start, _)| *start <= clock) - 1;
        let (mut time, mut begun) = (now, clock);
        loop {
            let busy = parts[part].1[profile];
            let idle = self.mean * (1.0 - busy).max(0.0) / busy;
            let lasts = match parts.len() {
                1 => f64::INFINITY,
                _ => parts.get(part + 1).map_or(DAY, |(start, _)| *start) - begun,
            };
            if left * idle <= lasts {
                return Some(time + left * idle);
            }
            left -= lasts / idle;
            time += lasts;
            part = (part + 1) % parts.len();
            begun = parts[part].0;
        }
    }
}

/// An exponential time of the given mean `[s]`, never infinite: `−mean·ln(U)`, U in (0, 1].
fn exponential(random: &mut Pcg32, mean: f64) -> f64 {
    let uniform = (f64::from(random.next_u32()) + 1.0) / 4_294_967_296.0;
    -mean * uniform.ln()
}

#[cfg(test)]
mod tests {
    use rand_pcg::Pcg32;
    use rand_pcg::rand_core::Rng;

    use super::{Sampling, exponential};
    use crate::model::DAY;

    /// Share of the time between two hours that a guest is busy, over many days, begun at 22:00; of a profile that is busy
    /// by night (22-6) and else with these shares.
    fn busy_between(night: f64, otherwise: f64, mean: f64, hours: [f64; 2]) -> f64 {
        let mut sampling = Sampling {
            random: Pcg32::new(7, 9),
            mean,
            parts: vec![
                (0.0, vec![night]),
                (6.0 * 3600.0, vec![otherwise]),
                (22.0 * 3600.0, vec![night]),
            ],
            at: 22.0 * 3600.0,
        };
        let (mut now, mut busy, days) = (0.0, 0.0, 2000.0);
        while let Some(start) = sampling.next_busy(0, now).filter(|at| *at < days * DAY) {
            now = start + exponential(&mut sampling.random, mean);
            // The clock shows 22:00 at 0 s; the hours lie within one day of the clock.
            let day = (start / DAY).floor();
            for day in [day, day + 1.0] {
                let from = day * DAY + (hours[0] + 2.0) % 24.0 * 3600.0;
                let to = from + (hours[1] - hours[0]) * 3600.0;
                busy += (now.min(to) - start.max(from)).max(0.0);
            }
        }
        busy / (days * (hours[1] - hours[0]) * 3600.0)
    }

    /// Of a guest that is busy by night: 10 minutes a spell are short against the hours, so that an hour after a border the
    /// share is that of the period (it nears it by e^(−t/(mean·(1−a)))).
    #[test]
    fn guests_are_as_busy_as_in_the_period_that_the_clock_is_in() {
        for (night, otherwise) in [(0.6, 0.03), (0.0, 0.5), (0.2, 0.2)] {
            let by_night = busy_between(night, otherwise, 600.0, [0.0, 6.0]);
            let by_day = busy_between(night, otherwise, 600.0, [8.0, 22.0]);
            assert!((by_night - night).abs() < 0.02, "{night}: {by_night}");
            assert!((by_day - otherwise).abs() < 0.02, "{otherwise}: {by_day}");
        }
        // Always busy by night: one spell after the other, and none that never ends the search.
        assert!(busy_between(1.0, 0.0, 600.0, [0.0, 6.0]) > 0.999);
    }

    #[test]
    fn the_generator_is_the_published_one() {
        // First numbers of the reference implementation's demonstration, seed 42, stream 54 (M. E. O'Neill, HMC-CS-2014-0905).
        let mut random = Pcg32::new(42, 54);
        let numbers = [(); 3].map(|()| random.next_u32());
        assert_eq!(numbers, [0xa15c_02b7, 0x7b47_f409, 0xba1d_3330]);
    }
}
