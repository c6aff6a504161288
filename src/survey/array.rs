//! Arrays of disks that the kernel makes (md).

use super::parse::SECTOR;
use super::root::Root;
use super::table::{HostTable, quoted, toml_value};
use crate::lab::keys::Section;
use crate::unit::format;

/// One array.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Array {
    pub name: String,
    /// What the kernel calls its level.
    pub level: String,
    /// Devices it should have.
    pub devices: u64,
    /// Of each device, used by it `[B]`.
    pub component: f64,
    /// What it offers `[B]`.
    pub usable: f64,
    /// Copies of each block.
    pub copies: u64,
    /// Devices that are missing now.
    pub degraded: u64,
    /// Its members: disks or partitions.
    pub members: Vec<String>,
}

/// Layout of an array with two near copies, the usual one.
const NEAR_TWO: f64 = 258.0;
/// More devices of an array than this are taken for an error.
const MOST_DEVICES: f64 = 10_000.0;

/// Reads one; none where there is no array of that name or it has no size.
pub(super) fn read(root: &Root, name: &str) -> Option<Array> {
    let folder = format!("sys/block/{name}");
    let number = |file: &str| root.number(&format!("{folder}/{file}")).ok();
    let whole = |file: &str| {
        let number = number(file).filter(|number| (0.0..=MOST_DEVICES).contains(number));
        number.map(|number| number as u64)
    };
    let is_allowed = |bytes: &f64| toml_value(Section::Disk, "capacity", *bytes).is_some();
    let usable = Some(number("size")? * SECTOR).filter(is_allowed)?;
    let level = root.text(&format!("{folder}/md/level"));
    let level = level.unwrap_or_else(|_| "unknown".to_owned());
    let members = root.names(&format!("{folder}/slaves"));
    let devices = whole("md/raid_disks")
        .filter(|devices| *devices > 0)
        .unwrap_or((members.len() as u64).max(1));
    let copies = match level.as_str() {
        "raid1" => devices,
        "raid10" => {
            // The lowest byte counts near copies, the next one far copies. Source: Linux drivers/md/raid10.c.
            let layout = number("md/layout").unwrap_or(NEAR_TWO) as u64;
            (layout & 0xff).max(1) * (layout >> 8 & 0xff).max(1)
        }
        _ => 1,
    };
    // The kernel gives what it uses of each device in KiB, 0 where devices differ.
    let component = number("md/component_size").map(|kib| kib * 1024.0);
    Some(Array {
        name: name.to_owned(),
        component: component
            .filter(is_allowed)
            .unwrap_or(usable / devices as f64),
        level,
        devices,
        usable,
        copies,
        degraded: whole("md/degraded").unwrap_or(0),
        members,
    })
}

/// Layout and copies in the inventory's words, where it has any for this array.
fn layout(array: &Array) -> Option<(&'static str, Option<u64>)> {
    match (array.level.as_str(), array.devices) {
        ("raid0" | "linear", _) | (_, 1) => Some(("stripe", None)),
        ("raid1" | "raid10", devices) if array.copies == 1 && devices > 1 => Some(("stripe", None)),
        ("raid1" | "raid10", devices) if array.copies > 1 && devices % array.copies == 0 => {
            Some(("mirror", Some(array.copies)))
        }
        ("raid4" | "raid5", 3..) => Some(("parity1", None)),
        ("raid6", 4..) => Some(("parity2", None)),
        _ => None,
    }
}

/// Writes one as a pool.
pub(super) fn write(array: &Array, table: &mut HostTable) {
    let folder = format!("/sys/block/{}", array.name);
    table.put_text("name", &quoted(&array.name), &folder);
    if let Some((word, copies)) = layout(array) {
        let members = array.members.join(", ");
        let origin = format!("{folder}/md/raid_disks: {members}");
        table.put("devices", array.devices as f64, origin);
        let size = format::decimal_bytes(array.component);
        let origin = format!("{size} of each device ({folder}/md/component_size)");
        table.put("capacity", array.component, origin);
        let origin = format!("{folder}/md/level: {}", array.level);
        table.put_text("layout", &quoted(word), origin);
        if let Some(copies) = copies {
            table.put("ways", copies as f64, "copies of each block");
        }
    } else {
        let size = format::decimal_bytes(array.usable);
        let origin = format!("{size} usable ({folder}/size)");
        table.put("capacity", array.usable, origin);
        table.note(format!(
            "layout: {} of {} is none that the inventory knows; written as one device of its usable size, so each \
             write counts once: add what it costs to write_iops and amplification",
            array.level,
            format::plural(array.devices, "device", "devices")
        ));
    }
    if array.degraded > 0 {
        let are = if array.degraded == 1 { "is" } else { "are" };
        table.note(format!(
            "CAUTION: {} of its devices {are} missing now ({folder}/md/degraded)",
            array.degraded
        ));
    }
}
