//! Which rows a section has, and the row that a path leads to.

use super::key::{Command, Key, Kind, Section, Spread};
use super::path::key_steps;
use crate::lab::disk::Pool;
use crate::lab::guest::Guest;
use crate::lab::host::{Backup, CoreGroup, Cpu, Host, Network, Power};
use crate::lab::image::Image;
use crate::lab::memory::HostMemory;
use crate::lab::merging::Merging;
use crate::lab::period::Period;
use crate::lab::policy::{LabInfo, Policy, TOP};

/// Each section, in the order of the specification: its name, how it is opened in the file, and its keys.
const ROWS: [(Section, &str, &str, &[Key]); 15] = [
    (Section::Top, "inventory", "the top of the file", TOP),
    (Section::Lab, "lab", "[lab]", LabInfo::KEYS),
    (Section::Policy, "policy", "[policy]", Policy::KEYS),
    (Section::Host, "host", "[[host]]", Host::KEYS),
    (Section::Cpu, "cpu", "[host.cpu]", Cpu::KEYS),
    (Section::Group, "group", "host.cpu.groups", CoreGroup::KEYS),
    (Section::Memory, "memory", "[host.memory]", HostMemory::KEYS),
    (Section::Merging, "merging", "[host.merging]", Merging::KEYS),
    (Section::Disk, "disk", "[[host.disk]]", Pool::KEYS),
    (Section::Network, "network", "[host.network]", Network::KEYS),
    (Section::Power, "power", "[host.power]", Power::KEYS),
    (Section::Backup, "backup", "[host.backup]", Backup::KEYS),
    (Section::Image, "image", "[[image]]", Image::KEYS),
    (Section::Guest, "guest", "[[guest]]", Guest::KEYS),
    (Section::Period, "period", "[[period]]", Period::KEYS),
];

impl Section {
    /// All sections, in the order of the specification.
    pub fn all() -> impl Iterator<Item = Section> {
        ROWS.into_iter().map(|(section, ..)| section)
    }

    /// A name for it where no file is spoken of.
    pub fn name(self) -> &'static str {
        ROWS[self as usize].1
    }

    /// How the section is opened in the file.
    pub fn header(self) -> &'static str {
        ROWS[self as usize].2
    }

    /// The keys it may hold.
    pub fn keys(self) -> &'static [Key] {
        ROWS[self as usize].3
    }

    /// Whether what a key of it holds is decided by the owner, so that it cannot be uncertain.
    pub fn is_chosen(self, key: &Key) -> bool {
        matches!(self, Section::Lab | Section::Policy) && key.spread == Spread::None
    }

    /// The key of that name.
    pub fn key(self, name: &str) -> Option<&'static Key> {
        self.keys().iter().find(|key| key.name == name)
    }
}

/// The command that first needs the key of a path (`guest.web.boot_cpu`), if it is not `fit`.
pub fn later_command(path: &str) -> Option<&'static str> {
    let key = key_of(path)?;
    (key.first != Command::Fit).then(|| key.first.name())
}

/// The row of the key that a path leads to.
pub fn key_of(path: &str) -> Option<&'static Key> {
    let steps = key_steps(path);
    let mut steps = steps.iter();
    let mut key = Section::Top.key(steps.next()?)?;
    loop {
        let section = match (key.kind, steps.len()) {
            (_, 0) => return Some(key),
            (Kind::Table(section), _) => section,
            // One of them is named or counted.
            (Kind::Tables(section), _) => steps.next().map(|_| section)?,
            (Kind::ShareByPeriod, 1) => return Some(key),
            _ => return None,
        };
        key = section.key(steps.next()?)?;
    }
}
