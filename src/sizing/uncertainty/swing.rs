//! Which inputs move the answer most.

use rayon::prelude::{IntoParallelIterator, ParallelIterator};

use super::{Move, Study, Tally, is_guess};
use crate::lab::{Lab, key_of};

/// Draws that the swing of an input is averaged over.
const SAMPLE: u64 = 32;
/// Inputs whose swing is worked out for each that is named: those that the counts of the draws lean on most.
const TRIED: usize = 2;
/// The two values of an input that are set against each other, by the share of draws that do not pass them.
const ENDS: [f64; 2] = [0.05, 0.95];

impl Study<'_> {
    /// The inputs that move the answer, largest swing first, at most `most` of them.
    ///
    /// An input's swing is the difference of the counts with its value at 5 % and at 95 %, everything else as drawn,
    /// averaged without sign over the first draws: an input that matters only while another resource binds is not
    /// overlooked, and one that never matters has a swing of exactly 0 and is left out. Only inputs that the counts of
    /// all draws lean on most are tried.
    pub(super) fn moves(&self, lab: &Lab, tally: &Tally, most: usize) -> Vec<Move> {
        let sample = (tally.reached.len() as u64).min(SAMPLE);
        let mut moves: Vec<Move> = self
            .leading(tally, TRIED * most)
            .into_par_iter()
            .map(|index| self.swing(lab, index, sample))
            .filter(|input| input.swing > 0.0)
            .collect();
        // Stable, so equal swings stay in the order of their paths.
        moves.sort_by(|one, other| other.swing.total_cmp(&one.swing));
        moves.truncate(most);
        moves
    }

    /// The places of the inputs that the counts lean on most, in the order of their paths.
    fn leading(&self, tally: &Tally, most: usize) -> Vec<usize> {
        let covariances = tally.covariances();
        let mut leading: Vec<usize> = (0..self.inputs.len()).collect();
        leading.sort_by(|one, other| {
            let [one, other] = [one, other].map(|input| covariances[*input].abs());
            other.total_cmp(&one)
        });
        leading.truncate(most);
        leading.sort_unstable();
        leading
    }

    /// What an input does to the counts of the first draws.
    fn swing(&self, lab: &Lab, index: usize, sample: u64) -> Move {
        let input = self.inputs[index];
        let [low, high] = ENDS.map(|share| self.streams.pert(index).quantile(share));
        let mut bench = self.bench();
        let [mut at_low, mut at_high, mut swing] = [0.0; 3];
        for _ in 0..sample {
            bench.cursor.step();
            let [less, more] = [low, high].map(|value| {
                bench.cursor.values[index] = value;
                self.redraw.put(&mut bench.lab, &bench.cursor.values);
                self.search(&bench.lab).largest.number() as f64
            });
            at_low += less;
            at_high += more;
            swing += (more - less).abs();
        }
        let mean = |sum: f64| sum / sample as f64;
        Move {
            key: input.path.clone(),
            likely: input.likely,
            low,
            high,
            at_low: mean(at_low),
            at_high: mean(at_high),
            swing: mean(swing),
            measure: key_of(&input.path)
                .map(|key| key.how_measured)
                .filter(|_| is_guess(lab, input)),
        }
    }
}
