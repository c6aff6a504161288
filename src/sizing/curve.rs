//! Load of each resource against the number of guests: the numbers behind a picture.

use schemars::JsonSchema;
use serde::Serialize;

use super::count::{Counted, memory_constraints};
use super::host::HostModel;
use super::memory::MemoryCount;
use super::resource::{RISK_SLACK, Resource};
use super::uncertainty::{Draws, each_draw, quantile};

/// Counts that a curve is computed at, beside those where something happens.
const POINTS: u64 = 40;
/// Counts beside 0 that draws are computed at, and how many draws at most: an edge is nearly straight, and demands at a
/// risk take long.
const DRAWN: usize = 8;
const FEW: u64 = 200;
/// A count this many times beyond the nearer ones is left off the picture, so that these stay distinguishable.
const FAR: u64 = 2;
/// Room right of the last count that matters, as a share.
const MARGIN: f64 = 0.12;
/// Demands are computed up to this many times their limit: far beyond it nothing depends on how far.
const BEYOND: f64 = 2.0;
/// The fewest guests a picture spans.
const FEWEST: u64 = 4;

/// Load of every resource, and memory, against the number of guests.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Curve {
    /// N at each point, in ascending order.
    pub n: Vec<u64>,
    /// Load of each resource that is considered, in binding order.
    pub loads: Vec<LoadCurve>,
    /// Memory of the guests.
    pub memory: MemoryCurve,
}

/// Load of one resource.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LoadCurve {
    /// Name.
    pub name: String,
    /// Share of the limit that is used at the accepted risk, at each point; null where it has no bound, and
    /// beyond twice the limit.
    pub load: Vec<Option<f64>>,
    /// Which resource it is.
    #[serde(skip)]
    pub resource: Resource,
    /// Over time, the period in which it is loaded most when it is full, or at the end; none where periods do not matter.
    #[serde(skip)]
    pub period: Option<String>,
}

/// Memory of the guests at each point `[B]`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MemoryCurve {
    /// Lived-in guests, at the accepted risk; null beyond twice the safe limit.
    pub lived_in: Vec<Option<f64>>,
    /// Fresh guests, at the accepted risk; null beyond twice the safe limit.
    pub fresh: Vec<Option<f64>>,
    /// Lived-in guests, on average.
    pub mean: Vec<f64>,
    /// Safe limit.
    pub safe_limit: f64,
    /// Past this mean the host thrashes or kills guests.
    pub cliff: Vec<f64>,
    /// `lived_in` in the draws at some of the counts; null without draws or where every value was given.
    pub drawn: Option<Vec<DrawnMemory>>,
}

/// Memory of the guests at the accepted risk in nine of ten draws, with what the host needs for itself beyond its likely
/// need: the safe limit is passed where it is passed in the draw.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DrawnMemory {
    /// N.
    pub n: u64,
    /// 5 % of the draws hold no more than this `[B]`.
    pub low: f64,
    /// 95 % of the draws hold no more than this `[B]`.
    pub high: f64,
}

/// The last count worth drawing: a little beyond where something runs out, breaks, or would for fresh guests.
pub(super) fn span(counted: &Counted) -> u64 {
    let near = counted.fits.max(counted.breaks_at).unwrap_or_default();
    let near = near.max(1).saturating_mul(FAR);
    let last = marked(counted).filter(|n| *n <= near).max();
    let end = (last.unwrap_or(near / FAR) as f64 * (1.0 + MARGIN)).ceil() as u64;
    end.max(FEWEST)
}

