//! How sure the answer is: every uncertain value drawn, the whole search run for each draw.

mod streams;
mod swing;

use std::collections::BTreeMap;
use std::ops::Range;

use rayon::prelude::{IntoParallelIterator, ParallelIterator};
use schemars::JsonSchema;
use serde::Serialize;

use super::host::HostModel;
use super::lowest::{Hint, Lowest, lowest};
use super::resource::Resource;
use super::search::Largest;
use super::used::is_used;
use crate::lab::draw::Redraw;
use crate::lab::keys::Command;
use crate::lab::{Lab, Uncertain, key_path};
use streams::{Cursor, Streams};

/// Most draws of one run.
pub const MOST_DRAWS: u64 = 1_000_000;
/// Draws that are worked on together; fixed, so that the number of threads changes nothing.
const CHUNK: u64 = 64;
/// Chunks between two checks whether to go on.
const BLOCK: u64 = 32;
/// Inputs that are named as moving the answer most.
const NAMED: usize = 3;

/// How many draws, and the number all of them follow from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Draws {
    /// How many, 1 to [`MOST_DRAWS`].
    #[serde(rename = "draws")]
    pub count: u64,
    /// Seed of the generator.
    pub seed: u64,
}

impl Default for Draws {
    /// What answers rest on where nothing else was asked for.
    fn default() -> Draws {
        Draws {
            count: 1_000,
            seed: 1,
        }
    }
}

/// The answer with its interval.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct IntervalAnswer {
    /// Number of draws.
    pub draws: u64,
    /// Seed they follow from.
    pub seed: u64,
    /// 5 % of the draws hold no more than this; null where those hold not even the guests that must run.
    pub low: Option<u64>,
    /// Half of the draws hold no more than this.
    pub median: Option<u64>,
    /// 95 % of the draws hold no more than this; null where nothing runs out.
    pub high: Option<u64>,
    /// Share of the draws in which each resource sets the count; shares of ties add up to more than 1.
    pub binds: BTreeMap<String, f64>,
    /// Share of the draws in which the guests that must run do not fit, or nothing does.
    pub broken: f64,
    /// The inputs that move the answer most, largest swing first: what to measure before buying.
    pub moves: Vec<Move>,
    /// Number of uncertain inputs that were drawn.
    pub inputs: usize,
    /// How many of them are defaults.
    pub guessed: usize,
    /// Number of draws asked for: more than `draws` where the call was interrupted.
    pub asked: u64,
    /// The count of each draw.
    #[serde(skip)]
    pub counts: Vec<Largest>,
}

/// What one input does to the answer.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Move {
    /// Key path.
    pub key: String,
    /// Its likely value, in base units.
    pub likely: f64,
    /// Its value that 5 % of the draws do not pass, in base units.
    pub low: f64,
    /// Its value that 95 % of the draws do not pass, in base units.
    pub high: f64,
    /// Mean count with the low value, the other inputs as drawn.
    pub at_low: f64,
    /// Mean count with the high value.
    pub at_high: f64,
    /// Mean difference of the two counts, without its sign: the swing in guests.
    pub swing: f64,
    /// How it is measured; null where the lab gives it, and so knows.
    pub measure: Option<&'static str>,
}

/// Draws the uncertain values of a host and of the guests and searches each draw; none where the host is not there or
/// nothing that its answer depends on is uncertain.
///
/// `progress` gets how many more draws are done and says whether to go on; where not, the draws so far count. The result depends on the lab, the host and `draws`
/// alone: draw i reads its numbers at place i of the input's own stream, whatever thread works on it.
pub fn interval(
    lab: &Lab,
    host: &str,
    draws: Draws,
    progress: &dyn Fn(u64) -> bool,
) -> Option<IntervalAnswer> {
    with_study(lab, host, draws.seed, |study, model| {
        let tally = study.tally(draws.count, progress);
        let mut sorted = tally.reached.clone();
        sorted.sort_unstable();
        let share = |count: usize| count as f64 / sorted.len() as f64;
        let point = |share| quantile(&sorted, share).and_then(Largest::bound);
        let binds = tally.binds.iter();
        let guessed = study.inputs.iter().filter(|one| is_guess(lab, one));
        IntervalAnswer {
            draws: sorted.len() as u64,
            asked: draws.count,
            seed: draws.seed,
            low: point(0.05),
            median: point(0.5),
            high: point(0.95),
            binds: binds
                .map(|(resource, n)| (resource.name(model), share(*n)))
                .collect(),
            broken: share(sorted.partition_point(|one| *one == Largest::Infeasible)),
            moves: study.moves(lab, &tally, NAMED),
            inputs: study.inputs.len(),
            guessed: guessed.count(),
            counts: tally.reached,
        }
    })
}

