//! The tables of the file.

/// A table of the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Section {
    /// The file itself.
    Top,
    /// `[lab]`
    Lab,
    /// `[policy]`
    Policy,
    /// `[[host]]`
    Host,
    /// `[host.cpu]`
    Cpu,
    /// One entry of `host.cpu.groups`.
    Group,
    /// `[host.memory]`
    Memory,
    /// `[host.merging]`
    Merging,
    /// `[[host.disk]]`
    Disk,
    /// `[host.network]`
    Network,
    /// `[host.power]`
    Power,
    /// `[host.backup]`
    Backup,
    /// `[[image]]`
    Image,
    /// `[[guest]]`
    Guest,
}

impl Section {
    /// All sections, in the order of the specification.
    pub const ALL: [Section; 14] = [
        Section::Top,
        Section::Lab,
        Section::Policy,
        Section::Host,
        Section::Cpu,
        Section::Group,
        Section::Memory,
        Section::Merging,
        Section::Disk,
        Section::Network,
        Section::Power,
        Section::Backup,
        Section::Image,
        Section::Guest,
    ];

    /// How the section is opened in the file.
    pub fn header(self) -> &'static str {
        match self {
            Section::Top => "the top of the file",
            Section::Lab => "[lab]",
            Section::Policy => "[policy]",
            Section::Host => "[[host]]",
            Section::Cpu => "[host.cpu]",
            Section::Group => "host.cpu.groups",
            Section::Memory => "[host.memory]",
            Section::Merging => "[host.merging]",
            Section::Disk => "[[host.disk]]",
            Section::Network => "[host.network]",
            Section::Power => "[host.power]",
            Section::Backup => "[host.backup]",
            Section::Image => "[[image]]",
            Section::Guest => "[[guest]]",
        }
    }
}
