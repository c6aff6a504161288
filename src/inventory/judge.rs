//! Values of one table that are right alone and do not go together; what is only put in order stands with the sections.

use crate::diagnose::ErrorKind;
use crate::lab::keys::Section;
use crate::lab::{Backup, CoreGroup, Guest, HostMemory, Kind, Layout, Pool};
use crate::unit::format;

use super::check::{Checked, Checker};
use super::fields::Fields;
use super::problem::relations::conflict;

/// A container has no memory of its own to hold back.
pub(super) fn guest<'t>(checker: &mut Checker<'t>, checked: &Checked<'t, Guest>, guest: &Guest) {
    let Checked { fields, draft } = checked;
    if draft.is_given("grows") && !draft.is_given("count") {
        let message = "`grows` needs `count` beside it";
        let labels = [("grows", "more of how many?")];
        let error = conflict(ErrorKind::UnpairedKey, message, fields, &labels);
        checker.report(error.hint("add count, how many run now; 1 is the least"));
    }
    for (name, set) in [("huge_pages", guest.huge_pages), ("pinned", guest.pinned)] {
        if let Some(key) = Section::Guest.key(name)
            && set
            && guest.kind == Kind::Container
        {
            let message = format!("a container cannot have `{name}`, only a machine can");
            let labels = [
                (name, key.meaning),
                ("kind", "a container has no memory of its own to hold back"),
            ];
            let error = conflict(ErrorKind::ConflictingKeys, message, fields, &labels);
            let hint = format!("leave `{name}` out, or write kind = \"vm\"");
            checker.report(error.hint(hint));
        }
    }
}

/// A pool has devices that its layout can be made of, and numbers that mean something only together.
pub(super) fn pool<'t>(checker: &mut Checker<'t>, checked: &Checked<'t, Pool>, pool: &Pool) {
    let Checked { fields, draft } = checked;
    let devices = pool.devices;
    let (fits, word, needs) = match pool.layout {
        Layout::Stripe => (true, "stripe", String::new()),
        Layout::Mirror { ways } => (
            devices.is_multiple_of(ways),
            "mirror",
            format!("a multiple of {ways} devices (its `ways`)"),
        ),
        Layout::Parity1 => (devices >= 3, "parity1", "at least 3 devices".to_owned()),
        Layout::Parity2 => (devices >= 4, "parity2", "at least 4 devices".to_owned()),
    };
    if !fits && draft.is_sound("devices") && draft.is_sound("ways") {
        let message = format!("`{word}` needs {needs}, but there are {devices}");
        let number = fields.node("devices").map(|node| node.place);
        let error = conflict(ErrorKind::InvalidLayout, message, fields, &[]).at_any(
            number.or(fields.header),
            "number of equal devices, 1 if left out",
        );
        let error = error.at_any(fields.node("layout").map(|node| node.place), "the layout");
        checker.report(error.hint("give another number of devices or another layout"));
    }
    let most = pool.capacity * devices as f64;
    if draft.is_right("base_used") && draft.is_right("capacity") && pool.base_used > most {
        let message = "`base_used` must be at most what the devices hold";
        let labels = [
            ("base_used", "taken by the host itself"),
            ("capacity", "of one device"),
        ];
        let error = conflict(ErrorKind::PartExceedsWhole, message, fields, &labels);
        checker.report(error.hint("lower it, or correct the capacity"));
    }
    for [one, other] in [["read_iops", "write_iops"], ["burst", "burst_speed"]] {
        let (given, left_out) = match [one, other].map(|name| draft.is_given(name)) {
            [true, false] => (one, other),
            [false, true] => (other, one),
            _ => continue,
        };
        if let Some(partner) = Section::Disk.key(left_out) {
            let message = format!("`{given}` needs `{left_out}` beside it");
            let labels = [(given, "means nothing alone")];
            let error = conflict(ErrorKind::UnpairedKey, message, fields, &labels);
            let hint = format!("add {}, {}", partner.example(), partner.meaning);
            checker.report(error.hint(hint));
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
        let message = "`file_cache_floor` is given without a `file_cache` that large";
        let labels = [(
            "file_cache_floor",
            "more than `file_cache`, which is 0 B if left out",
        )];
        let error = conflict(ErrorKind::PartExceedsWhole, message, fields, &labels);
        checker.report(error.hint("add file_cache, the size of the cache when it is full"));
    }
    if !draft.is_right("modules") {
        return;
    }
    let sum: f64 = memory.modules.iter().sum();
    // The frame table takes 64 bytes of each page, as in `model::memory`.
    let visible = (sum - memory.firmware_reserved) * (1.0 - 64.0 / 4096.0);
    if visible <= 0.0 {
        let message = "the modules hold no more than the firmware keeps for itself";
        let labels = [
            ("modules", "all the memory there is"),
            ("firmware_reserved", "held back by firmware and devices"),
        ];
        let hint = "firmware_reserved is \"0.5 GiB\" if left out; give less, or larger modules";
        let error = conflict(ErrorKind::NoMemoryLeft, message, fields, &labels);
        return checker.report(error.hint(hint));
    }
    if own(checker, checked, memory, visible) {
        return;
    }
    if memory.compressed_swap / memory.compressed_swap_ratio >= visible {
        let message = "compressed swap, when full, takes all the memory there is";
        let labels = [
            ("compressed_swap", "its uncompressed size"),
            ("compressed_swap_ratio", "how many times smaller it gets"),
        ];
        let hint = "compressed_swap / compressed_swap_ratio must be less than the modules hold";
        let error = conflict(ErrorKind::NoMemoryLeft, message, fields, &labels);
        checker.report(error.hint(hint));
    }
    plugged(checker, checked, memory);
}

