//! Load of each resource against the number of guests: the numbers behind a picture.

use schemars::JsonSchema;
use serde::Serialize;

use super::count::Counted;
use super::host::HostModel;
use super::memory::MemoryCount;
use super::resource::{RISK_SLACK, Resource};

/// Counts that a curve is computed at, beside those where something happens.
const POINTS: u64 = 40;
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
}

/// The last count worth drawing: a little beyond where something runs out, breaks, or would for fresh guests.
pub(super) fn span(counted: &Counted) -> u64 {
    let near = counted
        .fits
        .max(counted.breaks_at)
        .unwrap_or_default()
        .max(1)
        .saturating_mul(FAR);
    let last = marked(counted)
        .filter(|n| *n <= near)
        .max()
        .unwrap_or(near / FAR);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "counts are at most a few million"
    )]
    let end = (last as f64 * (1.0 + MARGIN)).ceil() as u64;
    end.max(FEWEST)
}

/// The curves of a host up to `end` guests.
///
/// Points are spread evenly, with one more at every count where a resource is at its limit or memory at its cliff.
pub(super) fn curve(counted: &Counted, end: u64) -> Curve {
    let model = &counted.model;
    let counts: Vec<(u64, Vec<u64>)> = points(counted, end)
        .into_iter()
        .map(|n| (n, model.composition.counts(n)))
        .collect();
    let at_each = |value: &dyn Fn(&[u64]) -> f64| counts.iter().map(|(_, c)| value(c)).collect();
    let accepted = model.lab.policy.memory_risk * (1.0 + RISK_SLACK);
    let held = |count: MemoryCount| {
        nearby(&counts, BEYOND * model.usable(), |counts| {
            let demands = model
                .periods()
                .map(|one| one.memory_demand(counts, count).0);
            demands
                .map(|demand| demand.at_risk(accepted))
                .reduce(f64::max)
        })
    };
    let floor = model.host.memory.file_cache_floor;
    let cliff = |counts: &[u64]| model.fullest(counts).cliff(counts, floor);
    Curve {
        n: counts.iter().map(|(n, _)| *n).collect(),
        loads: counted
            .found
            .iter()
            .map(|one| LoadCurve {
                name: one.resource.name(model),
                load: nearby(&counts, BEYOND, |counts| load(model, one.resource, counts)),
                resource: one.resource,
            })
            .collect(),
        memory: MemoryCurve {
            lived_in: held(MemoryCount::LivedIn),
            fresh: held(MemoryCount::Fresh),
            mean: at_each(&|counts| cliff(counts).0),
            safe_limit: model.usable(),
            cliff: at_each(&|counts| cliff(counts).1),
        },
    }
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

fn load(model: &HostModel, resource: Resource, counts: &[u64]) -> Option<f64> {
    let constraints = resource.constraints(model, counts)?;
    let (_, constraint) = constraints.worst();
    let load = constraint.load(constraint.at_risk());
    load.is_finite().then_some(load)
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
