//! How sure the answer is: every uncertain value drawn, the whole search run for each draw.

mod streams;
mod swing;

use std::collections::BTreeMap;

use rayon::prelude::{IntoParallelIterator, ParallelIterator};
use schemars::JsonSchema;
use serde::Serialize;

use super::host::HostModel;
use super::lowest::{Hint, Lowest, lowest};
use super::resource::Resource;
use super::search::Largest;
use crate::lab::draw::Redraw;
use crate::lab::{Lab, Uncertain, key_path, later_command};
use streams::Streams;

/// Most draws of one run.
pub const MOST_DRAWS: u64 = 1_000_000;
/// Draws that are worked on together; fixed, so that the number of threads changes nothing.
const CHUNK: u64 = 64;
/// Inputs that are named as moving the answer most.
const NAMED: usize = 3;

/// How many draws, and the number all of them follow from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Draws {
    /// How many, 1 to [`MOST_DRAWS`].
    pub count: u64,
    /// Seed of the generator.
    pub seed: u64,
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
}

/// What one input does to the answer.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Move {
    /// Key path.
    pub key: String,
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
}

/// Draws the uncertain values of a host and of the guests and searches each draw; none where the host is not there.
///
/// `progress` gets how many more draws are done, from any thread. The result depends on the lab, the host and `draws`
/// alone: draw i reads its numbers at place i of the input's own stream, whatever thread works on it.
#[must_use]
pub fn interval(
    lab: &Lab,
    host: &str,
    draws: Draws,
    progress: &(dyn Fn(u64) + Sync),
) -> Option<IntervalAnswer> {
    with_study(lab, host, draws.seed, |study, model, inputs| {
        let mut tally = study.tally(draws.count, progress);
        tally.reached.sort_unstable();
        let share = |count: usize| count as f64 / draws.count as f64;
        let binds = tally.binds.iter();
        IntervalAnswer {
            draws: draws.count,
            seed: draws.seed,
            low: tally.quantile(0.05),
            median: tally.quantile(0.5),
            high: tally.quantile(0.95),
            binds: binds
                .map(|(resource, n)| (resource.name(model), share(*n)))
                .collect(),
            broken: share(tally.infeasible()),
            moves: study.moves(inputs, draws.count, NAMED),
            inputs: inputs.len(),
        }
    })
}

/// The count of each draw, in the order of the draws: none where a limit is passed from the start or nothing runs out.
///
/// What [`interval`] is made of; for comparing with other programs draw by draw.
#[must_use]
pub fn counts(lab: &Lab, host: &str, draws: Draws) -> Option<Vec<Option<u64>>> {
    with_study(lab, host, draws.seed, |study, _, _| {
        let reached = study.tally(draws.count, &|_| {}).reached.into_iter();
        reached.map(Largest::bound).collect()
    })
}

/// What all draws of a host share, the model at its likely values, and its uncertain values; none where there is no such host.
fn with_study<T>(
    lab: &Lab,
    host: &str,
    seed: u64,
    result: impl FnOnce(&Study, &HostModel, &[&Uncertain]) -> T,
) -> Option<T> {
    let at = lab.hosts.iter().position(|one| one.name == host)?;
    let inputs = drawn_inputs(lab, host);
    let redraw = Redraw::new(lab, at, &inputs);
    let likely = redraw.likely();
    let model = HostModel::new(&likely, &likely.hosts[0]);
    let study = Study {
        redraw: &redraw,
        hint: Hint::of(&model),
        streams: Streams::new(&inputs, seed),
    };
    Some(result(&study, &model, &inputs))
}

/// The uncertain values that the answer of a host can depend on.
fn drawn_inputs<'l>(lab: &'l Lab, host: &str) -> Vec<&'l Uncertain> {
    let own = key_path(&["host", host]) + ".";
    lab.uncertain
        .iter()
        .filter(|one| !one.path.starts_with("host.") || one.path.starts_with(&own))
        .filter(|one| later_command(&one.path).is_none() && !one.path.ends_with(".price"))
        .collect()
}

/// What all draws share.
struct Study<'a> {
    redraw: &'a Redraw<'a>,
    hint: Hint,
    streams: Streams,
}

/// What one thread works with: the lab that is drawn again and again, and the values put into it.
struct Bench {
    lab: Lab,
    values: Vec<f64>,
}

impl Study<'_> {
    fn bench(&self) -> Bench {
        Bench {
            lab: self.redraw.likely(),
            values: self.streams.likely(),
        }
    }

    /// The count and what sets it, with the values on the bench.
    fn search(&self, bench: &mut Bench) -> Lowest {
        self.redraw.put(&mut bench.lab, &bench.values);
        lowest(&HostModel::new(&bench.lab, &bench.lab.hosts[0]), &self.hint)
    }

    /// Searches all draws.
    fn tally(&self, draws: u64, progress: &(dyn Fn(u64) + Sync)) -> Tally {
        let chunks = draws.div_ceil(CHUNK);
        let parts: Vec<Tally> = (0..chunks)
            .into_par_iter()
            .map_init(
                || self.bench(),
                |bench, chunk| {
                    let range = chunk * CHUNK..(chunk * CHUNK + CHUNK).min(draws);
                    let mut part = Tally::default();
                    let mut cursor = self.streams.at(range.start);
                    for _ in range.clone() {
                        cursor.next_into(&mut bench.values);
                        part.add(self.search(bench));
                    }
                    progress(range.end - range.start);
                    part
                },
            )
            .collect();
        let mut all = Tally::default();
        for part in parts {
            all.reached.extend(part.reached);
            for (resource, n) in part.binds {
                *all.binds.entry(resource).or_default() += n;
            }
        }
        all
    }
}

/// Outcomes of many searches.
#[derive(Default)]
struct Tally {
    /// Each count, in the order of the draws until sorted.
    reached: Vec<Largest>,
    /// How often each resource set the count.
    binds: BTreeMap<Resource, usize>,
}

impl Tally {
    fn add(&mut self, found: Lowest) {
        self.reached.push(found.largest);
        for resource in found.binds {
            *self.binds.entry(resource).or_default() += 1;
        }
    }

    /// How many sorted outcomes are infeasible: the guests that must run do not fit.
    fn infeasible(&self) -> usize {
        self.reached
            .partition_point(|one| *one == Largest::Infeasible)
    }

    /// The smallest count that a share of the draws does not pass; none where it is infeasible or unbounded.
    fn quantile(&self, share: f64) -> Option<u64> {
        let rank = (share * self.reached.len() as f64).ceil().max(1.0) as usize;
        self.reached.get(rank - 1)?.bound()
    }
}
