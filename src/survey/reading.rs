//! One line of figures of the running host, for `calibrate`.

use std::collections::BTreeMap;

use super::counters::Counters;
use super::root::Root;
use super::{disk, memory, parse};
use crate::model::PAGE;
use crate::unit::instant;

/// A column of a reading: its heading and its cell.
type Column = (&'static str, fn(&Line) -> String);

/// Columns that every reading has, in their order; after them comes one `written_…` a disk.
const COLUMNS: [Column; 22] = [
    ("time", |line| instant::text(line.now.at)),
    ("guests", |line| line.guests.to_string()),
    ("settled", |line| line.settled.word().to_owned()),
    ("memory_used", |line| whole(memory::used(&line.now.memory))),
    ("memory_available", |line| line.size("MemAvailable")),
    ("memory_total", |line| line.size("MemTotal")),
    ("file_cache", |line| whole(line.now.file_cache())),
    ("scanner", |line| {
        line.count(|it| f64::from(u8::from(it.runs)))
    }),
    ("pages_shared", |line| line.count(|it| it.shared)),
    ("pages_sharing", |line| line.count(|it| it.sharing)),
    ("pages_unshared", |line| line.count(|it| it.unshared)),
    ("pages_volatile", |line| line.count(|it| it.volatile)),
    ("zero_pages", |line| line.count(|it| it.zero)),
    ("profit", |line| line.count(Counters::profit)),
    ("cpu_pressure", |line| line.pressure(0)),
    ("memory_pressure", |line| line.pressure(1)),
    ("disk_pressure", |line| line.pressure(2)),
    ("swap_total", |line| line.size("SwapTotal")),
    ("swap_used", |line| whole(line.now.swap_used())),
    ("swap_in", |line| whole(line.swapped(0))),
    ("swap_out", |line| whole(line.swapped(1))),
    ("full_scans", |line| whole(line.now.full_scans)),
];

/// The headings that every reading has.
pub fn headings() -> [&'static str; 22] {
    COLUMNS.map(|(name, _)| name)
}

/// How the columns of bytes written begin.
pub const WRITTEN: &str = "written_";

/// Resources whose pressure the kernel shows.
const PRESSURES: [&str; 3] = ["cpu", "memory", "io"];
/// Over shorter times the kernel's own average of the last minute is more precise `[s]`.
const SHORT: f64 = 10.0;

/// Whether a host has settled after its last change, as stated with the reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Settled {
    /// Sharing has found what it will find.
    Yes,
    /// Guests have just started.
    No,
    /// It is not known.
    #[default]
    Unknown,
}

impl Settled {
    /// The word in a reading.
    pub fn word(self) -> &'static str {
        match self {
            Settled::Yes => "yes",
            Settled::No => "no",
            Settled::Unknown => "unknown",
        }
    }
}

/// The figures of a host at one moment.
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
    pub fn take(root: &Root, at: f64) -> Snapshot {
        let swapped = parse::named_numbers(&root.text("proc/vmstat").unwrap_or_default());
        let pages = |name: &str| swapped.get(name).map(|pages| pages * PAGE);
        let traffic = parse::diskstats(&root.text("proc/diskstats").unwrap_or_default());
        let written = |name: String| {
            let found = traffic.iter().find(|one| one.name == name);
            (heading(&name), found.map(|one| one.written))
        };
        let pressure = |name| parse::pressure(&root.text(&format!("proc/pressure/{name}")).ok()?);
        Snapshot {
            at,
            memory: memory::meminfo(root).unwrap_or_default(),
            cache: memory::cache_now(root).map_or(0.0, |(now, _, _)| now),
            counters: Counters::read(root),
            full_scans: root.number("sys/kernel/mm/ksm/full_scans").ok(),
            pressures: PRESSURES.map(pressure),
            swapped: [pages("pswpin"), pages("pswpout")],
            written: disk::fixed_disks(root).into_iter().map(written).collect(),
        }
    }

    /// The headings of this host's readings.
    pub fn header(&self) -> String {
        let mut all = headings().map(str::to_owned).to_vec();
        let disks = self.written.iter();
        all.extend(disks.map(|(name, _)| format!("{WRITTEN}{name}")));
        all.join(",")
    }

    /// The line of this reading; rates are over the time since `before`, and empty without it.
    ///
    /// Sizes are bytes, rates bytes per second, pressures shares of the time; what could not be read is empty.
    pub fn line(&self, before: Option<&Snapshot>, guests: u64, settled: Settled) -> String {
        let line = Line {
            now: self,
            before,
            guests,
            settled,
        };
        let mut cells: Vec<String> = COLUMNS.iter().map(|(_, cell)| cell(&line)).collect();
        cells.extend(self.written.iter().map(|(_, written)| whole(*written)));
        cells.join(",")
    }

    fn size(&self, name: &str) -> Option<f64> {
        self.memory.get(name).copied()
    }

    /// Cached files, those of a file system's own cache among them `[B]`.
    fn file_cache(&self) -> Option<f64> {
        let or_zero = |name| self.size(name).unwrap_or(0.0);
        let cached = self.size("Cached")? - or_zero("Shmem") + or_zero("Buffers");
        Some(cached.max(0.0) + self.cache)
    }

    fn swap_used(&self) -> Option<f64> {
        Some((self.size("SwapTotal")? - self.size("SwapFree")?).max(0.0))
    }
}

/// What a line is made from.
struct Line<'a> {
    now: &'a Snapshot,
    before: Option<&'a Snapshot>,
    guests: u64,
    settled: Settled,
}

impl Line<'_> {
    /// A field of `/proc/meminfo`.
    fn size(&self, name: &str) -> String {
        whole(self.now.size(name))
    }

    /// One of the scanner's counters.
    fn count(&self, pick: fn(&Counters) -> f64) -> String {
        whole(self.now.counters.as_ref().map(pick))
    }

    /// Share of the time that some task waited.
    fn pressure(&self, index: usize) -> String {
        let Some(now) = self.now.pressures[index] else {
            return String::new();
        };
        let earlier = self
            .before
            .and_then(|before| Some((before.pressures[index]?, self.now.at - before.at)));
        let share = match earlier {
            Some((earlier, seconds)) if seconds >= SHORT && now.total >= earlier.total => {
                parse::pressure_between(earlier.total, now.total, seconds)
            }
            _ => now.last_minute,
        };
        format!("{share:.4}")
    }

    /// Swapped in or out per second since the snapshot before `[B/s]`.
    fn swapped(&self, index: usize) -> Option<f64> {
        let before = self.before?;
        let seconds = self.now.at - before.at;
        let moved = self.now.swapped[index]? - before.swapped[index]?;
        // A host that was started again counts from 0.
        (seconds > 0.0 && moved >= 0.0).then(|| moved / seconds)
    }
}

/// A whole number; empty where there is none.
pub(super) fn whole(value: Option<f64>) -> String {
    decimal(value.map(f64::round), 0)
}

/// A number with so many digits after the point; empty where there is none.
pub(super) fn decimal(value: Option<f64>, digits: usize) -> String {
    value.map_or_else(String::new, |value| format!("{value:.digits$}"))
}

/// A device's name as part of a heading.
fn heading(name: &str) -> String {
    name.replace(
        |letter: char| !letter.is_ascii_alphanumeric() && letter != '-',
        "_",
    )
}
