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

use std::collections::BTreeSet;

pub use self::find::GuestFilter;
use self::find::{Finder, FoundGuest};
use self::group::Groups;
use self::kind::{Kinds, Pattern};
use self::line::Line;
use self::process::{Process, Resident};
use super::root::Root;

/// What is not read, and what that leaves empty.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Denied {
    /// Memory and writes of processes of another user.
    Processes,
    /// Which processes of other users hold a virtual machine.
    Machines,
    /// Which pages guests hold together.
    Pages,
    /// Control groups beyond as many as are examined.
    Groups,
}

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
    /// Nothing seen yet.
    pub fn new(wanted: GuestFilter, patterns: Vec<Pattern>) -> Watch {
        Watch::with_pages(wanted, patterns, false)
    }

    /// The same; with `reads_pages` it finds out which pages guests hold together, which takes 0.1 s a guest and root.
    pub fn with_pages(wanted: GuestFilter, patterns: Vec<Pattern>, reads_pages: bool) -> Watch {
        Watch {
            finder: Finder::new(wanted),
            kinds: Kinds::new(patterns),
            reads_pages,
            denied: BTreeSet::new(),
        }
    }

    /// The lines of a moment `[s]`, a guest each, by name; `deep` reads the mappings of processes too, which takes longer.
    ///
    /// What ends while it is read leaves its cells empty, or has no line.
    pub fn lines_at(&mut self, root: &Root, at: f64, with_mappings: bool) -> Vec<String> {
        let groups = Groups::of(root);
        let found = self.finder.find(root, &groups);
        if found.may_hold_more {
            self.denied.insert(Denied::Machines);
        }
        if found.is_cut {
            self.denied.insert(Denied::Groups);
        }
        let mut pids = found.guests.iter().flat_map(|guest| &guest.pids);
        if with_mappings && pids.any(|pid| Process(*pid).is_denied(root)) {
            self.denied.insert(Denied::Processes);
        }
        let lines = found
            .guests
            .iter()
            .filter_map(|guest| self.line(root, &groups, guest, at, with_mappings));
        let mut lines: Vec<Line> = lines.collect();
        if with_mappings && self.reads_pages {
            self.count_common(root, &found.guests, &mut lines);
        }
        self.kinds
            .named(lines)
            .into_iter()
            .map(|line| line.text())
            .collect()
    }

    /// Puts in how much of each guest others hold too.
    fn count_common(&mut self, root: &Root, guests: &[FoundGuest], lines: &mut [Line]) {
        let frames = |line: &Line| {
            let guest = guests.iter().find(|guest| guest.name == line.guest);
            let pids = guest.map_or(&[][..], |guest| &guest.pids);
            pages::frames(root, pids, line.memory?)
        };
        let frames: Vec<Option<Vec<u64>>> = lines.iter().map(frames).collect();
        if frames.iter().any(Option::is_none) {
            self.denied.insert(Denied::Pages);
        }
        for (line, common) in lines.iter_mut().zip(pages::common(&frames)) {
            line.common = common;
        }
    }

    /// What could not be read so far.
    pub fn denied(&self) -> &BTreeSet<Denied> {
        &self.denied
    }

    /// The line of one guest; none where it has ended.
    fn line(
        &self,
        root: &Root,
        groups: &Groups,
        guest: &FoundGuest,
        at: f64,
        with_mappings: bool,
    ) -> Option<Line> {
        let group = guest.group.as_deref();
        let own = |read: fn(&Groups, &Root, &str) -> Option<f64>| {
            group.and_then(|group| read(groups, root, group))
        };
        let processes: Vec<Process> = guest.pids.iter().map(|pid| Process(*pid)).collect();
        let command_line = processes
            .iter()
            .find_map(|process| process.command_line(root))
            .unwrap_or_default();
        let memory = command_line.memory.or_else(|| own(Groups::memory_limit));
        let sum = |read: fn(&Process, &Root) -> Option<f64>| {
            let values: Vec<f64> = processes
                .iter()
                .filter_map(|process| read(process, root))
                .collect();
            (!values.is_empty()).then(|| values.iter().sum::<f64>())
        };
        let cpu = own(Groups::cpu).or_else(|| sum(Process::cpu))?;
        let resident = if with_mappings {
            self.resident(root, &processes, memory)
        } else {
            Resident::default()
        };
        Some(Line {
            at,
            guest: guest.name.clone(),
            kind: String::new(),
            vcpus: command_line.vcpus.or_else(|| own(Groups::vcpus)),
            memory,
            cpu,
            dispatches: sum(|process, root| process.schedule(root).map(|(_, count)| count)),
            run_wait: sum(|process, root| process.schedule(root).map(|(wait, _)| wait)),
            held: own(Groups::held),
            common: None,
            written: sum(Process::written),
            read: sum(Process::read),
            net: process::taps(root, &processes),
            pressure: own(Groups::pressure),
            resident,
        })
    }

    /// The mappings of a guest's processes.
    fn resident(&self, root: &Root, processes: &[Process], memory: Option<f64>) -> Resident {
        let all = processes
            .iter()
            .filter_map(|process| process.resident(root, memory).ok());
        all.reduce(Resident::plus).unwrap_or_default()
    }
}
