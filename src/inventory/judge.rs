//! Values of one table that are right alone and do not go together; what is only put in order stands with the sections.

use crate::lab::keys::Section;
use crate::lab::{Backup, CoreGroup, Guest, HostMemory, Kind, Layout, Pool};

use super::check::{Checked, Checker};
use super::fields::Fields;
use super::problem::relations::Conflict;

/// A guest.
pub(super) fn guest<'t>(checker: &mut Checker<'t>, checked: &Checked<'t, Guest>, guest: &Guest) {
    let Checked { fields, draft } = checked;
    if draft.is_given("grows") && !draft.is_given("count") {
        checker.conflict(fields, Conflict::GrowthAlone);
    }
    for (name, set) in [("huge_pages", guest.huge_pages), ("pinned", guest.pinned)] {
        if let Some(key) = Section::Guest.key(name)
            && set
            && guest.kind == Kind::Container
        {
            checker.conflict(fields, Conflict::Container(key));
        }
    }
}

/// A pool of disks.
pub(super) fn pool<'t>(checker: &mut Checker<'t>, checked: &Checked<'t, Pool>, pool: &Pool) {
    let Checked { fields, draft } = checked;
    let devices = pool.devices;
    let fits = match pool.layout {
        Layout::Stripe => true,
        Layout::Mirror { ways } => devices.is_multiple_of(ways),
        Layout::Parity1 => devices >= 3,
        Layout::Parity2 => devices >= 4,
    };
    if !fits && draft.is_sound("devices") && draft.is_sound("ways") {
        checker.conflict(fields, Conflict::Devices(pool.layout, devices));
    }
    let most = pool.capacity * devices as f64;
    if draft.is_right("base_used") && draft.is_right("capacity") && pool.base_used > most {
        checker.conflict(fields, Conflict::BaseUsed);
    }
    for pair in [["read_iops", "write_iops"], ["burst", "burst_speed"]] {
        let [Some(one), Some(other)] = pair.map(|name| Section::Disk.key(name)) else {
            continue;
        };
        match pair.map(|name| draft.is_given(name)) {
            [true, false] => checker.conflict(fields, Conflict::Unpaired(one, other)),
            [false, true] => checker.conflict(fields, Conflict::Unpaired(other, one)),
            _ => {}
        }
    }
}

/// The memory of a host.
pub(super) fn memory<'t>(
    checker: &mut Checker<'t>,
    checked: &Checked<'t, HostMemory>,
    memory: &HostMemory,
) {
    let Checked { fields, draft } = checked;
    let given = draft.table();
    if draft.is_right("file_cache_floor")
        && !draft.is_right("file_cache")
        && given.file_cache_floor > given.file_cache
    {
        checker.conflict(fields, Conflict::Floor);
    }
    if !draft.is_right("modules") {
        return;
    }
    let sum: f64 = memory.modules.iter().sum();
    // The frame table takes 64 bytes of each page, as in `model::memory`.
    let visible = (sum - memory.firmware_reserved) * (1.0 - 64.0 / 4096.0);
    if visible <= 0.0 {
        return checker.conflict(fields, Conflict::Firmware);
    }
    let kept = memory.base + memory.file_cache_floor;
    let is_given = ["base", "file_cache", "file_cache_floor"]
        .iter()
        .any(|key| draft.is_given(key));
    let is_sound = ["base", "file_cache_floor"]
        .iter()
        .all(|key| draft.is_sound(key));
    if is_given && is_sound && kept >= visible {
        return checker.conflict(fields, Conflict::Host(kept, visible));
    }
    if memory.compressed_swap / memory.compressed_swap_ratio >= visible {
        checker.conflict(fields, Conflict::CompressedSwap(visible));
    }
    let modules = memory.modules.len();
    if let Some(slots) = memory.slots.filter(|slots| modules as u64 > *slots) {
        checker.conflict(fields, Conflict::Modules(modules, slots));
    }
    if let Some(largest) = memory.max_module
        && memory.modules.iter().any(|module| *module > largest)
    {
        checker.conflict(fields, Conflict::LargeModule);
    }
}

/// The cores of a host, of which it uses so many itself.
pub(super) fn cpu(checker: &mut Checker<'_>, fields: &Fields<'_>, own: f64, groups: &[CoreGroup]) {
    let threads = |group: &CoreGroup| (group.cores * group.threads) as f64 * group.speed;
    if own >= groups.iter().map(threads).sum() {
        checker.conflict(fields, Conflict::BaseCores);
    }
}

/// A backup of the guests of a host, behind its link.
pub(super) fn backup<'t>(
    checker: &mut Checker<'t>,
    Checked { fields, draft }: &Checked<'t, Backup>,
    link: Option<f64>,
) {
    if !draft.is_given("speed") && link.is_none() {
        checker.conflict(fields, Conflict::Backup);
    }
}
