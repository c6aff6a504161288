//! Who takes what of a host: the part of each guest profile, and what one guest fewer of it would free.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::host::HostModel;
use super::resource::Resource;
use crate::model::DAY;
use crate::model::footprint::Age;
use crate::model::held::parts;

/// What the guests of one profile take, in the mean.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ProfileAnswer {
    /// Name of the profile.
    pub name: String,
    /// How many of it run.
    pub guests: u64,
    /// Memory that they hold, with their part of shared pages `[B]`.
    pub memory: f64,
    /// Their part of shared pages `[B]`.
    pub shared: f64,
    /// Processor `[cores of speed 1]`.
    pub cpu: f64,
    /// Disk operations `[1/s]`.
    pub operations: f64,
    /// Written to disk `[B/day]`.
    pub writes: f64,
    /// Mean demand for each resource that one guest fewer would free, in the unit of the resource.
    pub frees: BTreeMap<String, f64>,
}

/// The profiles of which guests run, in the order of the lab.
///
/// With periods the numbers are of the period in which memory is fullest.
pub(super) fn profiles(model: &HostModel, counts: &[u64]) -> Vec<ProfileAnswer> {
    let model = model.fullest(counts);
    let sharing = model.sharing(counts, Age::LivedIn, model.counted_scan());
    let extras = model.memory(counts, Age::LivedIn, &sharing).extras;
    let groups = model.groups(counts, Age::LivedIn, &sharing);
    let parts = parts(&groups, &model.families, model.copying(), sharing.tracking);
    let considered = model.considered();
    let guests = model.lab.guests.iter().zip(counts).enumerate();
    guests
        .filter(|(_, (_, n))| **n > 0)
        .map(|(place, (guest, n))| {
            let number = *n as f64;
            let chance = guest.busy.in_period(model.period);
            let mut alone = vec![0; counts.len()];
            alone[place] = *n;
            let busy = |idle: f64, busy: f64| number * (idle + chance * (busy - idle));
            ProfileAnswer {
                name: guest.name.clone(),
                guests: *n,
                memory: parts[place].held + number * chance * extras[place],
                shared: parts[place].shared,
                cpu: model.mean_cpu(&alone),
                operations: busy(
                    guest.reads_idle + guest.writes_idle,
                    guest.reads_busy + guest.writes_busy,
                ),
                writes: number * guest.written * DAY,
                frees: frees(model, &considered, counts, place),
            }
        })
        .collect()
}

/// What one guest fewer of a profile frees of each resource; what has no bound is left out.
fn frees(
    model: &HostModel,
    considered: &[Resource],
    counts: &[u64],
    place: usize,
) -> BTreeMap<String, f64> {
    let mut fewer = counts.to_vec();
    fewer[place] -= 1;
    let considered = considered.iter();
    considered
        .filter_map(|resource| {
            let mean = |counts: &[u64]| Some(resource.constraint(model, counts)?.mean());
            let freed = mean(counts)? - mean(&fewer)?;
            freed.is_finite().then(|| (resource.name(model), freed))
        })
        .collect()
}
