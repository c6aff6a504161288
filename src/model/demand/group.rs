//! Guests that are busy with the same chance and then need the same extra.

use super::normal::{below, quantile};

/// Guests of one profile, as far as their being busy goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Busy {
    /// Number of guests n.
    pub guests: u64,
    /// Probability a that a guest is busy, 0–1.
    pub probability: f64,
    /// Extra demand Δ of a busy guest, 0 or more, in any unit; that of the limits.
    pub extra: f64,
}

/// Profiles with equal probability and equal extra, merged: together one binomial.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Group {
    /// Number of guests n, at least 1.
    pub guests: u64,
    /// Probability a of a guest being busy, 0 < a < 1.
    pub probability: f64,
    /// Extra demand Δ of a busy guest, above 0.
    pub extra: f64,
    /// Φ⁻¹(a).
    pub score: f64,
}

/// The chance of a guest being busy and of being quiet at one value of the common factor.
///
/// Both are kept because the small one of the two would be lost in `1 − x`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Chance {
    /// a(z).
    pub busy: f64,
    /// 1 − a(z).
    pub quiet: f64,
}

impl Group {
    /// Extra demand when all are busy.
    pub fn most(&self) -> f64 {
        self.guests as f64 * self.extra
    }

    /// The chance at the argument x of Φ.
    pub fn chance_at(x: f64) -> Chance {
        let small = below(-x.abs());
        if x < 0.0 {
            Chance {
                busy: small,
                quiet: 1.0 - small,
            }
        } else {
            Chance {
                busy: 1.0 - small,
                quiet: small,
            }
        }
    }
}

/// The groups in ascending order of their extra, and what the guests that are always busy add.
///
/// Guests that are never busy, or need nothing more when they are, are left out.
pub(super) fn merge(busy: &[Busy]) -> (Vec<Group>, f64) {
    let mut certain = 0.0;
    let mut groups: Vec<Group> = Vec::with_capacity(busy.len());
    for profile in busy {
        let random = profile.guests > 0 && profile.probability > 0.0 && profile.extra > 0.0;
        if random && profile.probability >= 1.0 {
            certain += profile.guests as f64 * profile.extra;
        } else if random {
            groups.push(Group {
                guests: profile.guests,
                probability: profile.probability,
                extra: profile.extra,
                score: quantile(profile.probability),
            });
        }
    }
    groups.sort_by(|one, other| {
        (one.extra.total_cmp(&other.extra)).then(one.probability.total_cmp(&other.probability))
    });
    groups.dedup_by(|next, kept| {
        let equal = next.extra == kept.extra && next.probability == kept.probability;
        if equal {
            kept.guests = kept.guests.saturating_add(next.guests);
        }
        equal
    });
    (groups, certain)
}

/// Guests of one profile, in a line.
#[cfg(test)]
pub(super) fn busy(guests: u64, probability: f64, extra: f64) -> Busy {
    Busy {
        guests,
        probability,
        extra,
    }
}

#[cfg(test)]
mod tests {
    use super::busy;
    use super::merge;

    #[test]
    fn what_is_random_is_kept_and_what_is_certain_added() {
        let (groups, certain) = merge(&[
            busy(3, 1.0, 2.5),
            busy(7, 0.2, 4.0),
            busy(0, 0.2, 4.0),
            busy(0, 1.0, 9.0),
            busy(0, 0.7, 8.0),
            busy(5, 0.0, 3.0),
            busy(5, 0.3, 0.0),
            busy(2, 0.5, 1.0),
            busy(2, 1.0, 4.0),
            busy(1, 0.2, 4.0),
            busy(1, 0.1, 4.0),
        ]);
        let kept: Vec<_> = groups
            .iter()
            .map(|group| (group.guests, group.probability, group.extra))
            .collect();
        assert_eq!(kept, [(2, 0.5, 1.0), (1, 0.1, 4.0), (8, 0.2, 4.0)]);
        assert_eq!(certain, 7.5 + 8.0);
    }
}
