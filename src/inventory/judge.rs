//! Values of one table that are right alone and do not go together; what is only put in order stands with the sections.

use crate::lab::keys::Section;
use crate::lab::{Backup, Guest, HostMemory, Kind, Layout, Pool};

use super::check::{Checked, Checker};
use super::problem::Relation;

/// A container has no memory of its own to hold back, and a guest has a number or a weight.
pub(super) fn guest<'t>(checker: &mut Checker<'t>, checked: &Checked<'t, Guest>, guest: &Guest) {
    let Checked { fields, draft } = checked;
    for (name, set) in [("huge_pages", guest.huge_pages), ("pinned", guest.pinned)] {
        if let Some(key) = Section::Guest.key(name)
            && set
            && guest.kind == Kind::Container
        {
            checker.relation(fields, &Relation::OnlyMachines(key));
        }
    }
    if draft.is_given("count") && draft.is_given("share") {
        checker.relation(fields, &Relation::ShareAndCount);
    }
}

/// A pool has devices that its layout can be made of, and numbers that mean something only together.
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
        checker.relation(fields, &Relation::Layout(pool.layout, devices));
    }
    for [one, other] in [["read_iops", "write_iops"], ["burst", "burst_speed"]] {
        let (given, left_out) = match [one, other].map(|name| draft.is_given(name)) {
            [true, false] => (one, other),
            [false, true] => (other, one),
            _ => continue,
        };
        if let Some(partner) = Section::Disk.key(left_out) {
            checker.relation(fields, &Relation::Unpaired(given, partner));
        }
    }
}

/// The kernel sees some memory, its cache has a size, and the modules can be plugged.
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
        checker.relation(fields, &Relation::FloorWithoutCache);
    }
    if !draft.is_right("modules") {
        return;
    }
    let sum: f64 = memory.modules.iter().sum();
    // The frame table takes 64 bytes of each page, as in `model::memory`.
    let visible = (sum - memory.firmware_reserved) * (1.0 - 64.0 / 4096.0);
    if visible <= 0.0 {
        return checker.relation(fields, &Relation::NoMemory);
    }
    if memory.compressed_swap / memory.compressed_swap_ratio >= visible {
        checker.relation(fields, &Relation::NoMemoryBesideSwap);
    }
    let modules = memory.modules.len();
    if let Some(slots) = memory.slots.filter(|slots| modules as u64 > *slots) {
        checker.relation(fields, &Relation::TooManyModules(modules, slots));
    }
    if let Some(largest) = memory.max_module
        && memory.modules.iter().any(|module| *module > largest)
    {
        checker.relation(fields, &Relation::ModuleTooLarge);
    }
}

/// Something limits the speed of a backup.
pub(super) fn backup<'t>(
    checker: &mut Checker<'t>,
    checked: &Checked<'t, Backup>,
    link: Option<f64>,
) {
    if !checked.draft.is_given("speed") && link.is_none() {
        checker.relation(&checked.fields, &Relation::BackupWithoutSpeed);
    }
}
