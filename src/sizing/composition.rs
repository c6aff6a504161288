//! Which guests make up N: the split of the mix over its shares.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use crate::lab::Guest;

/// How many guests of each profile run when the mix is multiplied N times.
#[derive(Debug, Clone)]
pub struct Composition {
    fixed: Vec<u64>,
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
    /// Place in the order that settles ties: larger share first, then the name first in byte order.
    rank: usize,
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

/// The next seat a profile could take.
#[derive(Debug)]
struct Bid {
    claim: Claim,
    seats: u64,
}

impl Ord for Bid {
    fn cmp(&self, other: &Self) -> Ordering {
        // share/(2·seats + 1), cross-multiplied; the lower rank wins a tie.
        self.claim
            .share
            .compare_times(2 * other.seats + 1, other.claim.share, 2 * self.seats + 1)
            .then_with(|| other.claim.rank.cmp(&self.claim.rank))
    }
}

impl PartialOrd for Bid {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Bid {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Bid {}

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
                    rank: 0,
                });
            }
        }
        scaling.sort_by(|a, b| {
            b.share.compare_times(1, a.share, 1).then_with(|| {
                guests[a.profile]
                    .name
                    .as_bytes()
                    .cmp(guests[b.profile].name.as_bytes())
            })
        });
        for (rank, claim) in scaling.iter_mut().enumerate() {
            claim.rank = rank;
        }
        let total_share = scaling.iter().map(|claim| claim.value).sum();
        let unit = if scaling.is_empty() {
            Unit::Sets
        } else {
            Unit::Guests
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
    /// House-monotone: one more guest never takes one of another profile away. O(P log P) for P profiles, whatever N.
    ///
    /// # Source
    /// Balinski & Young, *Fair Representation*, 1982.
    pub fn counts(&self, n: u64) -> Vec<u64> {
        if self.unit == Unit::Sets {
            return self
                .fixed
                .iter()
                .map(|count| count.saturating_mul(n))
                .collect();
        }
        let mut counts = self.fixed.clone();
        let mut left = n;
        let mut bids = BinaryHeap::with_capacity(self.scaling.len());
        // Seats whose quotient is surely above the last one given: rounding share/divisor with the divisor of a house
        // smaller by half a seat a profile, and one more against rounding errors, never gives more than N in all.
        let sure_house = n as f64 - 0.5 * self.scaling.len() as f64 - 1.0;
        for claim in &self.scaling {
            let seats = (claim.value / self.total_share * sure_house + 0.5)
                .floor()
                .max(0.0) as u64;
            left -= seats.min(left);
            bids.push(Bid {
                claim: *claim,
                seats,
            });
        }
        while left > 0 {
            let Some(mut bid) = bids.pop() else { break };
            bid.seats += 1;
            left -= 1;
            bids.push(bid);
        }
        for bid in bids {
            counts[bid.claim.profile] += bid.seats;
        }
        counts
    }
}
