//! Which cautions apply to a host at a composition.

use super::{HostCaution, applying};
use crate::lab::{Guest, Kind, Layout, Mode, Pool, key_path};
use crate::model::{GIB, YEAR, processor, within};
use crate::sizing::answer::{DiskAnswer, MemoryAnswer, ResourceAnswer, Restart};
use crate::sizing::host::HostModel;
use crate::sizing::named::Named;
use crate::sizing::resource::Resource;

/// A write rate above this is taken for a data sheet's peak `[1/s]`. Assumption of this project: few consumer drives hold it
/// at the flush rate of guests.
const DATA_SHEET_WRITES: f64 = 50_000.0;
/// A life within this factor of the wanted one is worth a caution. Assumption of this project.
const SHORT_LIFE: f64 = 1.5;

/// What cautions depend on, beside the host itself.
#[derive(Debug, Clone, Copy)]
pub struct CautionContext<'a> {
    /// Guests of each profile.
    pub counts: &'a [u64],
    /// Scaling profiles without a guest.
    pub missing: &'a [String],
    /// Resources at these counts.
    pub resources: &'a [ResourceAnswer],
    /// Memory at these counts.
    pub memory: &'a MemoryAnswer,
    /// Pools at these counts.
    pub disk: &'a [DiskAnswer],
    /// How the host comes back, where that was computed.
    pub restart: Option<&'a Restart>,
}

/// All cautions that apply to a host; that it is an estimate is the last.
pub fn cautions(model: &HostModel, context: CautionContext) -> Vec<HostCaution> {
    let is_missing = !context.missing.is_empty();
    let missing = is_missing.then(|| HostCaution::KindMissing {
        profiles: context.missing.to_vec(),
        guests: context.counts.iter().sum(),
    });
    let mut all: Vec<HostCaution> = missing.into_iter().collect();
    all.extend(memory(model, context));
    let keeps = |guest: &&Guest| guest.kind == Kind::Container && guest.keeps > 0.0;
    // A container keeps nothing unless that is given.
    let keeping = named(model.lab.guests.iter().filter(keeps));
    all.extend(keeping.map(|profiles| HostCaution::ContainersKeep { profiles }));
    all.extend(processor(model));
    for (index, pool) in model.host.disks.iter().enumerate() {
        all.extend(disk(model, context, index, pool));
    }
    all.extend(counted_idle(model, context));
    if model.host.backup.is_some() && runs(context) && !backs_up(model, context) {
        all.push(HostCaution::NothingBackedUp);
    }
    all.extend(model.host.power.as_ref().map(|_| HostCaution::Circuits));
    let in_batches = context.restart.filter(|restart| !restart.all_at_once);
    let left_off = in_batches.map(|restart| restart.left_off);
    all.extend(left_off.map(|left_off| HostCaution::Restart { left_off }));
    all.push(HostCaution::Estimate);
    all
}

fn runs(context: CautionContext) -> bool {
    context.counts.iter().any(|n| *n > 0)
}

fn backs_up(model: &HostModel, context: CautionContext) -> bool {
    let mut guests = model.lab.guests.iter().zip(context.counts);
    guests.any(|(guest, n)| *n > 0 && guest.backup > 0.0)
}

/// The resources for which the accepted risk covers every busy guest.
///
/// A guest that is busy 5 % of the time is within a risk of 5 %, which is what the risk means; counting it as busy at least
/// once would change the law for one guest only. So it is said.
fn counted_idle(model: &HostModel, context: CautionContext) -> Option<HostCaution> {
    let idle = context.resources.iter().filter(|one| {
        let constraints = one.resource.constraints(model, context.counts);
        constraints.is_some_and(|constraints| constraints.worst().1.counts_idle(one.at_risk))
    });
    let resources: Vec<Resource> = idle.map(|one| one.resource).collect();
    (!resources.is_empty()).then(|| HostCaution::CountedIdle {
        resources: Named::all(model, &resources),
    })
}

