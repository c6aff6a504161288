//! Which inputs move the answer most.

use rayon::prelude::{IntoParallelIterator, ParallelIterator};

use super::{Move, Study};
use crate::lab::Uncertain;

/// Draws that the swing of an input is averaged over.
const SAMPLE: u64 = 64;
/// The two values of an input that are set against each other, by the share of draws that do not pass them.
const ENDS: [f64; 2] = [0.05, 0.95];

/// Sums over the sample for one input.
#[derive(Clone, Copy, Default)]
struct Sums {
    at_low: f64,
    at_high: f64,
    swing: f64,
}

impl Study<'_> {
    /// The inputs that move the answer, largest swing first, at most `most` of them.
    ///
    /// An input's swing is the difference of the counts with its value at 5 % and at 95 %, everything else as drawn,
    /// averaged without sign over the first draws: an input that matters only while another resource binds is not
    /// overlooked, and one that never matters has a swing of exactly 0 and is left out.
    pub fn moves(&self, inputs: &[&Uncertain], draws: u64, most: usize) -> Vec<Move> {
        let sample = draws.min(SAMPLE);
        let sums: Vec<Sums> = (0..inputs.len())
            .into_par_iter()
            .map_init(
                || self.bench(),
                |bench, input| {
                    let mut sums = Sums::default();
                    let mut cursor = self.streams.at(0);
                    for _ in 0..sample {
                        cursor.next_into(&mut bench.values);
                        let [low, high] = ENDS.map(|share| {
                            let end = self.streams.pert(input).quantile(share);
                            bench.values[input] = end;
                            self.search(bench).largest.number() as f64
                        });
                        sums.at_low += low;
                        sums.at_high += high;
                        sums.swing += (high - low).abs();
                    }
                    sums
                },
            )
            .collect();
        let mean = |sum: f64| sum / sample as f64;
        let mut moves: Vec<Move> = inputs
            .iter()
            .zip(&sums)
            .enumerate()
            .filter(|(_, (_, sums))| sums.swing > 0.0)
            .map(|(index, (input, sums))| {
                let [low, high] = ENDS.map(|share| self.streams.pert(index).quantile(share));
                Move {
                    key: input.path.clone(),
                    low,
                    high,
                    at_low: mean(sums.at_low),
                    at_high: mean(sums.at_high),
                    swing: mean(sums.swing),
                }
            })
            .collect();
        // Stable, so equal swings stay in the order of their paths.
        moves.sort_by(|one, other| other.swing.total_cmp(&one.swing));
        moves.truncate(most);
        moves
    }
}
