//! Which rows a section has, and the row that a path leads to.

use super::key::{Command, Key};
use super::path::key_steps;
use super::section::Section;
use crate::lab::{disk, guest, host, image, memory, merging, policy};

impl Section {
    /// The keys it may hold.
    pub fn keys(self) -> &'static [Key] {
        match self {
            Section::Top => policy::TOP,
            Section::Lab => policy::About::KEYS,
            Section::Policy => policy::Policy::KEYS,
            Section::Host => host::Host::KEYS,
            Section::Cpu => host::Cpu::KEYS,
            Section::Group => host::CoreGroup::KEYS,
            Section::Memory => memory::HostMemory::KEYS,
            Section::Merging => merging::Merging::KEYS,
            Section::Disk => disk::Pool::KEYS,
            Section::Network => host::Network::KEYS,
            Section::Power => host::Power::KEYS,
            Section::Backup => host::Backup::KEYS,
            Section::Image => image::Image::KEYS,
            Section::Guest => guest::Guest::KEYS,
        }
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
    let words: Vec<&str> = steps.iter().map(String::as_str).collect();
    let (section, last) = match words.as_slice() {
        ["guest", _, last] => (Section::Guest, last),
        ["image", _, last] => (Section::Image, last),
        ["policy", last] => (Section::Policy, last),
        ["host", _, last] => (Section::Host, last),
        ["host", _, "memory", last] => (Section::Memory, last),
        ["host", _, "merging", last] => (Section::Merging, last),
        ["host", _, "disk", _, last] => (Section::Disk, last),
        ["host", _, "network", last] => (Section::Network, last),
        ["host", _, "power", last] => (Section::Power, last),
        ["host", _, "backup", last] => (Section::Backup, last),
        ["host", _, "cpu", last] => (Section::Cpu, last),
        ["host", _, "cpu", "groups", _, last] => (Section::Group, last),
        _ => return None,
    };
    section.key(last)
}
