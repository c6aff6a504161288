//! Memory seen, installed and reserved, the host's own use, caches, huge pages and swap.

use std::collections::BTreeMap;

use super::parse;
use super::root::{ReadError, Root};
use super::table::{HostTable, size, toml_value};
use crate::lab::keys::Section;
use crate::lab::{HostMemory, with_given};
use crate::model::memory::FRAME_TABLE;
use crate::model::{GIB, MIB, PAGE};
use crate::unit::format;

/// Folder of the copy-on-write file system's statistics, its own cache's among them.
pub(super) const CACHE_FOLDER: &str = "proc/spl/kstat/zfs";
const CACHE_STATISTICS: &str = "proc/spl/kstat/zfs/arcstats";
/// More memory than this is taken for an error `[B]`.
const LARGEST: f64 = 1e17;

/// Writes `[host.memory]`; `guests` is how many run now, if that is known.
pub(super) fn read(root: &Root, guests: Option<u64>, table: &mut HostTable) {
    table.open(Section::Memory);
    let seen = meminfo(root);
    let visible = match seen.as_ref().map(|seen| seen.get("MemTotal").copied()) {
        // Less than a page or more than an inventory takes is no memory.
        Ok(Some(visible)) if (PAGE..LARGEST).contains(&visible) => visible,
        Ok(_) => return table.to_add("modules", "/proc/meminfo gives no MemTotal that can be"),
        Err(why) => return table.to_add("modules", format!("/proc/meminfo: {why}")),
    };
    let seen = seen.unwrap_or_default();
    installed(root, visible, table);
    let base = base(root, &seen, guests, visible, table);
    let base = base.unwrap_or(with_given::<HostMemory>(&[]).base);
    cache(root, visible - base, table);
    super::swap::read(root, visible, table);
    huge_pages(root, &seen, table);
}

/// `/proc/meminfo`.
pub(super) fn meminfo(root: &Root) -> Result<BTreeMap<String, f64>, ReadError> {
    root.text("proc/meminfo").map(|text| parse::meminfo(&text))
}

/// Memory in use `[B]`: what is neither free nor given back on demand.
///
/// `used = MemTotal − MemAvailable`; on kernels without `MemAvailable` free memory, buffers, cached files and
/// reclaimable slabs are taken as available, shared memory is not.
///
/// # Source
/// Kernel documentation, proc file system, `MemAvailable` (since 3.14).
pub fn used(seen: &BTreeMap<String, f64>) -> Option<f64> {
    let field = |name: &str| seen.get(name).copied();
    let available = field("MemAvailable").or_else(|| {
        let cached = field("Cached")? + field("Buffers")? + field("SReclaimable").unwrap_or(0.0);
        Some(field("MemFree")? + (cached - field("Shmem").unwrap_or(0.0)).max(0.0))
    })?;
    Some((field("MemTotal")? - available).max(0.0))
}

/// What is plugged in, and what is held back so that exactly the memory seen is left.
fn installed(root: &Root, visible: f64, table: &mut HostTable) {
    let physical = visible / (1.0 - FRAME_TABLE);
    // More than twice of what is seen is taken for an error of the report.
    let holds =
        |modules: &[f64]| (physical..2.0 * physical + GIB).contains(&modules.iter().sum::<f64>());
    let controller = Some(controller(root)).filter(|modules| holds(modules));
    let blocks = blocks(root).filter(|blocks| holds(&[*blocks]));
    let (modules, origin) = match (controller, blocks) {
        (Some(modules), _) => (modules, "/sys/devices/system/edac/mc, as the memory controller names them".to_owned()),
        (None, Some(all)) => (
            vec![all],
            "/sys/devices/system/memory, all as one: the single modules cannot be read without root".to_owned(),
        ),
        (None, None) => (
            vec![(physical / GIB).ceil() * GIB],
            "memory seen, rounded up to whole GiB: the modules cannot be read without root".to_owned(),
        ),
    };
    let sizes = modules
        .iter()
        .map(|module| format!("\"{}\"", size(*module)));
    let list = sizes.collect::<Vec<_>>().join(", ");
    table.put_text("modules", &format!("[{list}]"), origin);
    let reserved = (modules.iter().sum::<f64>() - physical).floor().max(0.0);
    table.put(
        "firmware_reserved",
        reserved,
        format!(
            "{}: what is missing of the modules beside the frame table; the kernel sees {} (/proc/meminfo, MemTotal)",
            format::bytes(reserved),
            format::bytes(visible)
        ),
    );
}

/// Modules that the memory controller reports `[B]`.
fn controller(root: &Root) -> Vec<f64> {
    let folder = "sys/devices/system/edac/mc";
    let mut modules = Vec::new();
    for controller in root.names(folder) {
        if !controller.starts_with("mc") {
            continue;
        }
        for module in root.names(&format!("{folder}/{controller}")) {
            let is_module = module.starts_with("dimm") || module.starts_with("rank");
            let size = root.number(&format!("{folder}/{controller}/{module}/size"));
            let size = size.ok().filter(|size| is_module && *size >= 1.0);
            modules.extend(size.map(|size| size * MIB));
        }
    }
    modules
}