/// What `of` makes of each draw of a host, in the order of the draws: it gets the lab drawn, whose only host is that one,
/// and a hint for the search; none where there is no such host or nothing that its answer depends on is uncertain.
pub fn each_draw<T: Send>(
    lab: &Lab,
    host: &str,
    draws: Draws,
    of: impl Fn(&Lab, &Hint) -> T + Sync,
) -> Option<Vec<T>> {
    each_draw_until(lab, host, draws, &|| true, of)
}

/// [`each_draw`] as long as `go_on` says so: then the first draws, as many as are known without one left out.
pub fn each_draw_until<T: Send>(
    lab: &Lab,
    host: &str,
    draws: Draws,
    go_on: &(dyn Fn() -> bool + Sync),
    of: impl Fn(&Lab, &Hint) -> T + Sync,
) -> Option<Vec<T>> {
    with_study(lab, host, draws.seed, |study, _| {
        let all = 0..draws.count.div_ceil(CHUNK);
        let parts = study.chunks(all, draws.count, |bench, count| {
            let draw = |_| {
                go_on().then(|| {
                    bench.draw(study);
                    of(&bench.lab, &study.hint)
                })
            };
            (0..count).map(draw).collect::<Vec<Option<T>>>()
        });
        parts.into_iter().flatten().map_while(|one| one).collect()
    })
}

/// What all draws of a host share, and the model at its likely values; none where there is no such host or nothing that
/// its answer depends on is uncertain.
fn with_study<T>(
    lab: &Lab,
    host: &str,
    seed: u64,
    result: impl FnOnce(&Study, &HostModel) -> T,
) -> Option<T> {
    let at = lab.hosts.iter().position(|one| one.name == host)?;
    let inputs = drawn_inputs(lab, host);
    if inputs.is_empty() {
        return None;
    }
    let redraw = Redraw::new(lab, at, &inputs);
    let likely = redraw.likely();
    let model = HostModel::new(&likely, &likely.hosts[0]);
    let study = Study {
        redraw: &redraw,
        hint: Hint::of(&model),
        streams: Streams::new(&inputs, seed),
        inputs: &inputs,
    };
    Some(result(&study, &model))
}

/// The uncertain values, given or guessed, that the answer of a host can depend on, in the order of their paths.
fn drawn_inputs<'l>(lab: &'l Lab, host: &str) -> Vec<&'l Uncertain> {
    let Some(of) = lab.hosts.iter().find(|one| one.name == host) else {
        return Vec::new();
    };
    let own = key_path(&["host", host]) + ".";
    let mut inputs: Vec<&Uncertain> = lab
        .uncertain
        .iter()
        .chain(&lab.guessed)
        .filter(|one| !one.path.starts_with("host.") || one.path.starts_with(&own))
        .filter(|one| is_used(lab, of, &one.path, Command::Fit) && !one.path.ends_with(".price"))
        .collect();
    inputs.sort_by(|one, other| one.path.cmp(&other.path));
    inputs
}

/// Whether every value that the count of a host depends on is known.
pub fn is_certain(lab: &Lab, host: &str) -> bool {
    drawn_inputs(lab, host).is_empty()
}

/// Whether an input is a default.
fn is_guess(lab: &Lab, input: &Uncertain) -> bool {
    lab.guessed.iter().any(|guess| guess.path == input.path)
}

/// What all draws share.
struct Study<'a> {
    redraw: &'a Redraw<'a>,
    hint: Hint,
    streams: Streams,
    inputs: &'a [&'a Uncertain],
}

/// What one thread works with: the lab that is drawn again and again, and the values put into it.
struct Bench<'a> {
    lab: Lab,
    cursor: Cursor<'a>,
}

impl Bench<'_> {
    /// Draws once more, into the lab.
    fn draw(&mut self, study: &Study) {
        self.cursor.step();
        study.redraw.put(&mut self.lab, &self.cursor.values);
    }
}