fn memory(model: &HostModel, context: CautionContext) -> Vec<HostCaution> {
    let (memory, merging) = (&model.host.memory, &model.host.merging);
    let mut resources = context.resources.iter();
    let demand = resources.find(|one| one.resource == Resource::Memory);
    let demand = demand.map_or(0.0, |one| one.at_risk);
    let swap = memory.swap + memory.compressed_swap;
    let late = model.lab.policy.memory_keep_free > merging.threshold;
    let pinned = model.lab.guests.iter().any(|guest| guest.pinned);
    applying([
        (
            runs(context) && context.memory.promised > model.beside_base(),
            HostCaution::Overcommit,
        ),
        (merging.mode != Mode::Off, HostCaution::SideChannel),
        (
            merging.mode == Mode::Adaptive && late,
            HostCaution::ScannerLate,
        ),
        (context.memory.shared_saved < 0.0, HostCaution::SharingCosts),
        (
            memory.file_cache_floor < memory.file_cache,
            HostCaution::CacheLetsGoSlowly,
        ),
        (
            swap > 0.0 && demand > model.beside_base() - memory.file_cache,
            HostCaution::SwapInUse,
        ),
        (in_gigabytes(model), HostCaution::ModulesInGib),
        (pinned, HostCaution::Pinned),
    ])
}

/// Whether modules were written in GB and are of a size that modules come in, which is one of whole GiB.
fn in_gigabytes(model: &HostModel) -> bool {
    let path = key_path(&["host", &model.host.name, "memory", "modules"]);
    let origin = model.lab.origins.get(&path);
    let is_written = origin.is_some_and(|origin| origin.text.contains("GB"));
    is_written && (model.host.memory.modules.iter()).any(|size| size % GIB == 0.0)
}

/// Names of the guests that are like this; none where there is no such guest.
fn named<'a>(guests: impl IntoIterator<Item = &'a Guest>) -> Option<Vec<String>> {
    let names: Vec<String> = guests.into_iter().map(|guest| guest.name.clone()).collect();
    (!names.is_empty()).then_some(names)
}

fn processor(model: &HostModel) -> impl Iterator<Item = HostCaution> {
    let (speed, threads) = (processor::slowest(&model.host.cpu.groups), model.threads);
    let guests = || model.lab.guests.iter();
    let slow = named(guests().filter(|guest| !within(guest.busy_load, speed)));
    let wide = named(guests().filter(|guest| guest.vcpus as f64 > threads));
    let slow = slow.map(|profiles| HostCaution::SlowCores { profiles, speed });
    let wide = wide.map(|profiles| HostCaution::TooManyVcpus { profiles, threads });
    slow.into_iter().chain(wide)
}

fn disk(
    model: &HostModel,
    context: CautionContext,
    index: usize,
    devices: &Pool,
) -> impl Iterator<Item = HostCaution> {
    let disk = &context.disk[index];
    let pool = || devices.name.clone();
    let wanted = model.lab.policy.service_life / YEAR;
    let worn = disk.life_years.filter(|years| *years < SHORT_LIFE * wanted);
    let is_stuck = |(guest, n): &(&Guest, &u64)| {
        **n > 0
            && model.pool_of(guest) == index
            && guest.disk_grows > 0.0
            && guest.disk_size <= guest.disk_used
    };
    let guests = model.lab.guests.iter().zip(context.counts);
    let stuck = named(guests.filter(is_stuck).map(|(guest, _)| guest));
    let mirrored = matches!(devices.layout, Layout::Mirror { .. }) && devices.endurance.is_some();
    let promised = devices.sustained_speed.is_none()
        && devices
            .write_iops
            .is_some_and(|rate| rate > DATA_SHEET_WRITES);
    [
        worn.map(|years| HostCaution::DiskWear {
            pool: pool(),
            life: years * YEAR,
        }),
        mirrored.then(|| HostCaution::SameAge { pool: pool() }),
        (disk.promised > disk.owned).then(|| HostCaution::ThinSpace { pool: pool() }),
        promised.then(|| HostCaution::DataSheet { pool: pool() }),
        stuck.map(|profiles| HostCaution::GrowthCapped { profiles }),
    ]
    .into_iter()
    .flatten()
}
