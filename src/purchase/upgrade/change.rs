//! One change of a host or its guests: what is done, what it costs, and the host afterwards.

use crate::lab::Host;

/// A change and its price.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// What is done.
    pub action: Action,
    /// What it costs `[money]`; none where the lab names no price.
    pub price: Option<f64>,
}

/// Changes made at once.
#[derive(Debug, Clone, PartialEq)]
pub struct Changes(pub Vec<Change>);

/// What is done.
#[derive(Debug, Clone, PartialEq)]
pub enum Action {
    /// The machines run as containers: no purchase.
    Containers,
    /// Memory modules are added, or take the place of the smallest owned ones.
    Modules {
        /// Bought: size `[B]` and number, larger sizes first.
        bought: Vec<(f64, usize)>,
        /// Taken out: size `[B]` and number, smaller sizes first.
        replaced: Vec<(f64, usize)>,
        /// Why modules are taken out; none where none are.
        reason: Option<Note>,
    },
    /// More devices of the same kind in a pool.
    MoreDevices {
        /// Place of the pool.
        pool: usize,
        /// Its name.
        name: String,
        /// How many more.
        more: u64,
    },
    /// Larger devices in place of all of a pool.
    LargerDevices {
        /// Place of the pool.
        pool: usize,
        /// Its name.
        name: String,
        /// Number of its devices.
        devices: u64,
        /// Capacity of each owned one `[B]`.
        old: f64,
        /// Capacity of each new one `[B]`.
        capacity: f64,
    },
    /// A faster link.
    Link {
        /// Speed of the owned one `[bit/s]`.
        old: f64,
        /// Speed of the new one `[bit/s]`.
        speed: f64,
    },
    /// This many further hosts of the kind.
    MoreHosts(u64),
}

/// Owned parts that a change takes out.
#[derive(Debug, Clone, PartialEq)]
pub enum Replaced {
    /// A number of memory modules, and the size of each `[B]`.
    Modules(usize, f64),
    /// A number of devices of a pool, and the capacity of each `[B]`.
    Devices(u64, f64),
    /// A link of this speed `[bit/s]`.
    Link(f64),
}

/// What to know about a change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Note {
    /// What is counted for containers.
    Containers,
    /// Modules are taken out: every slot is taken.
    AllSlotsTaken,
    /// Modules are taken out: fewer slots are free than are needed.
    TooFewSlotsFree,
    /// Modules are taken out: the number of slots is not given.
    SlotsUnknown,
    /// A module is taken out because none of the same size is beside it.
    UnpairedModule,
    /// What is counted for larger devices.
    LargerDevices,
    /// The pool has no price.
    NoPoolPrice,
    /// The host has no price.
    NoHostPrice,
}

/// What to know about changes made at once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notes(pub Vec<Note>);

impl Change {
    /// How many hosts it adds.
    pub fn hosts(&self) -> u64 {
        match self.action {
            Action::MoreHosts(more) => more,
            _ => 0,
        }
    }

    /// Owned parts that it takes out.
    pub fn replaced(&self) -> Vec<Replaced> {
        match &self.action {
            Action::Modules { replaced, .. } => {
                let all = replaced.iter();
                all.map(|&(size, number)| Replaced::Modules(number, size))
                    .collect()
            }
            Action::LargerDevices { devices, old, .. } => {
                vec![Replaced::Devices(*devices, *old)]
            }
            Action::Link { old, .. } => vec![Replaced::Link(*old)],
            Action::Containers | Action::MoreDevices { .. } | Action::MoreHosts(_) => Vec::new(),
        }
    }

    /// What to know about it.
    pub fn note(&self) -> Option<Note> {
        match (&self.action, self.price) {
            (Action::Containers, _) => Some(Note::Containers),
            (Action::Modules { reason, .. }, _) => *reason,
            (Action::LargerDevices { .. }, _) => Some(Note::LargerDevices),
            (Action::MoreDevices { .. }, None) => Some(Note::NoPoolPrice),
            (Action::MoreHosts(_), None) => Some(Note::NoHostPrice),
            _ => None,
        }
    }

    /// Makes the change; further hosts and containers leave the host as it is.
    fn apply(&self, host: &mut Host) {
        match &self.action {
            Action::Modules {
                bought, replaced, ..
            } => {
                let out: usize = replaced.iter().map(|(_, number)| number).sum();
                let modules = &mut host.memory.modules;
                modules.sort_by(f64::total_cmp);
                modules.drain(..out);
                // Only their sum counts, and there may be very many.
                modules.extend(bought.iter().map(|(size, number)| size * *number as f64));
            }
            Action::MoreDevices { pool, more, .. } => {
                let pool = &mut host.disks[*pool];
                let old = pool.devices as f64;
                pool.devices += more;
                // Rated writes left are counted per device, so what is worn already is spread over all.
                pool.already_written *= old / pool.devices as f64;
            }
            Action::LargerDevices { pool, capacity, .. } => {
                host.disks[*pool].capacity = *capacity;
                host.disks[*pool].already_written = 0.0;
            }
            Action::Link { speed, .. } => host.link = Some(*speed),
            Action::Containers | Action::MoreHosts(_) => {}
        }
    }
}

impl Changes {
    /// What they cost together; none where one has no price.
    pub fn price(&self) -> Option<f64> {
        self.0.iter().map(|change| change.price).sum()
    }
}

/// The host with these changes made.
pub(super) fn changed(host: &Host, changes: &[Change]) -> Host {
    let mut host = host.clone();
    for change in changes {
        change.apply(&mut host);
    }
    host
}
