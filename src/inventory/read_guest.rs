//! Reads `[[guest]]`.

mod flags;
mod memory;

use std::collections::HashMap;

use crate::diagnose::ErrorKind;
use crate::diagnose::source::Place;
use crate::diagnose::{Diagnostic, suggest};

use super::fields::Fields;
use super::locate;
use super::read::{Reader, whole};
use super::relation::Named;
use super::tree::Node;
use crate::lab::keys::Section;
use crate::lab::{CloneKind, Guest, Kind, Number as HowMany};

use self::flags::{Flags, overhead_default};
use self::memory::Memory;

/// 2^20 bytes.
const MIB: f64 = 1_048_576.0;
/// Disk that a guest uses if that is not given `[B]`, assumption.
const DISK_USED: f64 = 4096.0 * MIB;

/// A guest profile and the places that other checks point at.
pub(super) struct ReadGuest {
    /// The profile.
    pub guest: Guest,
    /// Where its name stands.
    pub name_place: Option<Place>,
    /// Where the pool it names stands.
    pub disk_place: Option<Place>,
}

/// Reads one guest; `images` are the names of the images and their indices.
pub(super) fn guest<'t>(
    reader: &mut Reader<'t>,
    node: &'t Node,
    images: &HashMap<&str, usize>,
) -> ReadGuest {
    let name = Reader::path_name(node);
    let fields = reader.open(
        Section::Guest,
        locate::join("guest", name),
        Some(node),
        None,
    );
    let (name, name_place) = reader.name(&fields);
    let kind = if reader.word(&fields, "kind") == "container" {
        Kind::Container
    } else {
        Kind::Machine
    };
    let image = image(reader, &fields, images);
    let number = how_many(reader, &fields);
    let vcpus = reader.count(&fields, "vcpus");
    let flags = Flags::read(reader, &fields, kind);
    let memory = reader.number(&fields, "memory");
    let held_memory = Memory::read(reader, &fields, kind, memory, flags.backing());
    let overhead = reader
        .number_if_given(&fields, "overhead")
        .map(|number| number.value);
    let overhead =
        overhead.unwrap_or_else(|| overhead_default(reader, &fields, kind, vcpus, memory.value));
    let [working_set, balloon_floor] = ["working_set", "balloon_floor"].map(|name| {
        let number = reader.number_if_given(&fields, name)?;
        Some(reader.at_most(
            Named { name, number },
            Named {
                name: "memory",
                number: memory,
            },
        ))
    });
    let [idle_load, busy_load] = reader.pair(&fields, ["idle_load", "busy_load"], [0.01, 0.6]);
    let disk = reader.text(&fields, "disk");
    let clone = if reader.word(&fields, "clone") == "copy" {
        CloneKind::Copy
    } else {
        CloneKind::Overlay
    };
    let [disk_used, disk_size] = disk_sizes(reader, &fields);
    let trims = reader.flag(&fields, "trims");
    let [reads_idle, reads_busy] = reader.pair(&fields, ["reads_idle", "reads_busy"], [0.0, 0.0]);
    let [writes_idle, writes_busy] =
        reader.pair(&fields, ["writes_idle", "writes_busy"], [1.0, 0.0]);
    let [net_idle, net_busy] = reader.pair(&fields, ["net_idle", "net_busy"], [0.0, 0.0]);
    let mut number_of = |name| reader.number(&fields, name).value;
    let guest = Guest {
        name,
        kind,
        image,
        number,
        vcpus,
        memory: memory.value,
        touched: held_memory.touched,
        touched_busy: held_memory.touched_busy,
        common: held_memory.common,
        common_busy: held_memory.common_busy,
        repeats: held_memory.repeats,
        keeps: held_memory.keeps,
        overhead,
        busy_breaks: held_memory.busy_breaks,
        rewrite_interval: number_of("rewrite_interval"),
        working_set,
        balloon_floor,
        merge: flags.merge,
        huge_pages: flags.huge_pages,
        pinned: flags.pinned,
        busy: number_of("busy"),
        idle_load,
        busy_load,
        disk: disk.map(|(disk, _)| disk.to_owned()),
        clone,
        disk_used,
        disk_size,
        disk_grows: number_of("disk_grows"),
        trims,
        backup: number_of("backup"),
        reads_idle,
        reads_busy,
        writes_idle,
        writes_busy,
        written: number_of("written"),
        net_idle,
        net_busy,
        boot_time: number_of("boot_time"),
        boot_cpu: number_of("boot_cpu"),
        boot_reads: number_of("boot_reads"),
        boot_writes: number_of("boot_writes"),
    };
    ReadGuest {
        guest,
        name_place,
        disk_place: disk.map(|(_, place)| place),
    }
}

/// The image, which must exist.
fn image<'t>(
    reader: &mut Reader<'t>,
    fields: &Fields<'t>,
    images: &HashMap<&str, usize>,
) -> Option<usize> {
    let Some((name, place)) = reader.text(fields, "image") else {
        if fields.node("image").is_none() {
            reader.note_rule(fields, "image", "");
        }
        return None;
    };
    let found = images.get(name).copied();
    if found.is_none() {
        let mut names: Vec<&str> = images.keys().copied().collect();
        names.sort_unstable();
        let hint = match suggest::closest(name, names.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None if names.is_empty() => {
                format!("define it: [[image]] with name = \"{name}\" and its size")
            }
            None => format!("there is {}", suggest::list(names, 20)),
        };
        let message = format!("there is no image `{name}`");
        reader.report(
            Diagnostic::new(ErrorKind::UnknownReference, message)
                .at(place, "names no image")
                .hint(hint),
        );
    }
    found
}

/// `count` or `share`, not both; a share of 1 if neither is given.
fn how_many<'t>(reader: &mut Reader<'t>, fields: &Fields<'t>) -> HowMany {
    let count = reader.number_if_given(fields, "count");
    let share = reader.number_if_given(fields, "share");
    match (count, share) {
        (Some(count), None) => HowMany::Fixed(whole(count.value)),
        (None, Some(share)) => HowMany::Share(share.value),
        (None, None) => {
            reader.note_rule(fields, "share", "");
            HowMany::Share(1.0)
        }
        (Some(count), Some(_)) => {
            let place = |name| fields.node(name).map(|node| node.place);
            let error = Diagnostic::new(
                ErrorKind::ConflictingKeys,
                "a guest has either a `count` or a `share`, but this has both",
            )
            .at_any(place("share"), "a weight in the mix that is multiplied")
            .at_any(place("count"), "how many must run")
            .hint("keep `count` for guests that must run, `share` for those that are multiplied");
            reader.report(error);
            HowMany::Fixed(whole(count.value))
        }
    }
}

/// `disk_used` ≤ `disk_size`; each defaults to what fits the other.
fn disk_sizes<'t>(reader: &mut Reader<'t>, fields: &Fields<'t>) -> [f64; 2] {
    reader.pair(fields, ["disk_used", "disk_size"], [DISK_USED, 0.0])
}
