//! The recorded guests drawn at random, whole days kept together: what so many of them would have done.

use rand_pcg::Pcg64;

use super::moments::Rows;
use crate::model::demand::estimated::below;

/// How often guests and a day are drawn.
pub(super) const DRAWS: u64 = 200;
/// A guest is drawn in a day only where it was seen in at least this share of its moments (assumption).
const SEEN: f64 = 0.5;
/// Stream of the generator (of this project).
const STREAM: u128 = 0x6265_7274_6861_6765;

/// What is replayed.
pub(super) struct ReplayInput<'a> {
    /// Demand of each recorded guest at each moment, a table each way of a link, else one.
    pub ways: &'a [Rows],
    /// The profile of each recorded guest.
    pub profiles: &'a [usize],
    /// How many guests of each profile are drawn.
    pub counts: &'a [u64],
    /// Demand that is there at all times.
    pub always: f64,
    /// Moments of a day.
    pub day: usize,
    /// Seed of the generator.
    pub seed: u64,
}

/// A day of the record: the moments at which any guest was seen.
struct Day {
    /// Its guests of each profile, each with its demand each way.
    guests: Vec<Vec<Vec<Vec<f64>>>>,
    moments: usize,
}

impl ReplayInput<'_> {
    /// Total demand at every moment of every draw; none where a profile was not seen for long enough.
    ///
    /// A draw is one day, and of each profile so many of the guests that were seen on it, with replacement: what guests do at
    /// the same time of a day stays together.
    ///
    /// # Source
    /// Resampling of whole blocks of time: H. R. Künsch, "The jackknife and the bootstrap for general stationary
    /// observations", Annals of Statistics 17 (1989) 1217–1241.
    pub fn totals(&self) -> Option<Vec<f64>> {
        let days = self.days();
        if days.is_empty() {
            return None;
        }
        let mut random = Pcg64::new(u128::from(self.seed), STREAM);
        let mut below = |count: usize| below(&mut random, count);
        let mut totals = Vec::new();
        for _ in 0..DRAWS {
            let day = &days[below(days.len())];
            let mut ways = vec![vec![self.always; day.moments]; self.ways.len()];
            for (guests, count) in day.guests.iter().zip(self.counts) {
                let mut times = vec![0_u64; guests.len()];
                (0..*count).for_each(|_| times[below(guests.len())] += 1);
                for (guest, times) in guests.iter().zip(times).filter(|(_, times)| *times > 0) {
                    for (total, row) in ways.iter_mut().zip(guest) {
                        let moments = total.iter_mut().zip(row);
                        moments.for_each(|(total, one)| *total += times as f64 * one);
                    }
                }
            }
            let busier = |moment| ways.iter().map(|way| way[moment]).fold(0.0, f64::max);
            totals.extend((0..day.moments).map(busier));
        }
        Some(totals)
    }

    /// The days on which guests of every profile that is drawn were seen.
    fn days(&self) -> Vec<Day> {
        let moments = self.ways.first().and_then(|rows| rows.first());
        let moments = moments.map_or(0, Vec::len);
        let day = if moments < self.day {
            moments
        } else {
            self.day
        };
        let starts = (0..moments / day.max(1)).map(|number| number * day);
        let days = starts.filter_map(|start| self.day_from(start, day));
        days.collect()
    }

    fn day_from(&self, start: usize, length: usize) -> Option<Day> {
        let seen = |guest: usize, moment: usize| {
            self.ways.iter().all(|rows| !rows[guest][moment].is_nan())
        };
        let all = 0..self.profiles.len();
        let anybody = |moment: &usize| all.clone().any(|guest| seen(guest, *moment));
        let moments: Vec<usize> = (start..start + length).filter(anybody).collect();
        let of_profile = |(profile, count): (usize, &u64)| -> Option<Vec<_>> {
            let own = all.clone().filter(|guest| {
                let often = moments.iter().filter(|moment| seen(*guest, **moment));
                *count > 0
                    && self.profiles[*guest] == profile
                    && often.count() as f64 >= SEEN * moments.len() as f64
            });
            let own = own.map(|guest| {
                let ways = self.ways.iter();
                ways.map(|rows| gaps_filled(&rows[guest], &moments))
                    .collect()
            });
            let own: Vec<Vec<Vec<f64>>> = own.collect();
            (*count == 0 || !own.is_empty()).then_some(own)
        };
        let guests = self.counts.iter().enumerate().map(of_profile);
        let guests = guests.collect::<Option<Vec<_>>>()?;
        (!moments.is_empty()).then_some(Day {
            guests,
            moments: moments.len(),
        })
    }
}

/// The values at some moments; where there is none, the one before it, and at the beginning the first.
fn gaps_filled(row: &[f64], moments: &[usize]) -> Vec<f64> {
    let values = || moments.iter().map(|moment| row[*moment]);
    let mut last = values().find(|one| !one.is_nan()).unwrap_or(0.0);
    let hold = |one: f64| {
        last = if one.is_nan() { last } else { one };
        last
    };
    values().map(hold).collect()
}