impl Study<'_> {
    fn bench(&self) -> Bench<'_> {
        Bench {
            lab: self.redraw.likely(),
            cursor: self.streams.at(0),
        }
    }

    /// The count of a lab that was drawn, and what sets it.
    fn search(&self, lab: &Lab) -> Lowest {
        lowest(&HostModel::new(lab, &lab.hosts[0]), &self.hint)
    }

    /// What `of` makes of each of some chunks of `draws` draws: it gets a bench just before the first draw of the chunk,
    /// and how many there are.
    fn chunks<'s, T: Send>(
        &'s self,
        chunks: Range<u64>,
        draws: u64,
        of: impl Fn(&mut Bench<'s>, u64) -> T + Sync,
    ) -> Vec<T> {
        let of_chunk = |bench: &mut Bench<'s>, chunk| {
            let first = chunk * CHUNK;
            bench.cursor = self.streams.at(first);
            of(bench, CHUNK.min(draws - first))
        };
        let chunks = chunks.into_par_iter();
        chunks.map_init(|| self.bench(), of_chunk).collect()
    }

    /// Searches all draws, block by block as long as `progress` says so.
    fn tally(&self, draws: u64, progress: &dyn Fn(u64) -> bool) -> Tally {
        let mut all = Tally::new(self.inputs.len());
        let chunks = draws.div_ceil(CHUNK);
        for start in (0..chunks).step_by(BLOCK as usize) {
            let before = all.reached.len();
            let block = start..(start + BLOCK).min(chunks);
            let parts = self.chunks(block, draws, |bench, count| {
                let mut part = Tally::new(self.inputs.len());
                for _ in 0..count {
                    bench.draw(self);
                    part.add(self.search(&bench.lab), &bench.cursor.units);
                }
                part
            });
            parts.into_iter().for_each(|part| all.append(part));
            if !progress((all.reached.len() - before) as u64) {
                break;
            }
        }
        all
    }
}

/// Outcomes of many searches.
struct Tally {
    /// Each count, in the order of the draws.
    reached: Vec<Largest>,
    /// How often each resource set the count.
    binds: BTreeMap<Resource, usize>,
    /// For each input Σ v and Σ v·count, where v goes from −½ to ½ with the share of draws below its value.
    leanings: Vec<[f64; 2]>,
}

impl Tally {
    fn new(inputs: usize) -> Tally {
        Tally {
            reached: Vec::new(),
            binds: BTreeMap::new(),
            leanings: vec![[0.0; 2]; inputs],
        }
    }

    fn add(&mut self, found: Lowest, units: &[f64]) {
        let count = found.largest.number() as f64;
        for (leaning, unit) in self.leanings.iter_mut().zip(units) {
            leaning[0] += unit - 0.5;
            leaning[1] += (unit - 0.5) * count;
        }
        self.reached.push(found.largest);
        for resource in found.binds {
            *self.binds.entry(resource).or_default() += 1;
        }
    }

    fn append(&mut self, part: Tally) {
        self.reached.extend(part.reached);
        for (resource, n) in part.binds {
            *self.binds.entry(resource).or_default() += n;
        }
        for (all, own) in self.leanings.iter_mut().zip(part.leanings) {
            *all = [all[0] + own[0], all[1] + own[1]];
        }
    }

    /// How much the count leans on each input: its covariance with the share of draws below the input's value.
    fn covariances(&self) -> Vec<f64> {
        let draws = self.reached.len() as f64;
        let counts = self.reached.iter().map(|one| one.number() as f64);
        let mean = counts.sum::<f64>() / draws;
        let leanings = self.leanings.iter();
        leanings
            .map(|[sum, product]| (product - mean * sum) / draws)
            .collect()
    }
}

/// The smallest of sorted values that a share of the draws does not pass; none of no values.
pub fn quantile<T: Copy>(sorted: &[T], share: f64) -> Option<T> {
    let rank = (share * sorted.len() as f64).ceil().max(1.0) as usize;
    sorted.get(rank - 1).copied()
}

/// The values that 5 % and 95 % of the draws do not pass; none of no values.
pub fn ends<T: Copy + Ord>(mut drawn: Vec<T>) -> Option<[T; 2]> {
    drawn.sort_unstable();
    Some([quantile(&drawn, 0.05)?, quantile(&drawn, 0.95)?])
}
