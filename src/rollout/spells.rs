//! Busy spells: when guests become busy and fall idle again.

use rand_pcg::Pcg32;
use rand_pcg::rand_core::Rng;

use super::options::Spells;
use super::profile::Profile;
use super::queue::{Due, EventQueue};

/// Stream of the generator for busy spells, so that other uses of a seed do not repeat it.
const STREAM: u64 = 9;

/// Busy spells of a run.
#[derive(Debug, Clone)]
pub(super) struct SpellPlan {
    /// Generator and mean length of a spell `[s]`, where spells come by chance.
    sampling: Option<(Pcg32, f64)>,
    /// Spells asked for that are still to come or to end.
    pub awaited: u64,
}

impl SpellPlan {
    /// Enters the spells that were asked for into the queue.
    pub(super) fn new(spells: &Spells, queue: &mut EventQueue) -> SpellPlan {
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
            Spells::Sampled { seed, mean_s } => {
                plan.sampling = Some((Pcg32::new(*seed, STREAM), mean_s.max(1.0)));
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

    /// Samples when guests of a cohort become busy that are idle from `now` on.
    ///
    /// Idle times have the mean that makes `busy` the share of time busy.
    pub(super) fn sample(
        &mut self,
        cohort: usize,
        guests: u64,
        profile: &Profile,
        now: f64,
        queue: &mut EventQueue,
    ) {
        let Some((random, mean)) = &mut self.sampling else {
            return;
        };
        if profile.busy > 0.0 {
            let idle = *mean * (1.0 - profile.busy).max(0.0) / profile.busy;
            for _ in 0..guests {
                queue.push(now + exponential(random, idle), Due::ChanceSpell(cohort));
            }
        }
    }

    /// Samples how long a spell lasts `[s]`.
    pub(super) fn sample_length(&mut self) -> f64 {
        self.sampling
            .as_mut()
            .map_or(0.0, |(random, mean)| exponential(random, *mean))
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

    #[test]
    fn the_generator_is_the_published_one() {
        // First numbers of the reference implementation's demonstration, seed 42, stream 54 (M. E. O'Neill, HMC-CS-2014-0905).
        let mut random = Pcg32::new(42, 54);
        let numbers = [(); 3].map(|()| random.next_u32());
        assert_eq!(numbers, [0xa15c_02b7, 0x7b47_f409, 0xba1d_3330]);
    }
}
