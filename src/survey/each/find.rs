//! Which guests a host runs: groups of machines and containers as the service manager names them, and processes that hold a
//! virtual machine of the kernel's.

use std::collections::{BTreeMap, BTreeSet};

use super::group::Groups;
use super::kind::matches_pattern;
use super::process::Process;
use crate::survey::root::Root;

/// The group in which the service manager keeps machines and containers.
const MACHINES: &str = "machine.slice";

/// Where to look for guests; empty: where the service manager keeps them and which processes hold a virtual machine.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct GuestFilter {
    /// Each group right below these is a guest.
    pub under: Vec<String>,
    /// Each process whose program matches one of these is a guest.
    pub processes: Vec<String>,
}

/// A guest.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct FoundGuest {
    pub name: String,
    /// Its control group, where it has one of its own.
    pub group: Option<String>,
    pub pids: Vec<u32>,
}

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

/// A process that starts may become a guest a little later, so it is checked so many times.
const CHECKS: u32 = 3;

/// Looks for guests, and remembers which processes are none.
#[derive(Debug)]
pub(super) struct Finder {
    pub filter: GuestFilter,
    /// Whether a process is a guest, none where that may not be known; and how often it was checked.
    pub known: BTreeMap<u32, (Option<bool>, u32)>,
}

impl Finder {
    /// The guests that run now; what may not be known of them is added to `denied`.
    pub fn find(
        &mut self,
        root: &Root,
        groups: Groups,
        denied: &mut BTreeSet<Denied>,
    ) -> Vec<FoundGuest> {
        let is_default = self.filter == GuestFilter::default();
        let machines = [MACHINES.to_owned()];
        let under = if is_default {
            &machines
        } else {
            &self.filter.under[..]
        };
        let mut guests: Vec<FoundGuest> = Vec::new();
        for parent in under {
            if groups.is_cut(parent) {
                denied.insert(Denied::Groups);
            }
            let parent = parent.trim_matches('/');
            for name in groups.below(parent) {
                let group = format!("{parent}/{name}");
                let pids = groups.processes(&group);
                // A group whose processes have all ended is no guest any more.
                if !pids.is_empty() {
                    guests.push(FoundGuest {
                        name: guest_name(&name),
                        group: Some(group),
                        pids,
                    });
                }
            }
        }
        for process in self.processes(root, is_default, denied) {
            if !guests.iter().any(|guest| guest.pids.contains(&process.pid)) {
                guests.push(single_process(groups, process));
            }
        }
        with_distinct_names(guests)
    }

    /// Processes that are guests.
    fn processes<'a>(
        &mut self,
        root: &'a Root,
        is_default: bool,
        denied: &mut BTreeSet<Denied>,
    ) -> Vec<Process<'a>> {
        let patterns = &self.filter.processes;
        if !is_default && patterns.is_empty() {
            return Vec::new();
        }
        let is_guest = |process: Process| {
            if is_default {
                return process.holds_machine();
            }
            let program = process.program().unwrap_or_default();
            let mut patterns = patterns.iter();
            Some(patterns.any(|pattern| matches_pattern(&program, pattern)))
        };
        let mut known = BTreeMap::new();
        let mut found = Vec::new();
        let names = root.entries("proc").into_iter();
        for pid in names.filter_map(|name| name.parse().ok()) {
            let process = Process { root, pid };
            let (mut is_it, mut checks) = self.known.get(&pid).copied().unwrap_or((Some(false), 0));
            if is_it == Some(false) && checks < CHECKS {
                (is_it, checks) = (is_guest(process), checks + 1);
            }
            if is_it.is_none() {
                denied.insert(Denied::Machines);
            }
            found.extend(is_it.filter(|is_it| *is_it).map(|_| process));
            known.insert(pid, (is_it, checks));
        }
        self.known = known;
        found
    }
}

/// A guest that is one process; the group counts as its own where no other process is in it.
fn single_process(groups: Groups, process: Process) -> FoundGuest {
    let pid = process.pid;
    let group = groups.of_process(process);
    let given = process.command_line().and_then(|given| given.name);
    let given = given.filter(|name| !name.trim().is_empty());
    let program = || Some(format!("{}-{pid}", process.program()?));
    FoundGuest {
        name: given.or_else(program).unwrap_or_else(|| pid.to_string()),
        group: group.filter(|group| groups.processes(group) == [pid]),
        pids: vec![pid],
    }
}

/// Guests of one name get the number of their first process behind it.
fn with_distinct_names(mut guests: Vec<FoundGuest>) -> Vec<FoundGuest> {
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    for guest in &guests {
        *seen.entry(guest.name.clone()).or_default() += 1;
    }
    for guest in &mut guests {
        if seen.get(&guest.name).is_some_and(|count| *count > 1) {
            let first = guest.pids.first().copied().unwrap_or_default();
            guest.name = format!("{} ({first})", guest.name);
        }
    }
    guests
}

/// A guest's name from that of its group: without what the service manager puts around it.
fn guest_name(name: &str) -> String {
    let suffixes = [".scope", ".service"].iter();
    let mut bare = suffixes.filter_map(|suffix| name.strip_suffix(suffix));
    let bare = bare.next().unwrap_or(name);
    let bare = bare.strip_prefix("machine-").unwrap_or(bare);
    // The service manager writes what a name may not hold as \x2d.
    let mut parts = bare.split("\\x");
    let mut name = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let code = part.get(..2).map(|code| u8::from_str_radix(code, 16));
        match code {
            Some(Ok(code)) if code.is_ascii() => {
                name.push(char::from(code));
                name.push_str(&part[2..]);
            }
            _ => name.extend(["\\x", part]),
        }
    }
    name
}

#[cfg(test)]
mod tests {
    use super::guest_name;

    #[test]
    fn names_of_groups_become_names_of_guests() {
        assert_eq!(guest_name("machine-web\\x2d1.scope"), "web-1");
        assert_eq!(
            (guest_name("db"), guest_name("a\\xzz.service")),
            ("db".to_owned(), "a\\xzz".to_owned())
        );
    }
}
