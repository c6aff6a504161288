//! One line of figures of the running host, for `calibrate`.

use std::collections::BTreeMap;

use super::counters::Counters;
use super::root::Root;
use super::{disk, memory, parse};
use crate::model::PAGE;
use crate::unit::instant;

/// Columns that every reading has, in their order; after them comes one `written_…` a disk.
pub const COLUMNS: [&str; 22] = [
    "time",
    "guests",
    "settled",
    "memory_used",
    "memory_available",
    "memory_total",
    "file_cache",
    "scanner",
    "pages_shared",
    "pages_sharing",
    "pages_unshared",
    "pages_volatile",
    "zero_pages",
    "profit",
    "cpu_pressure",
    "memory_pressure",
    "disk_pressure",
    "swap_total",
    "swap_used",
    "swap_in",
    "swap_out",
    "full_scans",
];
/// How the columns of bytes written begin.
pub const WRITTEN: &str = "written_";

/// Resources whose pressure the kernel tells, in the order of the columns.
const PRESSURES: [&str; 3] = ["cpu", "memory", "io"];
/// Over shorter times the kernel's own average of the last minute says more `[s]`.
const SHORT: f64 = 10.0;

/// Whether a host has settled after its last change, as the person says who took the reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Settled {
    /// Sharing has found what it will find.
    Yes,
    /// Guests have just started.
    No,
    /// Nobody knows.
    #[default]
    Unknown,
}

impl Settled {
    /// The word in a reading.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Settled::Yes => "yes",
            Settled::No => "no",
            Settled::Unknown => "unknown",
        }
    }
}

/// What the host's files said at one moment.
#[derive(Debug, Clone)]
pub struct Snapshot {
    /// When `[s]` since 1970.
    pub at: f64,
    memory: BTreeMap<String, f64>,
    cache: f64,
    counters: Option<Counters>,
    full_scans: Option<f64>,
    pressures: [Option<parse::Pressure>; 3],
    /// Swapped in and out since boot `[B]`.
    swapped: [Option<f64>; 2],
    /// Bytes written to each disk since boot.
    written: Vec<(String, Option<f64>)>,
}

impl Snapshot {
    /// Reads the files at a time `[s]` since 1970.
    #[must_use]
    pub fn take(root: &Root, at: f64) -> Snapshot {
        let swapped = parse::named_numbers(&root.text("proc/vmstat").unwrap_or_default());
        let pages = |name: &str| swapped.get(name).map(|pages| pages * PAGE);
        let traffic = parse::diskstats(&root.text("proc/diskstats").unwrap_or_default());
        let written = |name: &String| {
            traffic
                .iter()
                .find(|one| one.name == *name)
                .map(|one| one.written)
        };
        Snapshot {
            at,
            memory: memory::meminfo(root).unwrap_or_default(),
            cache: memory::cache_now(root).map_or(0.0, |(now, _, _)| now),
            counters: Counters::read(root),
            full_scans: root.number("sys/kernel/mm/ksm/full_scans").ok(),
            pressures: PRESSURES
                .map(|name| parse::pressure(&root.text(&format!("proc/pressure/{name}")).ok()?)),
            swapped: [pages("pswpin"), pages("pswpout")],
            written: disk::staying(root)
                .into_iter()
                .map(|name| (plain(&name), written(&name)))
                .collect(),
        }
    }

    /// The headings of this host's readings.
    #[must_use]
    pub fn header(&self) -> String {
        let disks = self
            .written
            .iter()
            .map(|(name, _)| format!("{WRITTEN}{name}"));
        COLUMNS
            .into_iter()
            .map(str::to_owned)
            .chain(disks)
            .collect::<Vec<_>>()
            .join(",")
    }

    /// The line of this reading; rates are over the time since `before`, and empty without it.
    ///
    /// Sizes are bytes, rates bytes per second, pressures shares of the time; what could not be read is empty.
    #[must_use]
    pub fn line(&self, before: Option<&Snapshot>, guests: u64, settled: Settled) -> String {
        let size = |name: &str| self.memory.get(name).copied();
        let counters = self.counters;
        let pages = |pick: fn(&Counters) -> f64| counters.as_ref().map(pick);
        let cached = size("Cached")
            .map(|cached| cached - size("Shmem").unwrap_or(0.0) + size("Buffers").unwrap_or(0.0));
        let swap_used = size("SwapTotal")
            .zip(size("SwapFree"))
            .map(|(total, free)| (total - free).max(0.0));
        let figures = [
            memory::used(&self.memory),
            size("MemAvailable"),
            size("MemTotal"),
            cached.map(|cached| cached.max(0.0) + self.cache),
            counters.map(|counters| f64::from(u8::from(counters.runs))),
            pages(|counters| counters.shared),
            pages(|counters| counters.sharing),
            pages(|counters| counters.unshared),
            pages(|counters| counters.volatile),
            pages(|counters| counters.zero),
            pages(Counters::profit),
        ];
        let mut cells = vec![
            instant::text(self.at),
            guests.to_string(),
            settled.word().to_owned(),
        ];
        cells.extend(figures.map(whole));
        cells.extend((0..PRESSURES.len()).map(|index| self.pressure(before, index)));
        cells.extend([size("SwapTotal"), swap_used].map(whole));
        cells.extend((0..self.swapped.len()).map(|index| whole(self.rate(before, index))));
        cells.push(whole(self.full_scans));
        cells.extend(self.written.iter().map(|(_, written)| whole(*written)));
        cells.join(",")
    }

    /// Share of the time that some task waited.
    fn pressure(&self, before: Option<&Snapshot>, index: usize) -> String {
        let Some(now) = self.pressures[index] else {
            return String::new();
        };
        let earlier =
            before.and_then(|before| Some((before.pressures[index]?, self.at - before.at)));
        let share = match earlier {
            Some((earlier, seconds)) if seconds >= SHORT && now.total >= earlier.total => {
                parse::pressure_between(earlier.total, now.total, seconds)
            }
            _ => now.last_minute,
        };
        format!("{share:.4}")
    }

    /// Swapped per second since the snapshot before `[B/s]`.
    fn rate(&self, before: Option<&Snapshot>, index: usize) -> Option<f64> {
        let before = before?;
        let seconds = self.at - before.at;
        let moved = self.swapped[index]? - before.swapped[index]?;
        // A host that was started again counts from 0.
        (seconds > 0.0 && moved >= 0.0).then(|| moved / seconds)
    }
}

/// A whole number; empty where there is none.
fn whole(value: Option<f64>) -> String {
    value.map_or_else(String::new, |value| format!("{:.0}", value.round()))
}

/// A device's name as part of a heading.
fn plain(name: &str) -> String {
    name.chars()
        .map(|letter| {
            if letter.is_ascii_alphanumeric() || letter == '-' {
                letter
            } else {
                '_'
            }
        })
        .collect()
}
