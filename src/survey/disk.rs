//! Disks, and the arrays that the kernel makes of them.

use std::collections::BTreeMap;

use super::array::{self, Array};
use super::parse::{self, SECTOR};
use super::root::Root;
use super::table::{HostTable, Value, written};
use crate::lab::keys::Section;
use crate::model::{DAY, GIB};
use crate::unit::format;

const BLOCK: &str = "sys/block";
/// Smaller arrays hold what a machine boots from, not guests `[B]` (assumption).
const SMALL: f64 = 4.0 * GIB;

/// One disk.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Disk {
    pub name: String,
    pub capacity: f64,
    pub rotates: Option<bool>,
}

/// Writes `[[host.disk]]`, a pool an array and a pool a disk that is in none.
pub(super) fn read(root: &Root, table: &mut HostTable) {
    let names = root.names(BLOCK);
    if names.is_empty() {
        table.note(format!(
            "disks: nothing in /{BLOCK} can be read; add [[host.disk]] by hand"
        ));
        return;
    }
    let arrays: Vec<Array> = names
        .iter()
        .filter(|name| name.starts_with("md"))
        .filter_map(|name| array::read(root, name))
        .collect();
    let disks: Vec<Disk> = names
        .iter()
        .filter_map(|name| disk(root, name, table))
        .collect();
    let mut pools: Vec<(f64, Pool)> = Vec::new();
    for array in &arrays {
        if array.usable < SMALL {
            table.note(format!(
                "array {}: {} of {}, left out as too small for guests",
                array.name,
                array.level,
                format::decimal_bytes(array.usable)
            ));
        } else {
            pools.push((array.usable, Pool::Array(array)));
        }
    }
    for disk in &disks {
        let mut large = arrays.iter().filter(|array| array.usable >= SMALL);
        if large.any(|array| {
            array
                .members
                .iter()
                .any(|member| belongs(root, &disk.name, member))
        }) {
            continue;
        }
        pools.push((disk.capacity, Pool::Disk(disk)));
    }
    // Guests without `disk` lie on the first pool, so the largest comes first.
    pools.sort_by(|one, other| other.0.total_cmp(&one.0));
    if pools.is_empty() {
        table.note(format!(
            "disks: /{BLOCK} shows none that stays in the machine; add [[host.disk]] by hand"
        ));
    }
    let rates = rates(root);
    for (_, pool) in &pools {
        table.open(Section::Disk);
        match pool {
            Pool::Array(array) => array::write(array, &disks, table),
            Pool::Disk(disk) => {
                table.put("name", Value::Name(disk.name.clone()), format!("/{BLOCK}"));
                table.put(
                    "capacity",
                    disk.capacity,
                    format!(
                        "{} (/{BLOCK}/{}/size, sectors of 512 B)",
                        format::decimal_bytes(disk.capacity),
                        disk.name
                    ),
                );
                turning(disk.rotates, table);
            }
        }
        let own = match pool {
            Pool::Array(array) => &array.name,
            Pool::Disk(disk) => &disk.name,
        };
        if let Some(rate) = rates.get(own) {
            table.note(format!(
                "written since boot: {} on average, guests included (/proc/diskstats, /proc/uptime)",
                format::bytes_per_day(rate * DAY)
            ));
        }
        table.note("read_iops, write_iops, endurance, already_written: not to be read without root; from a test and the device's own log");
    }
    others(root, &names, table);
}

enum Pool<'a> {
    Array(&'a Array),
    Disk(&'a Disk),
}

/// Names of the disks that stay in the machine.
pub(super) fn staying(root: &Root) -> Vec<String> {
    let mut told = HostTable::default();
    root.names(BLOCK)
        .into_iter()
        .filter(|name| disk(root, name, &mut told).is_some())
        .collect()
}

/// A disk that stays in the machine.
fn disk(root: &Root, name: &str, table: &mut HostTable) -> Option<Disk> {
    let folder = format!("{BLOCK}/{name}");
    // What the kernel makes of other devices has no device of its own.
    if !root.exists(&format!("{folder}/device"))
        || root.number(&format!("{folder}/hidden")) == Ok(1.0)
    {
        return None;
    }
    if root.number(&format!("{folder}/removable")) == Ok(1.0) {
        table.note(format!(
            "{name}: left out, it can be taken out of the machine"
        ));
        return None;
    }
    match root.number(&format!("{folder}/size")) {
        Ok(sectors) if written(Section::Disk, "capacity", sectors * SECTOR).is_some() => {
            Some(Disk {
                name: name.to_owned(),
                capacity: sectors * SECTOR,
                rotates: root
                    .number(&format!("{folder}/queue/rotational"))
                    .ok()
                    .map(|turns| turns != 0.0),
            })
        }
        Ok(_) => {
            table.note(format!(
                "{name}: left out, it has no size that a disk can have"
            ));
            None
        }
        Err(why) => {
            table.note(format!("{name}: left out, /{folder}/size: {why}"));
            None
        }
    }
}

/// Whether `member` of an array is the disk or a partition of it.
fn belongs(root: &Root, disk: &str, member: &str) -> bool {
    member == disk || (member.starts_with(disk) && root.exists(&format!("{BLOCK}/{disk}/{member}")))
}

/// Says whether a device turns.
pub(super) fn turning(rotates: Option<bool>, table: &mut HostTable) {
    match rotates {
        Some(true) => table.note(
            "the kernel takes it for one that turns: expect about 75 to 150 operations per second (common practice, no source)",
        ),
        Some(false) => table.note("the kernel takes it for one that does not turn"),
        None => table.note("whether it turns could not be read"),
    }
}

/// What each device has been written since boot on average `[B/s]`.
fn rates(root: &Root) -> BTreeMap<String, f64> {
    let uptime = root.text("proc/uptime").ok();
    let seconds: Option<f64> = uptime.and_then(|text| text.split_whitespace().next()?.parse().ok());
    let Some(seconds) = seconds.filter(|seconds| *seconds > 0.0) else {
        return BTreeMap::new();
    };
    let traffic = parse::diskstats(&root.text("proc/diskstats").unwrap_or_default());
    traffic
        .into_iter()
        .map(|one| (one.name, one.written / seconds))
        .collect()
}

/// What else there is, so that nobody misses it.
fn others(root: &Root, names: &[String], table: &mut HostTable) {
    let mapped = names.iter().filter(|name| name.starts_with("dm-")).count();
    if mapped > 0 {
        table.note(format!(
            "not listed, because on the devices above: {}",
            format::plural(mapped as u64, "mapped volume", "mapped volumes")
        ));
    }
    let folder = super::memory::CACHE_STATISTICS
        .rsplit_once('/')
        .map_or("", |(folder, _)| folder);
    let pools: Vec<String> = root
        .names(folder)
        .into_iter()
        .filter(|name| root.exists(&format!("{folder}/{name}/state")))
        .collect();
    if !pools.is_empty() {
        table.note(format!(
            "copy-on-write pools found: {}; their layout cannot be read here, so set devices, layout and amplification \
             by hand",
            pools.join(", ")
        ));
    }
}