/// All memory blocks that are online `[B]`.
fn blocks(root: &Root) -> Option<f64> {
    let folder = "sys/devices/system/memory";
    let block = root.text(&format!("{folder}/block_size_bytes")).ok()?;
    let block = u64::from_str_radix(block.trim(), 16).ok()?;
    let is_online = |name: &&String| {
        let number = name.strip_prefix("memory").map(str::parse::<u32>);
        number.is_some_and(|number| number.is_ok())
            && root.number(&format!("{folder}/{name}/online")) != Ok(0.0)
    };
    let count = root.names(folder).iter().filter(is_online).count();
    (count > 0).then_some(block as f64 * count as f64)
}

/// The host's own memory, which can be read only while no guest runs; none where it is not written.
fn base(
    root: &Root,
    seen: &BTreeMap<String, f64>,
    guests: Option<u64>,
    visible: f64,
    table: &mut HostTable,
) -> Option<f64> {
    let Some(used) = used(seen) else {
        table.not_read("base", "/proc/meminfo does not say what is available");
        return None;
    };
    let cache = cache_now(root).map_or(0.0, |(now, _, _)| now);
    let own = (used - pool(root, seen) - cache).max(0.0);
    let in_use = format!(
        "{} in use now (MemTotal − MemAvailable, less huge pages and a cache of its own)",
        format::bytes(own)
    );
    let why = match guests {
        Some(0) if own >= visible => format!("{in_use}, which is all that there is"),
        Some(0) => {
            let own = own.floor();
            table.put("base", own, format!("{in_use}, no guest running"));
            return Some(own);
        }
        Some(guests) => {
            let guests = format::plural(guests, "guest", "guests");
            format!("{guests} and {in_use} are both in there; `calibrate` tells them apart")
        }
        None => format!("{in_use}; if no guest runs now, say --guests 0 and it is taken"),
    };
    table.not_read("base", why);
    None
}

/// Size now, floor and ceiling of the copy-on-write file system's cache `[B]`.
pub(super) fn cache_now(root: &Root) -> Option<(f64, f64, f64)> {
    let statistics = parse::named_numbers(&root.text(CACHE_STATISTICS).ok()?);
    let of = |name: &str| statistics.get(name).copied().filter(|size| *size >= 0.0);
    Some((of("size")?, of("c_min")?, of("c_max")?))
}

/// A cache of its own, of which the host's own memory leaves `room` `[B]` for the least.
fn cache(root: &Root, room: f64, table: &mut HostTable) {
    let Some((now, floor, ceiling)) = cache_now(root) else {
        return if root.exists(CACHE_STATISTICS) {
            let why = format!("/{CACHE_STATISTICS} does not say its size, floor and ceiling");
            table.not_read("file_cache", why);
        } else {
            table.note("file_cache: none of its own found; cached files are given back on demand");
        };
    };
    let ceiling = ceiling.max(floor);
    if floor >= room {
        let floor = format::bytes(floor);
        let why = format!("/{CACHE_STATISTICS} says at least {floor}, which leaves no memory");
        return table.not_read("file_cache", why);
    }
    // A floor without its ceiling is no inventory.
    if toml_value(Section::Memory, "file_cache", ceiling).is_none() {
        let why = format!("/{CACHE_STATISTICS} says more than any memory holds");
        return table.not_read("file_cache", why);
    }
    let origin = format!("/{CACHE_STATISTICS}, c_max; {} now", format::bytes(now));
    table.put("file_cache", ceiling, origin);
    let origin = format!("/{CACHE_STATISTICS}, c_min");
    table.put("file_cache_floor", floor, origin);
}

/// Memory in pools of huge pages `[B]`.
fn pool(root: &Root, seen: &BTreeMap<String, f64>) -> f64 {
    let folder = "sys/kernel/mm/hugepages";
    let pools = root.names(folder).into_iter().filter_map(|name| {
        let kib = name.strip_prefix("hugepages-")?.strip_suffix("kB")?;
        let pages = root.number(&format!("{folder}/{name}/nr_hugepages")).ok()?;
        Some(kib.parse::<f64>().ok()? * 1024.0 * pages)
    });
    let listed: f64 = pools.filter(|size| *size >= 0.0).sum();
    let field = |name: &str| seen.get(name).copied().unwrap_or(0.0);
    listed.max(field("HugePages_Total") * field("Hugepagesize"))
}

fn huge_pages(root: &Root, seen: &BTreeMap<String, f64>, table: &mut HostTable) {
    let pool = pool(root, seen);
    if pool > 0.0 {
        table.note(format!(
            "huge pages: {} are set aside and serve only guests with huge_pages = true; give those guests, or free the \
             pool",
            format::bytes(pool)
        ));
    }
    let backing = root.text("sys/kernel/mm/transparent_hugepage/enabled");
    if let Some(word) = backing.as_deref().ok().and_then(parse::chosen) {
        let cost = match word {
            "always" => "; a fresh guest holds their empty parts until sharing splits them",
            _ => "",
        };
        table.note(format!("transparent huge pages: {word}{cost}"));
    }
}
