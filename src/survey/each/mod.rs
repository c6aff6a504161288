//! What the running host says of each guest: a line a guest and moment.
//!
//! `find` has the guests of a host, `group` what their control groups say, `process` what their processes say, `kind` which
//! guests are alike; `line` has the columns.

mod find;
mod group;
pub mod kind;
pub mod line;
mod pages;
mod process;

use std::collections::{BTreeMap, BTreeSet};

pub use self::find::{Denied, GuestFilter};
use self::find::{Finder, FoundGuest};
use self::group::Groups;
use self::kind::{Kinds, Pattern};
use self::line::Line;
use self::process::Process;
use super::root::Root;

/// Guests that are watched from moment to moment.
#[derive(Debug)]
pub struct Watch {
    finder: Finder,
    kinds: Kinds,
    /// Whether pages are read one by one.
    reads_pages: bool,
    denied: BTreeSet<Denied>,
}

impl Watch {
    /// Nothing seen yet; with `reads_pages` it finds out which pages guests hold together, which takes 0.1 s a guest and root.
    pub fn new(filter: GuestFilter, patterns: Vec<Pattern>, reads_pages: bool) -> Watch {
        Watch {
            finder: Finder {
                filter,
                known: BTreeMap::new(),
            },
            kinds: Kinds {
                patterns,
                seen: BTreeMap::new(),
            },
            reads_pages,
            denied: BTreeSet::new(),
        }
    }

    /// The lines of a moment `[s]`, a guest each, by name; `with_mappings` reads the mappings of processes too, which takes longer.
    ///
    /// What ends while it is read leaves its cells empty, or has no line.
    pub fn lines_at(&mut self, root: &Root, at: f64, with_mappings: bool) -> Vec<String> {
        let groups = Groups::of(root);
        let guests = self.finder.find(root, groups, &mut self.denied);
        let mut pids = guests.iter().flat_map(|guest| &guest.pids);
        let is_denied = |pid: &u32| Process { root, pid: *pid }.is_denied();
        if with_mappings && pids.any(is_denied) {
            self.denied.insert(Denied::Processes);
        }
        let lines = guests.iter();
        let lines = lines.filter_map(|guest| line(root, groups, guest, at, with_mappings));
        let mut lines: Vec<Line> = lines.collect();
        if with_mappings && self.reads_pages {
            self.count_common(root, &guests, &mut lines);
        }
        lines.sort_by(|one, other| one.guest.cmp(&other.guest));
        for line in &mut lines {
            line.kind = self.kinds.kind(line);
        }
        lines.iter().map(Line::text).collect()
    }

    /// Puts in how much of each guest others hold too.
    fn count_common(&mut self, root: &Root, guests: &[FoundGuest], lines: &mut [Line]) {
        let frames = |line: &Line| {
            let guest = guests.iter().find(|guest| guest.name == line.guest);
            let pids = guest.map_or(&[][..], |guest| &guest.pids);
            pages::frames(root, pids, line.figure("memory")?)
        };
        let frames: Vec<Option<Vec<u64>>> = lines.iter().map(frames).collect();
        if frames.iter().any(Option::is_none) {
            self.denied.insert(Denied::Pages);
        }
        for (line, common) in lines.iter_mut().zip(pages::common(&frames)) {
            line.figures.extend(common.map(|common| ("common", common)));
        }
    }

    /// What could not be read so far.
    pub fn denied(&self) -> &BTreeSet<Denied> {
        &self.denied
    }
}

/// The line of one guest, its kind left open; none where it has ended.
fn line<'a>(
    root: &'a Root,
    groups: Groups<'a>,
    guest: &FoundGuest,
    at: f64,
    with_mappings: bool,
) -> Option<Line> {
    let processes = guest.pids.iter().map(|pid| Process { root, pid: *pid });
    let processes: Vec<Process> = processes.collect();
    let group = |read: fn(Groups<'a>, &str) -> Option<f64>| read(groups, guest.group.as_deref()?);
    let sum = |read: fn(Process<'a>) -> Option<f64>| {
        let values = processes.iter().filter_map(|process| read(*process));
        values.reduce(|sum, one| sum + one)
    };
    let mut given = processes
        .iter()
        .filter_map(|process| process.command_line());
    let given = given.next().unwrap_or_default();
    let memory = given.memory.or_else(|| group(Groups::memory_limit));
    let net = process::taps(&processes);
    let read = [
        ("vcpus", given.vcpus.or_else(|| group(Groups::vcpus))),
        ("memory", memory),
        (
            "cpu_s",
            Some(group(Groups::cpu).or_else(|| sum(Process::cpu))?),
        ),
        ("run_wait_s", sum(|process| Some(process.schedule()?[0]))),
        ("dispatches", sum(|process| Some(process.schedule()?[1]))),
        ("held", group(Groups::held)),
        ("written", sum(|process| process.traffic()[0])),
        ("read", sum(|process| process.traffic()[1])),
        ("net_in", net.map(|net| net[0])),
        ("net_out", net.map(|net| net[1])),
        ("pressure_s", group(Groups::pressure)),
    ];
    let mapped = processes.iter().filter(|_| with_mappings);
    let mapped = mapped.filter_map(|process| process.resident(memory));
    let mut figures = BTreeMap::new();
    for (name, figure) in read.into_iter().chain(mapped.flatten()) {
        if let Some(figure) = figure {
            *figures.entry(name).or_default() += figure;
        }
    }
    Some(Line {
        at,
        guest: guest.name.clone(),
        kind: String::new(),
        figures,
    })
}
