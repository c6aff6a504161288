//! Values of one table that are valid alone and contradict one another; the order between keys is checked by the steps of
//! the sections.

use crate::lab::keys::Section;
use crate::lab::{Backup, CoreGroup, Cpu, Guest, HostMemory, Kind, Layout, Pool};

use super::check::{Checked, Checker};
use super::problem::conflicts;

/// A guest.
pub(super) fn guest<'t>(checker: &mut Checker<'t>, checked: &Checked<'t, Guest>) {
    let (fields, draft, guest) = (&checked.fields, &checked.draft, &checked.table);
    if draft.is_given("grows") && !draft.is_given("count") {
        checker.report(conflicts::growth_alone(fields));
    }
    for (name, set) in [("huge_pages", guest.huge_pages), ("pinned", guest.pinned)] {
        if let Some(key) = Section::Guest.key(name)
            && set
            && guest.kind == Kind::Container
        {
            checker.report(conflicts::container(fields, key));
        }
    }
}

/// A pool of disks.
pub(super) fn pool<'t>(checker: &mut Checker<'t>, checked: &Checked<'t, Pool>) {
    let (fields, draft, pool) = (&checked.fields, &checked.draft, &checked.table);
    let devices = pool.devices;
    let fits = match pool.layout {
        Layout::Stripe => true,
        Layout::Mirror { ways } => devices.is_multiple_of(ways),
        Layout::Parity1 => devices >= 3,
        Layout::Parity2 => devices >= 4,
    };
    if !fits && draft.is_valid("devices") && draft.is_valid("ways") {
        checker.report(conflicts::devices(fields, pool.layout, devices));
    }
    let most = pool.capacity * devices as f64;
    if draft.is_given_valid("base_used")
        && draft.is_given_valid("capacity")
        && pool.base_used > most
    {
        checker.report(conflicts::base_used(fields));
    }
    for pair in [["read_iops", "write_iops"], ["burst", "burst_speed"]] {
        let [Some(one), Some(other)] = pair.map(|name| Section::Disk.key(name)) else {
            continue;
        };
        match pair.map(|name| draft.is_given(name)) {
            [true, false] => checker.report(conflicts::unpaired(fields, one, other)),
            [false, true] => checker.report(conflicts::unpaired(fields, other, one)),
            _ => {}
        }
    }
}

/// The memory of a host.
pub(super) fn memory<'t>(checker: &mut Checker<'t>, checked: &Checked<'t, HostMemory>) {
    let (fields, draft, memory) = (&checked.fields, &checked.draft, &checked.table);
    let given = &draft.table;
    if draft.is_given_valid("file_cache_floor")
        && !draft.is_given_valid("file_cache")
        && given.file_cache_floor > given.file_cache
    {
        checker.report(conflicts::cache_floor(fields));
    }
    if !draft.is_given_valid("modules") {
        return;
    }
    let sum: f64 = memory.modules.iter().sum();
    // The frame table takes 64 bytes of each page, as in `model::memory`.
    let visible = (sum - memory.firmware_reserved) * (1.0 - 64.0 / 4096.0);
    if visible <= 0.0 {
        return checker.report(conflicts::firmware(fields));
    }
    let kept = memory.base + memory.file_cache_floor;
    let is_given = ["base", "file_cache", "file_cache_floor"]
        .iter()
        .any(|key| draft.is_given(key));
    let is_sound = ["base", "file_cache_floor"]
        .iter()
        .all(|key| draft.is_valid(key));
    if is_given && is_sound && kept >= visible {
        return checker.report(conflicts::host(fields, kept, visible));
    }
    if memory.compressed_swap / memory.compressed_swap_ratio >= visible {
        checker.report(conflicts::compressed_swap(fields, visible));
    }
    let modules = memory.modules.len();
    if let Some(slots) = memory.slots.filter(|slots| modules as u64 > *slots) {
        checker.report(conflicts::modules(fields, modules, slots));
    }
    if let Some(largest) = memory.max_module
        && memory.modules.iter().any(|module| *module > largest)
    {
        checker.report(conflicts::large_module(fields));
    }
}

/// The cores of a host, of which it uses some itself.
pub(super) fn cpu<'t>(checker: &mut Checker<'t>, checked: &Checked<'t, Cpu>) {
    let threads = |group: &CoreGroup| (group.cores * group.threads) as f64 * group.speed;
    let Cpu { base_cores, groups } = &checked.table;
    if checked.draft.is_given_valid("base_cores")
        && !groups.is_empty()
        && *base_cores >= groups.iter().map(threads).sum()
    {
        checker.report(conflicts::base_cores(&checked.fields));
    }
}

/// A backup of the guests of a host, behind its link.
pub(super) fn backup<'t>(
    checker: &mut Checker<'t>,
    Checked { fields, draft, .. }: &Checked<'t, Backup>,
    link: Option<f64>,
) {
    if !draft.is_given("speed") && link.is_none() {
        checker.report(conflicts::backup(fields));
    }
}
