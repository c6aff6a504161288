//! A Linux host's own files → a `[[host]]` table for a lab file, and readings for `calibrate`.
//!
//! Everything is read without root and below one [`Root`], which may be a copied tree. What cannot be read is said in
//! the table, with the reason; nothing is guessed silently.

mod array;
mod counters;
mod disk;
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
pub use self::root::{Kind, Missing, Root, Tree};

use self::table::{HostTable, Value};
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
#[must_use]
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
    table.put("name", Value::Name(name), origin);
    table.left_out("price", "nobody can read that; add it for `compare`");
    processor::read(root, &mut table);
    memory::read(root, known.guests, &mut table);
    merging::read(root, &mut table);
    disk::read(root, &mut table);
    network::read(root, &mut table);
    table.note(
        "power: not to be read from here; measure idle and busy at the wall and add [host.power]",
    );
    table
}

fn name(root: &Root, known: &Known) -> (String, &'static str) {
    let file = "/proc/sys/kernel/hostname";
    let own = root
        .text("proc/sys/kernel/hostname")
        .ok()
        .map(|name| name.trim().to_owned());
    let usable = |name: &String| is_name(name) && name != "(none)";
    match (&known.name, own) {
        (Some(name), _) => (name.clone(), "as you called it"),
        (None, Some(own)) if usable(&own) => (own, file),
        (None, _) => (
            "host".to_owned(),
            "no usable name in /proc/sys/kernel/hostname",
        ),
    }
}
