//! A Linux host's own files → a `[[host]]` table for a lab file, and readings for `calibrate`.
//!
//! Everything is read without root and below one [`Root`], which may be a copied tree. What cannot be read is listed in
//! the table, with the reason; nothing is guessed silently.
//!
//! | keys | files |
//! |---|---|
//! | `name` | `/proc/sys/kernel/hostname` |
//! | `cpu.groups` | `/sys/devices/system/cpu`, `/sys/devices/cpu_*`, `/proc/cpuinfo` |
//! | `cpu.base_cores` | `/proc/stat`, `/proc/uptime`, while no guest runs |
//! | `memory.modules`, `firmware_reserved` | `/sys/devices/system/edac/mc`, `/sys/devices/system/memory`, `/proc/meminfo` |
//! | `memory.base` | `/proc/meminfo`, while no guest runs |
//! | `memory.file_cache`, `file_cache_floor` | statistics of a file system's own cache |
//! | `memory.swap`, `compressed_swap`, `compressed_swap_ratio` | `/proc/swaps`, `/sys/block/zram*/mm_stat` |
//! | `merging.*` | `/sys/kernel/mm/ksm`, settings of the tuning daemon, release and build of the kernel |
//! | `disk.*` | `/sys/block` |
//! | `network.link` | `/sys/class/net`, `/proc/net/route` |

mod array;
mod counters;
mod disk;
pub mod each;
mod memory;
mod merging;
mod network;
pub mod parse;
mod processor;
pub mod reading;
mod root;
mod swap;
pub mod table;

pub use self::counters::Counters;
pub use self::root::{EntryKind, ReadError, Root, Tree};

use self::table::{HostTable, quoted};
use crate::lab::is_name;
use crate::lab::keys::Section;

/// What the caller knows of the host.
#[derive(Debug, Clone, Default)]
pub struct Known {
    /// Its name in the lab; none: its own host name.
    pub name: Option<String>,
    /// Guests that run now.
    pub guests: Option<u64>,
}

/// Reads a host and writes its table.
pub fn survey(root: &Root, known: &Known) -> HostTable {
    let mut table = HostTable::default();
    let read = if root.is_running() {
        "Read from the running host without root."
    } else {
        "Read from a copy of a host's files."
    };
    table.note(format!(
        "{read} Each value says where it comes from; put this into a lab file and look over what is marked as not read."
    ));
    table.open(Section::Host);
    let (name, origin) = name(root, known);
    table.put_text("name", &quoted(&name), origin);
    table.not_read("price", "no file says it; add it for `compare`");
    processor::read(root, known.guests, &mut table);
    memory::read(root, known.guests, &mut table);
    merging::read(root, &mut table);
    disk::read(root, known.guests, &mut table);
    network::read(root, &mut table);
    table.note("power: no file says it; measure idle and busy at the wall and add [host.power]");
    table
}

fn name(root: &Root, known: &Known) -> (String, &'static str) {
    let file = "/proc/sys/kernel/hostname";
    let own = root.text("proc/sys/kernel/hostname").unwrap_or_default();
    match (&known.name, own.trim()) {
        (Some(name), _) => (name.clone(), "as you called it"),
        (None, own) if is_name(own) && own != "(none)" => (own.to_owned(), file),
        (None, _) => (
            "host".to_owned(),
            "no usable name in /proc/sys/kernel/hostname",
        ),
    }
}
