//! Cautions: what was seen, why it matters, what to do. Each is printed where it applies, in every format.

use super::answer::{CautionAnswer, HostAnswer};
use super::host::HostModel;
use crate::lab::{Guest, Layout, Mode, Pool};
use crate::model::{processor, within};
use crate::unit::format::{self, listed, plural};

/// A write rate above this looks like a data sheet's `[1/s]`. Assumption of this project: few consumer drives hold it
/// at the flush rate of guests.
const DATA_SHEET_WRITES: f64 = 50_000.0;
/// A life within this factor of the wanted one is worth a caution. Assumption of this project.
const SHORT_LIFE: f64 = 1.5;

/// All cautions that apply to a host at a composition.
#[must_use]
pub fn cautions(model: &HostModel, counts: &[u64], answer: &HostAnswer) -> Vec<CautionAnswer> {
    let mut all = Vec::new();
    let mut add = |id, text: String| all.push(CautionAnswer { id, text });
    if !answer.missing.is_empty() {
        add(
            "kind_missing",
            format!(
                "Not one guest of {} is among the {}: at its share it comes later than the limit. Raise its share, or \
                 give it a count if it must run.",
                listed(&answer.missing),
                plural(answer.guests, "guest", "guests")
            ),
        );
    }
    memory_cautions(model, answer, &mut add);
    cpu_cautions(model, &mut add);
    for (index, pool) in model.host.disks.iter().enumerate() {
        disk_cautions(model, counts, answer, index, pool, &mut add);
    }
    if model.host.power.is_some() {
        add(
            "circuits",
            "A wall circuit and its wiring have limits of their own: local codes decide, and a licensed electrician \
             settles what a circuit may carry."
                .to_owned(),
        );
    }
    add(
        "estimate",
        "This is an estimate from the numbers given. Measure a first handful of guests before you rely on it.".to_owned(),
    );
    all
}

fn memory_cautions(
    model: &HostModel,
    answer: &HostAnswer,
    add: &mut impl FnMut(&'static str, String),
) {
    let memory = &model.host.memory;
    if answer.guests > 0 && answer.memory.promised > model.beside_base() {
        add(
            "overcommit",
            "Guests are assigned more memory than is there beside the host's own. If they all use it, the \
             kernel kills guests and what they had not written is lost: keep nothing irreplaceable here without a backup."
                .to_owned(),
        );
    }
    if model.host.merging.mode != Mode::Off {
        add(
            "side_channel",
            "Page sharing lets one guest find out what another holds in memory (a side channel): use it only between \
             guests whose owners trust each other."
                .to_owned(),
        );
    }
    if model.host.merging.mode == Mode::Adaptive
        && model.lab.policy.memory_keep_free > model.host.merging.threshold
    {
        add(
            "scanner_late",
            "The adaptive scanner starts only after the safe limit has been passed, so page sharing was not counted \
             for it: keep less memory free or raise the scanner's threshold."
                .to_owned(),
        );
    }
    if answer.memory.shared_saved < 0.0 {
        add(
            "sharing_costs",
            "Page sharing costs more memory for bookkeeping than it saves with these guests: switch it off.".to_owned(),
        );
    }
    if memory.file_cache_floor < memory.file_cache {
        add(
            "cache_lets_go_slowly",
            "The file-system cache gives memory back more slowly than guests can grow: a sudden rush reaches the cliff \
             earlier than a slow one."
                .to_owned(),
        );
    }
    let swap = memory.swap + memory.compressed_swap;
    let demand = answer
        .resources
        .iter()
        .find(|one| one.name == "memory")
        .map_or(0.0, |one| one.at_risk);
    if swap > 0.0 && demand > model.beside_base() - memory.file_cache {
        add(
            "swap_in_use",
            "Swap is expected to be in use: that is slow, and it wears the disk.".to_owned(),
        );
    }
    if model.lab.guests.iter().any(|guest| guest.pinned) {
        add(
            "pinned",
            "A guest with a passed-through device takes all its assigned memory at once and never gives any back."
                .to_owned(),
        );
    }
}

fn cpu_cautions(model: &HostModel, add: &mut impl FnMut(&'static str, String)) {
    let slowest = processor::slowest(&model.host.cpu.groups);
    let names = |wanted: &dyn Fn(&Guest) -> bool| -> Vec<String> {
        let guests = model.lab.guests.iter().filter(|guest| wanted(guest));
        guests.map(|guest| guest.name.clone()).collect()
    };
    let slow = names(&|guest| !within(guest.busy_load, slowest));
    if !slow.is_empty() {
        add(
            "slow_cores",
            format!(
                "A busy vCPU of {} asks for more than the slowest cores give ({slowest} of the reference core): on \
                 those it runs slower even on an empty host.",
                listed(&slow)
            ),
        );
    }
    let wide = names(&|guest| guest.vcpus as f64 > model.threads);
    if !wide.is_empty() {
        add(
            "too_many_vcpus",
            format!(
                "{} has more vCPUs than the host has hardware threads ({}): it can never run on all of them at once.",
                listed(&wide),
                model.threads
            ),
        );
    }
}

fn disk_cautions(
    model: &HostModel,
    counts: &[u64],
    answer: &HostAnswer,
    index: usize,
    pool: &Pool,
    add: &mut impl FnMut(&'static str, String),
) {
    let name = &pool.name;
    let disk = &answer.disk[index];
    let wanted = model.lab.policy.service_life / crate::model::YEAR;
    if let Some(years) = disk.life_years.filter(|years| *years < SHORT_LIFE * wanted) {
        add(
            "disk_wear",
            format!(
                "The rated writes of {name} are used up in {}; past them the maker promises nothing: plan its \
                 replacement and keep a backup.",
                format::seconds(years * crate::model::YEAR)
            ),
        );
    }
    if matches!(pool.layout, Layout::Mirror { .. }) && pool.endurance.is_some() {
        add(
            "same_age",
            format!(
                "The mirrored devices of {name} wear alike and can end together: replace them at different times."
            ),
        );
    }
    if disk.promised > disk.owned {
        add(
            "thin_space",
            format!(
                "Guests on {name} were promised more disk than there is. When thin space runs out every guest on it \
                 stops: watch the fill and act well before."
            ),
        );
    }
    if pool.write_iops.is_some_and(|rate| rate > DATA_SHEET_WRITES)
        && pool.sustained_speed.is_none()
    {
        add(
            "data_sheet",
            format!(
                "write_iops of {name} looks like a data sheet's. Guests flush often, and steady figures can be a \
                 hundredth: measure it with small flushed writes."
            ),
        );
    }
    let growing = model.lab.guests.iter().zip(counts).filter(|(guest, n)| {
        **n > 0
            && model.pool_of(guest) == index
            && guest.disk_grows > 0.0
            && guest.disk_size <= guest.disk_used
    });
    let stuck: Vec<String> = growing.map(|(guest, _)| guest.name.clone()).collect();
    if !stuck.is_empty() {
        add(
            "growth_capped",
            format!(
                "{} grows by disk_grows but its disk_size is already used up, so no growth was counted: set disk_size.",
                listed(&stuck)
            ),
        );
    }
}