/// Whether the host itself keeps all of what its kernel sees, which is reported.
fn own<'t>(
    checker: &mut Checker<'t>,
    Checked { fields, draft }: &Checked<'t, HostMemory>,
    memory: &HostMemory,
    visible: f64,
) -> bool {
    let kept = memory.base + memory.file_cache_floor;
    let is_given = ["base", "file_cache", "file_cache_floor"]
        .iter()
        .any(|key| draft.is_given(key));
    let is_sound = ["base", "file_cache_floor"]
        .iter()
        .all(|key| draft.is_sound(key));
    if is_given && is_sound && kept >= visible {
        let message = format!(
            "the host itself keeps {} of the {} that its kernel sees",
            format::bytes(kept),
            format::bytes(visible)
        );
        let labels = [
            ("base", "its operating system and services"),
            ("file_cache_floor", "the least of its cache"),
            ("file_cache", "its cache"),
            ("modules", "all the memory there is"),
        ];
        let hint = "no guest can ever run there; lower `base` or the cache, or give larger modules";
        let error = conflict(ErrorKind::NoMemoryLeft, message, fields, &labels);
        checker.report(error.hint(hint));
        return true;
    }
    false
}

/// The host, which uses `own` cores itself, leaves something of its processor.
pub(super) fn cpu(checker: &mut Checker<'_>, fields: &Fields<'_>, own: f64, groups: &[CoreGroup]) {
    let threads = |group: &CoreGroup| (group.cores * group.threads) as f64 * group.speed;
    let most: f64 = groups.iter().map(threads).sum();
    if own >= most {
        let message = "`base_cores` must be less than all hardware threads of the host";
        let labels = [
            ("base_cores", "what the host itself uses"),
            ("groups", "all the cores there are"),
        ];
        let error = conflict(ErrorKind::PartExceedsWhole, message, fields, &labels);
        checker
            .report(error.hint("no guest can ever run there; lower it, or count the cores again"));
    }
}

/// The modules fit into the slots of the board.
fn plugged<'t>(
    checker: &mut Checker<'t>,
    Checked { fields, .. }: &Checked<'t, HostMemory>,
    memory: &HostMemory,
) {
    let modules = memory.modules.len();
    if let Some(slots) = memory.slots.filter(|slots| modules as u64 > *slots) {
        let slots = format::plural(slots, "slot", "slots");
        let message = format!("{modules} modules do not fit into {slots}");
        let labels = [
            ("modules", "more modules than slots"),
            ("slots", "slots on the board"),
        ];
        let error = conflict(ErrorKind::ModulesDoNotFit, message, fields, &labels);
        checker.report(error.hint("count the modules, or the slots, again"));
    }
    if let Some(largest) = memory.max_module
        && memory.modules.iter().any(|module| *module > largest)
    {
        let message = "a module is larger than the board takes";
        let labels = [
            ("modules", "holds a module that is too large"),
            ("max_module", "largest module the board takes"),
        ];
        let error = conflict(ErrorKind::ModulesDoNotFit, message, fields, &labels);
        checker.report(error.hint("raise max_module, or use smaller modules"));
    }
}

/// Something limits the speed of a backup.
pub(super) fn backup<'t>(
    checker: &mut Checker<'t>,
    Checked { fields, draft }: &Checked<'t, Backup>,
    link: Option<f64>,
) {
    if !draft.is_given("speed") && link.is_none() {
        let message = "the backup has a window but nothing that limits its speed";
        let hint = "add speed = \"110 MB/s\" to [host.backup], or [host.network] with its link";
        let error = conflict(ErrorKind::UnpairedKey, message, fields, &[])
            .at_any(fields.header, "neither `speed` nor [host.network] is given");
        checker.report(error.hint(hint));
    }
}
