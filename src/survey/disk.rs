//! Disks, and the arrays that the kernel makes of them.

use std::collections::BTreeMap;

use super::array::{self, Array};
use super::memory::CACHE_FOLDER;
use super::parse::{self, SECTOR};
use super::processor::is_guest;
use super::root::Root;
use super::table::{HostTable, quoted, toml_value};
use crate::lab::keys::Section;
use crate::model::{DAY, GIB};
use crate::unit::format;

const BLOCK: &str = "sys/block";
/// Smaller arrays hold what a machine boots from, not guests `[B]` (assumption).
const SMALL: f64 = 4.0 * GIB;

/// What becomes a pool: a disk, or an array of disks.
#[derive(Debug)]
struct Pool {
    name: String,
    /// What it offers `[B]`.
    size: f64,
    /// Whether it is rotational; an array is as soon as one of its members is.
    rotates: Option<bool>,
    array: Option<Array>,
}

/// Writes `[[host.disk]]`, a pool an array and a pool a disk that is in none.
pub(super) fn read(root: &Root, guests: Option<u64>, table: &mut HostTable) {
    let names = root.names(BLOCK);
    if names.is_empty() {
        return table.note(format!(
            "disks: nothing in /{BLOCK} can be read; add [[host.disk]] by hand"
        ));
    }
    let pools = pools(root, &names, table);
    if pools.is_empty() {
        table.note(format!(
            "disks: /{BLOCK} shows none that stays in the machine; add [[host.disk]] by hand"
        ));
    }
    let written = written_since_boot(root);
    let in_guest = is_guest(root);
    for pool in &pools {
        table.open(Section::Disk);
        match &pool.array {
            Some(array) => array::write(array, table),
            None => write(pool, table),
        }
        base_used(root, &pool.name, guests, table);
        rotation(pool.rotates, in_guest, table);
        if let Some((seconds, bytes)) = written
            .as_ref()
            .and_then(|(seconds, bytes)| Some((*seconds, *bytes.get(&pool.name)?)))
        {
            table.note(amount_written(seconds, bytes));
        }
        table.note("read_iops, write_iops, endurance, already_written: not to be read without root; from a test and the device's own log");
    }
    others(root, &names, table);
}

/// The pools of a host: arrays, and disks that are in none; the largest first.
fn pools(root: &Root, names: &[String], table: &mut HostTable) -> Vec<Pool> {
    let arrays: Vec<Array> = names
        .iter()
        .filter(|name| name.starts_with("md"))
        .filter_map(|name| array::read(root, name))
        .collect();
    let disks: Vec<Pool> = names
        .iter()
        .filter_map(|name| disk(root, name, table))
        .collect();
    let (large, small): (Vec<Array>, Vec<Array>) =
        arrays.into_iter().partition(|array| array.usable >= SMALL);
    for array in small {
        let (name, level) = (array.name, array.level);
        let size = format::decimal_bytes(array.usable);
        table.note(format!(
            "array {name}: {level} of {size}, left out as too small for guests"
        ));
    }
    let mut pools: Vec<Pool> = Vec::new();
    let rotating = || disks.iter().filter(|disk| disk.rotates == Some(true));
    for array in large {
        let mut members = array.members.iter();
        let rotational =
            members.any(|member| rotating().any(|disk| member.starts_with(&disk.name)));
        pools.push(Pool {
            name: array.name.clone(),
            size: array.usable,
            rotates: Some(rotational),
            array: Some(array),
        });
    }
    let arrays = pools.iter().filter_map(|pool| pool.array.as_ref());
    let members: Vec<String> = arrays.flat_map(|array| array.members.clone()).collect();
    let is_free = |disk: &Pool| {
        let mut members = members.iter();
        !members.any(|member| belongs(root, &disk.name, member))
    };
    pools.extend(disks.into_iter().filter(is_free));
    // Guests without `disk` lie on the first pool, so the largest comes first.
    pools.sort_by(|one, other| other.size.total_cmp(&one.size));
    pools
}

/// Writes one disk as a pool.
fn write(disk: &Pool, table: &mut HostTable) {
    let (name, size) = (&disk.name, format::decimal_bytes(disk.size));
    table.put_text("name", &quoted(name), format!("/{BLOCK}"));
    let origin = format!("{size} (/{BLOCK}/{name}/size, sectors of 512 B)");
    table.put("capacity", disk.size, origin);
}

/// Names of the disks that stay in the machine.
pub(super) fn fixed_disks(root: &Root) -> Vec<String> {
    let mut ignored = HostTable::default();
    let mut names = root.names(BLOCK);
    names.retain(|name| disk(root, name, &mut ignored).is_some());
    names
}

