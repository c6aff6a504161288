//! Which guests make up N: the split of the mix over its shares.

use std::cmp::Ordering;

use crate::lab::Guest;

/// How many guests of each profile run when the mix is multiplied N times.
#[derive(Debug, Clone)]
pub struct Composition {
    fixed: Vec<u64>,
    /// In the order that settles ties: larger share first, then the name first in byte order.
    scaling: Vec<Claim>,
    total_share: f64,
    unit: Unit,
}

/// What N counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Scaling guests, beside those that must run.
    Guests,
    /// Whole sets of the fixed guests: no profile scales.
    Sets,
}

impl Unit {
    /// The word in reports and JSON.
    pub fn word(self) -> &'static str {
        match self {
            Unit::Guests => "guests",
            Unit::Sets => "sets",
        }
    }
}

/// A scaling profile's claim to seats.
#[derive(Debug, Clone, Copy)]
struct Claim {
    profile: usize,
    share: Decimal,
    value: f64,
}

/// A positive number as `digits·10^exponent`, exactly as its shortest decimal writing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Decimal {
    digits: u64,
    exponent: i32,
}

impl Decimal {
    fn of(value: f64) -> Decimal {
        let text = format!("{value:e}");
        let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, "0"));
        let (whole, fraction) = mantissa.split_once('.').unwrap_or((mantissa, ""));
        // Shortest writing of an f64 has at most 17 digits, so both parse.
        let digits = format!("{whole}{fraction}").parse().unwrap_or(1);
        let exponent: i32 = exponent.parse().unwrap_or(0);
        Decimal {
            digits,
            exponent: exponent - fraction.len() as i32,
        }
    }

    /// Compares `self·a` with `other·b` exactly. `a` and `b` are odd seat divisors below 2^22.
    fn compare_times(self, a: u64, other: Decimal, b: u64) -> Ordering {
        let left = u128::from(self.digits) * u128::from(a);
        let right = u128::from(other.digits) * u128::from(b);
        match self.exponent - other.exponent {
            // Unscaled sides stay below 10^24, so a scaled side that overflows u128 is the larger one.
            up @ 0.. => scaled(left, up as u32).map_or(Ordering::Greater, |left| left.cmp(&right)),
            down => {
                scaled(right, down.unsigned_abs()).map_or(Ordering::Less, |right| left.cmp(&right))
            }
        }
    }
}

fn scaled(value: u128, tens: u32) -> Option<u128> {
    10u128
        .checked_pow(tens)
        .and_then(|factor| value.checked_mul(factor))
}

impl Composition {
    /// The composition that the counts and shares of a lab's guests define.
    pub fn new(guests: &[Guest]) -> Composition {
        let mut fixed = vec![0; guests.len()];
        let mut scaling = Vec::new();
        for (profile, guest) in guests.iter().enumerate() {
            fixed[profile] = guest.count;
            if let Some(value) = guest.share {
                scaling.push(Claim {
                    profile,
                    share: Decimal::of(value),
                    value,
                });
            }
        }
        let name = |claim: &Claim| guests[claim.profile].name.as_bytes();
        scaling.sort_by(|a, b| {
            let by_share = b.share.compare_times(1, a.share, 1);
            by_share.then_with(|| name(a).cmp(name(b)))
        });
        let total_share = scaling.iter().map(|claim| claim.value).sum();
        let unit = match scaling.as_slice() {
            [] => Unit::Sets,
            _ => Unit::Guests,
        };
        Composition {
            fixed,
            scaling,
            total_share,
            unit,
        }
    }

    /// What N counts.
    pub fn unit(&self) -> Unit {
        self.unit
    }

    /// Whether fixed guests run beside scaling ones.
    pub fn has_fixed_beside(&self) -> bool {
        self.unit == Unit::Guests && self.fixed.iter().any(|count| *count > 0)
    }

    /// Number of fixed guests of all profiles (of one set).
    pub fn fixed_guests(&self) -> u64 {
        self.fixed.iter().sum()
    }

    /// The guests that must run, one set where nothing scales; none where no guest must.
    pub fn running(&self) -> Option<Vec<u64>> {
        (self.fixed_guests() > 0).then(|| self.fixed.clone())
    }

    /// Guests of each profile at N, in the order of the lab.
    ///
    /// Guests that must run are there at every N. Scaling guests are split by the Webster / Sainte-Laguë divisor method: the profile with the highest
    /// `share/(2·seats + 1)` takes the next seat; ties go to the larger share, then to the name first in byte order.
    /// House-monotone: one more guest never takes one of another profile away. O(P²) for P profiles, whatever N.
    ///
    /// # Source
    /// Balinski & Young, *Fair Representation*, 1982.
    pub fn counts(&self, n: u64) -> Vec<u64> {
        if self.unit == Unit::Sets {
            let sets = self.fixed.iter().map(|count| count.saturating_mul(n));
            return sets.collect();
        }
        // Seats whose quotient is surely above the last one given: rounding share/divisor with the divisor of a house
        // smaller by half a seat a profile, and one more against rounding errors, never gives more than N in all.
        let sure_house = n as f64 - 0.5 * self.scaling.len() as f64 - 1.0;
        let sure = |claim: &Claim| -> u64 {
            let seats = claim.value / self.total_share * sure_house + 0.5;
            seats.floor().max(0.0) as u64
        };
        let mut seats: Vec<u64> = self.scaling.iter().map(sure).collect();
        // Whether share/(2·seats + 1) of a profile is above that of another, cross-multiplied.
        let is_above = |one: usize, other: usize, seats: &[u64]| {
            let [own, others] = [one, other].map(|at| (self.scaling[at].share, 2 * seats[at] + 1));
            own.0.compare_times(others.1, others.0, own.1).is_gt()
        };
        for _ in seats.iter().sum::<u64>()..n {
            let above = |best, one| {
                if is_above(one, best, &seats) {
                    one
                } else {
                    best
                }
            };
            if let Some(next) = (0..seats.len()).reduce(above) {
                seats[next] += 1;
            }
        }
        let mut counts = self.fixed.clone();
        for (claim, seats) in self.scaling.iter().zip(seats) {
            counts[claim.profile] += seats;
        }
        counts
    }
}