/// The curves of a host up to `end` guests.
///
/// Points are spread evenly, with one more at every count where a resource is at its limit or memory at its cliff.
pub(super) fn curve(counted: &Counted, end: u64, draws: Option<Draws>) -> Curve {
    let model = &counted.model;
    let counts: Vec<(u64, Vec<u64>)> = points(counted, end)
        .into_iter()
        .map(|n| (n, model.composition.counts(n)))
        .collect();
    let at_each = |value: &dyn Fn(&[u64]) -> f64| counts.iter().map(|(_, c)| value(c)).collect();
    let held = |count: MemoryCount| {
        nearby(&counts, BEYOND * model.usable(), |counts| {
            Some(memory_constraints(model, counts, count)?.at_risk())
        })
    };
    let floor = model.host.memory.file_cache_floor;
    let cliff = |counts: &[u64]| model.fullest(counts).cliff(counts, floor);
    let lived_in = held(MemoryCount::LivedIn);
    let known = counts.iter().zip(&lived_in);
    let known = known.filter_map(|((n, _), held)| held.map(|_| *n));
    let known: Vec<u64> = known.collect();
    let loads = counted.found.iter().map(|one| LoadCurve {
        name: one.resource.name(model),
        load: nearby(&counts, BEYOND, |counts| {
            let load = one.resource.loaded(model, counts)?.load;
            load.is_finite().then_some(load)
        }),
        resource: one.resource,
        period: None,
    });
    Curve {
        n: counts.iter().map(|(n, _)| *n).collect(),
        loads: loads.collect(),
        memory: MemoryCurve {
            drawn: draws.and_then(|draws| drawn(model, &known, draws)),
            lived_in,
            fresh: held(MemoryCount::Fresh),
            mean: at_each(&|counts| cliff(counts).0),
            safe_limit: model.usable(),
            cliff: at_each(&|counts| cliff(counts).1),
        },
    }
}

/// Memory in the draws at a few of these counts.
fn drawn(model: &HostModel, counts: &[u64], draws: Draws) -> Option<Vec<DrawnMemory>> {
    let last = counts.len().checked_sub(1)?;
    let at = (0..=DRAWN).map(|step| counts[step * last / DRAWN]);
    let mut at: Vec<u64> = at.collect();
    at.dedup();
    let accepted = model.lab.policy.memory_risk * (1.0 + RISK_SLACK);
    let few = Draws {
        count: draws.count.min(FEW),
        ..draws
    };
    let held = each_draw(model.lab, &model.host.name, few, |lab, _| {
        let drawn = HostModel::new(lab, &lab.hosts[0]);
        let own = model.usable() - drawn.usable();
        let held = |n: &u64| {
            let counts = drawn.composition.counts(*n);
            let demands = drawn.periods().map(|one| {
                let (demand, _) = one.memory_demand(&counts, MemoryCount::LivedIn);
                demand.at_risk(accepted)
            });
            demands.fold(0.0, f64::max) + own
        };
        at.iter().map(held).collect::<Vec<f64>>()
    })?;
    let point = |place: usize| {
        let mut all: Vec<f64> = held.iter().map(|draw| draw[place]).collect();
        all.sort_by(f64::total_cmp);
        let [low, high] = [0.05, 0.95].map(|share| quantile(&all, share));
        Some(DrawnMemory {
            n: at[place],
            low: low?.max(0.0),
            high: high?.max(0.0),
        })
    };
    (0..at.len()).map(point).collect()
}

/// Values at each point up to the first beyond `most`; demands grow with the number of guests.
fn nearby(
    counts: &[(u64, Vec<u64>)],
    most: f64,
    value: impl Fn(&[u64]) -> Option<f64>,
) -> Vec<Option<f64>> {
    let mut is_beyond = false;
    counts
        .iter()
        .map(|(_, counts)| {
            let value = if is_beyond { None } else { value(counts) };
            is_beyond |= value.is_some_and(|value| value > most);
            value
        })
        .collect()
}

/// The counts where something happens.
fn marked<'a>(counted: &'a Counted) -> impl Iterator<Item = u64> + 'a {
    let own = counted.found.iter().filter_map(|one| one.largest.bound());
    own.chain(counted.breaks_at).chain(counted.fresh.bound())
}

/// The counts to compute at.
fn points(counted: &Counted, end: u64) -> Vec<u64> {
    let mut all: Vec<u64> = (0..=POINTS)
        .map(|step| step * end / POINTS)
        .chain(marked(counted))
        .filter(|n| *n <= end)
        .collect();
    all.sort_unstable();
    all.dedup();
    all
}
