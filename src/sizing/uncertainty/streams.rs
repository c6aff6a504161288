//! The random numbers: for each input one stream of its own, read at the place of the draw.

use rand_pcg::Pcg64;
use rand_pcg::rand_core::Rng;
use rayon::prelude::{IntoParallelIterator, ParallelIterator};

use crate::lab::Uncertain;
use crate::model::pert::Pert;
use crate::model::quantiles::Quantiles;

/// The generator's stream constant. Source: the PCG reference implementation's default increment.
const STREAM: u128 = 0x0a02_bdbf_7bb3_c0a7_ac28_fa16_a64a_bf96;
/// 2^−53.
const UNIT: f64 = 1.0 / 9_007_199_254_740_992.0;

/// One stream an input.
///
/// The generator is PCG XSL RR 128/64 (`Pcg64`), which is portable and can be wound forward in no time. The stream of
/// an input starts where a 128-bit hash of its key path says and gives one number a draw. So draw i of an input is the
/// same whatever other inputs there are and whatever thread reads it, and labs that differ in one input are drawn alike
/// in all others.
///
/// # Source
/// M. E. O'Neill, "PCG: A family of simple fast space-efficient statistically good algorithms for random number
/// generation", HMC-CS-2014-0905; FNV-1a, 128 bits: the offset basis and prime of its authors.
pub(super) struct Streams {
    inputs: Vec<Input>,
    shapes: Vec<Quantiles>,
}

struct Input {
    pert: Pert,
    /// The place of its shape.
    shape: usize,
    start: Pcg64,
}

/// The streams at a draw.
pub(super) struct Cursor<'s> {
    streams: &'s Streams,
    generators: Vec<Pcg64>,
    /// The values drawn last in the order of the inputs.
    pub values: Vec<f64>,
    /// The share of draws below each.
    pub units: Vec<f64>,
}

impl Streams {
    /// The streams of these inputs.
    pub fn new(inputs: &[&Uncertain], seed: u64) -> Streams {
        let root = Pcg64::new(u128::from(seed), STREAM);
        let mut places: Vec<f64> = Vec::new();
        let inputs = inputs.iter().map(|one| {
            let mut start = root.clone();
            start.advance(fnv1a(one.path.as_bytes()));
            let pert = Pert::new(one.low, one.likely, one.high);
            let known = places.iter().position(|place| *place == pert.place());
            let shape = known.unwrap_or_else(|| {
                places.push(pert.place());
                places.len() - 1
            });
            Input { pert, shape, start }
        });
        Streams {
            inputs: inputs.collect(),
            shapes: places.into_par_iter().map(Quantiles::new).collect(),
        }
    }

    /// The distribution of an input.
    pub fn pert(&self, input: usize) -> &Pert {
        &self.inputs[input].pert
    }

    /// The streams just before a draw.
    pub fn at(&self, draw: u64) -> Cursor<'_> {
        let wound = |input: &Input| {
            let mut generator = input.start.clone();
            generator.advance(u128::from(draw));
            generator
        };
        Cursor {
            streams: self,
            generators: self.inputs.iter().map(wound).collect(),
            values: vec![0.0; self.inputs.len()],
            units: vec![0.0; self.inputs.len()],
        }
    }
}

impl Cursor<'_> {
    /// Goes on to the next draw.
    pub fn step(&mut self) {
        let rows = self.streams.inputs.iter().zip(&mut self.generators);
        let drawn = self.values.iter_mut().zip(&mut self.units);
        for ((input, generator), (value, unit)) in rows.zip(drawn) {
            let bits = generator.next_u64() >> 11;
            *unit = (bits as f64 + 0.5) * UNIT;
            *value = input.pert.at(self.streams.shapes[input.shape].at(*unit));
        }
    }
}

/// FNV-1a with 128 bits.
fn fnv1a(bytes: &[u8]) -> u128 {
    const BASIS: u128 = 0x6c62_272e_07bb_0142_62b8_2175_6295_c58d;
    const PRIME: u128 = 0x0000_0000_0100_0000_0000_0000_0000_013b;
    bytes.iter().fold(BASIS, |hash, byte| {
        (hash ^ u128::from(*byte)).wrapping_mul(PRIME)
    })
}

#[cfg(test)]
mod tests {
    use super::{Streams, fnv1a};
    use crate::lab::Uncertain;

    fn input(path: &str) -> Uncertain {
        Uncertain {
            path: path.to_owned(),
            low: 0.0,
            likely: 1.0,
            high: 2.0,
        }
    }

    #[test]
    fn the_hash_is_fnv1a() {
        // The empty text gives the offset basis; "a": FNV-1a 128 test vector.
        assert_eq!(fnv1a(b""), 0x6c62_272e_07bb_0142_62b8_2175_6295_c58d);
        assert_eq!(fnv1a(b"a"), 0xd228_cb69_6f1a_8caf_7891_2b70_4e4a_8964);
    }

    #[test]
    fn an_input_is_drawn_alike_whatever_stands_beside_it() {
        let (one, other) = (input("guest.a.touched"), input("guest.b.touched"));
        let (alone, beside) = (Streams::new(&[&other], 7), Streams::new(&[&one, &other], 7));
        let (mut walked, mut at_once) = (alone.at(0), beside.at(3));
        at_once.step();
        for _ in 0..4 {
            walked.step();
        }
        assert_eq!(walked.values[0], at_once.values[1]);
        assert_ne!(at_once.values[0], at_once.values[1]);
    }
}