/// A disk that stays in the machine.
fn disk(root: &Root, name: &str, table: &mut HostTable) -> Option<Pool> {
    let folder = format!("{BLOCK}/{name}");
    let number = |file: &str| root.number(&format!("{folder}/{file}"));
    // Devices that the kernel builds from others have no `device`.
    if !root.exists(&format!("{folder}/device")) || number("hidden") == Ok(1.0) {
        return None;
    }
    let why = if number("removable") == Ok(1.0) {
        "it can be taken out of the machine".to_owned()
    } else {
        match number("size").map(|sectors| sectors * SECTOR) {
            Ok(capacity) if toml_value(Section::Disk, "capacity", capacity).is_some() => {
                return Some(Pool {
                    name: name.to_owned(),
                    size: capacity,
                    array: None,
                    rotates: number("queue/rotational")
                        .ok()
                        .map(|rotational| rotational != 0.0),
                });
            }
            Ok(_) => "it has no size that a disk can have".to_owned(),
            Err(why) => format!("/{folder}/size: {why}"),
        }
    };
    table.note(format!("{name}: left out, {why}"));
    None
}

/// Whether `member` of an array is the disk or a partition of it.
fn belongs(root: &Root, disk: &str, member: &str) -> bool {
    member == disk || (member.starts_with(disk) && root.exists(&format!("{BLOCK}/{disk}/{member}")))
}

/// The space that the host itself uses: what is in use of the pool's file systems, where no guest's disk is in there.
fn base_used(root: &Root, pool: &str, guests: Option<u64>, table: &mut HostTable) {
    let mounts = root.text("proc/mounts").unwrap_or_default();
    let mut devices = BTreeMap::new();
    for (device, place) in parse::mounts(&mounts) {
        if belongs(root, pool, &device) {
            devices.entry(device).or_insert(place);
        }
    }
    let used = devices.values().filter_map(|place| root.in_use(place));
    let Some(used) = used.reduce(|sum, one| sum + one) else {
        return;
    };
    let size = format::decimal_bytes(used);
    let key = "base_used";
    if guests == Some(0) {
        let origin = format!(
            "{size} in use of its file systems (/proc/mounts), disks of guests that are off among it"
        );
        return table.put(key, used, origin);
    }
    let why =
        format!("{size} in use of its file systems (/proc/mounts); take the disks of guests off");
    table.not_read(key, why);
}

/// Adds whether a device is rotational.
fn rotation(rotates: Option<bool>, in_guest: bool, table: &mut HostTable) {
    match rotates {
        Some(true) if in_guest => table.note(
            "the kernel takes it for a rotational disk, as it does for most virtual disks whatever lies beneath: take no \
             speed from that",
        ),
        Some(true) => table.note(
            "a rotational disk: expect about 75 to 150 operations per second (common practice, no source)",
        ),
        Some(false) => table.note("not a rotational disk"),
        None => table.note("whether it is rotational could not be read"),
    }
}

/// How long the host has been up `[s]`, and what each device has been written since `[B]`.
fn written_since_boot(root: &Root) -> Option<(f64, BTreeMap<String, f64>)> {
    let seconds = parse::uptime(&root.text("proc/uptime").ok()?)?;
    let traffic = parse::diskstats(&root.text("proc/diskstats").ok()?).into_iter();
    let written = traffic.map(|one| (one.name, one.written));
    Some((seconds, written.collect()))
}

/// What was written since boot, in words; a rate a day only after a day, because nights differ from days.
fn amount_written(seconds: f64, bytes: f64) -> String {
    let files = "guests included (/proc/diskstats, /proc/uptime)";
    if seconds < DAY {
        let (bytes, seconds) = (format::decimal_bytes(bytes), format::seconds(seconds));
        return format!(
            "written since boot: {bytes} in {seconds}, {files}; less than a day, so no rate a day is taken from it"
        );
    }
    let rate = format::bytes_per_day(bytes / seconds * DAY);
    format!("written since boot: {rate} on average, {files}")
}

/// Adds what else there is and is not listed.
fn others(root: &Root, names: &[String], table: &mut HostTable) {
    let mapped = names.iter().filter(|name| name.starts_with("dm-")).count();
    if mapped > 0 {
        table.note(format!(
            "not listed, because on the devices above: {}",
            format::plural(mapped as u64, "mapped volume", "mapped volumes")
        ));
    }
    let mut pools = root.names(CACHE_FOLDER);
    pools.retain(|name| root.exists(&format!("{CACHE_FOLDER}/{name}/state")));
    if !pools.is_empty() {
        table.note(format!(
            "copy-on-write pools found: {}; their layout cannot be read here, so set devices, layout and amplification \
             by hand",
            pools.join(", ")
        ));
    }
}
