//! Which guests a host runs: groups of machines and containers as the service manager names them, and processes that hold a
//! virtual machine of the kernel's.

use std::collections::BTreeMap;

use super::group::Groups;
use super::kind::matches_pattern;
use super::process::Process;
use crate::survey::root::{ReadError, Root};

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

/// The guests of a moment.
pub(super) struct FoundGuests {
    pub guests: Vec<FoundGuest>,
    /// Whether there are processes of which may not be known whether they hold a virtual machine.
    pub may_hold_more: bool,
    /// Whether there are more groups than are examined.
    pub is_cut: bool,
}

/// A process that starts may become a guest a little later, so it is checked so many times.
const CHECKS: u32 = 3;

/// Looks for guests, and remembers which processes are none.
#[derive(Debug)]
pub(super) struct Finder {
    filter: GuestFilter,
    /// Whether a process is a guest, none where that may not be known; and how often it was checked.
    known: BTreeMap<u32, (Option<bool>, u32)>,
}

impl Finder {
    pub fn new(filter: GuestFilter) -> Finder {
        Finder {
            filter,
            known: BTreeMap::new(),
        }
    }

    /// The guests that run now.
    pub fn find(&mut self, root: &Root, groups: &Groups) -> FoundGuests {
        let is_default = self.filter == GuestFilter::default();
        let under = if is_default {
            vec![MACHINES.to_owned()]
        } else {
            self.filter.under.clone()
        };
        let mut guests: Vec<FoundGuest> = Vec::new();
        for parent in &under {
            let parent = parent.trim_matches('/');
            for name in groups.below(root, parent) {
                let group = format!("{parent}/{name}");
                let pids = groups.processes(root, &group);
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
        let mut may_hold_more = false;
        for pid in self.processes(root, is_default, &mut may_hold_more) {
            if !guests.iter().any(|guest| guest.pids.contains(&pid)) {
                guests.push(single_process(root, groups, pid));
            }
        }
        FoundGuests {
            guests: with_distinct_names(guests),
            is_cut: under.iter().any(|parent| groups.is_cut(root, parent)),
            may_hold_more,
        }
    }

    /// Processes that are guests.
    fn processes(&mut self, root: &Root, is_default: bool, denied: &mut bool) -> Vec<u32> {
        if !is_default && self.filter.processes.is_empty() {
            return Vec::new();
        }
        let pids: Vec<u32> = root
            .entries("proc")
            .iter()
            .filter_map(|name| name.parse().ok())
            .collect();
        self.known
            .retain(|pid, _| pids.binary_search(pid).is_ok() || pids.contains(pid));
        let patterns = &self.filter.processes;
        let is_guest = |pid: u32| {
            let process = Process(pid);
            if is_default {
                return match process.holds_machine(root) {
                    Ok(holds) => Some(holds),
                    Err(ReadError::NotAllowed) => None,
                    Err(_) => Some(false),
                };
            }
            let program = process.program(root).unwrap_or_default();
            Some(
                patterns
                    .iter()
                    .any(|pattern| matches_pattern(&program, pattern)),
            )
        };
        let known = &mut self.known;
        let found = pids.into_iter().filter(|pid| {
            let (is_it, checks) = known.entry(*pid).or_insert((Some(false), 0));
            if *is_it == Some(false) && *checks < CHECKS {
                (*is_it, *checks) = (is_guest(*pid), *checks + 1);
            }
            *denied |= is_it.is_none();
            *is_it == Some(true)
        });
        found.collect()
    }
}

/// A guest that is one process; the group counts as its own where no other process is in it.
fn single_process(root: &Root, groups: &Groups, pid: u32) -> FoundGuest {
    let process = Process(pid);
    let group = groups.of_process(root, pid);
    let group = group.filter(|group| groups.processes(root, group) == [pid]);
    let command_line = process
        .command_line(root)
        .and_then(|command_line| command_line.name);
    let command_line = command_line.filter(|name| !name.trim().is_empty());
    let name = command_line.or_else(|| {
        process
            .program(root)
            .map(|program| format!("{program}-{pid}"))
    });
    FoundGuest {
        name: name.unwrap_or_else(|| pid.to_string()),
        group,
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
    let bare = name
        .strip_suffix(".scope")
        .or_else(|| name.strip_suffix(".service"))
        .unwrap_or(name);
    let bare = bare.strip_prefix("machine-").unwrap_or(bare);
    // The service manager writes what a name may not hold as \x2d.
    let mut parts = bare.split("\\x");
    let mut name = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let code = part
            .get(..2)
            .and_then(|code| u8::from_str_radix(code, 16).ok());
        match code.filter(u8::is_ascii) {
            Some(code) => {
                name.push(char::from(code));
                name.push_str(&part[2..]);
            }
            None => name.extend(["\\x", part]),
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
