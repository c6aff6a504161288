//! Keys of `[[host]]` and its processor, memory, network, power and backup.

use crate::lab::DefaultOrigin::{Assumption, CommonPractice, Derived, Reported};
use crate::unit::parse::Dimension::{
    BitRate, ByteRate, Bytes, Number, Power as Watts, Share, Time,
};

use super::Command::{Fit, Upgrade};
use super::Default::{Absent, Fixed, Required, Rule};
use super::Kind::{Count, Name, Prices, Quantity, Sizes, Table, Tables};
use super::{Key, Section, range};

pub(super) const HOST: &[Key] = &[
    Key::new("name", Name, range::ANY, Required, Fit, "name of the host"),
    Key::new(
        "price",
        Quantity(Number),
        range::MONEY,
        Absent("its price is not considered"),
        Fit,
        "purchase price",
    ),
    Key::new(
        "cpu",
        Table(Section::Cpu),
        range::ANY,
        Required,
        Fit,
        "its processor",
    ),
    Key::new(
        "memory",
        Table(Section::Memory),
        range::ANY,
        Required,
        Fit,
        "its memory",
    ),
    Key::new(
        "merging",
        Table(Section::Merging),
        range::ANY,
        Absent("no page sharing"),
        Fit,
        "page sharing (same-page merging)",
    ),
    Key::new(
        "disk",
        Tables(Section::Disk),
        range::ANY,
        Absent("disks are not considered"),
        Fit,
        "its disk pools",
    ),
    Key::new(
        "network",
        Table(Section::Network),
        range::ANY,
        Absent("the network is not considered"),
        Fit,
        "its network link",
    ),
    Key::new(
        "power",
        Table(Section::Power),
        range::ANY,
        Absent("power is not considered"),
        Fit,
        "its power draw",
    ),
    Key::new(
        "backup",
        Table(Section::Backup),
        range::ANY,
        Absent("backup is not considered"),
        Fit,
        "its nightly backup",
    ),
];

pub(super) const CPU: &[Key] = &[
    Key::new(
        "groups",
        Tables(Section::Group),
        range::ANY,
        Required,
        Fit,
        "groups of equal cores",
    ),
    Key::new(
        "base_cores",
        Quantity(Number),
        range::AMOUNT,
        Fixed("0.2", Assumption),
        Fit,
        "what the host itself uses, in cores of speed 1",
    ),
];

pub(super) const GROUP: &[Key] = &[
    Key::new(
        "cores",
        Count,
        range::COUNT,
        Required,
        Fit,
        "cores in the group",
    ),
    Key::new(
        "threads",
        Count,
        range::THREADS,
        Fixed("1", CommonPractice),
        Fit,
        "hardware threads per core",
    ),
    Key::new(
        "speed",
        Quantity(Number),
        range::SOME_FACTOR,
        Fixed("1", CommonPractice),
        Fit,
        "speed of one core, 1 = the core that loads are stated in",
    ),
    Key::new(
        "smt_gain",
        Quantity(Share),
        range::SHARE,
        Fixed("25 %", CommonPractice),
        Fit,
        "throughput gained per further thread of a core",
    ),
];

pub(super) const MEMORY: &[Key] = &[
    Key::new(
        "modules",
        Sizes,
        range::SOME_SIZE,
        Required,
        Fit,
        "sizes of the memory modules",
    ),
    Key::new(
        "slots",
        Count,
        range::COUNT,
        Absent("slots are not considered"),
        Upgrade,
        "number of module slots",
    ),
    Key::new(
        "max_module",
        Quantity(Bytes),
        range::SOME_SIZE,
        Absent("any module is taken to fit"),
        Upgrade,
        "largest module the board takes",
    ),
    Key::new(
        "firmware_reserved",
        Quantity(Bytes),
        range::SIZE,
        Fixed("0.5 GiB", Reported(6)),
        Fit,
        "memory that firmware and devices hold back",
    ),
    Key::new(
        "base",
        Quantity(Bytes),
        range::SIZE,
        Fixed("2 GiB", Reported(6)),
        Fit,
        "the host's own memory: operating system and management services",
    ),
    Key::new(
        "file_cache",
        Quantity(Bytes),
        range::SIZE,
        Fixed("0 B", CommonPractice),
        Fit,
        "a file-system cache that does not shrink",
    ),
    Key::new(
        "file_cache_floor",
        Quantity(Bytes),
        range::SIZE,
        Rule("file_cache", Derived),
        Fit,
        "the least that this cache keeps under pressure",
    ),
    Key::new(
        "swap",
        Quantity(Bytes),
        range::SIZE,
        Fixed("0 B", CommonPractice),
        Fit,
        "swap on disk",
    ),
    Key::new(
        "compressed_swap",
        Quantity(Bytes),
        range::SIZE,
        Fixed("0 B", CommonPractice),
        Fit,
        "compressed swap held in memory, by its uncompressed size",
    ),
    Key::new(
        "compressed_swap_ratio",
        Quantity(Number),
        range::FACTOR,
        Fixed("2", CommonPractice),
        Fit,
        "how many times smaller compressed swap gets",
    ),
    Key::new(
        "module_prices",
        Prices,
        range::MONEY,
        Absent("modules have no price"),
        Upgrade,
        "what a module of each size costs",
    ),
];

pub(super) const NETWORK: &[Key] = &[
    Key::new(
        "link",
        Quantity(BitRate),
        range::SOME_BIT_RATE,
        Required,
        Fit,
        "speed of the link in each direction",
    ),
    Key::new(
        "link_prices",
        Prices,
        range::MONEY,
        Absent("a faster link has no price"),
        Upgrade,
        "what a faster link costs, by its speed",
    ),
];

pub(super) const POWER: &[Key] = &[
    Key::new(
        "idle",
        Quantity(Watts),
        range::POWER,
        Required,
        Fit,
        "power at the wall when idle",
    ),
    Key::new(
        "busy",
        Quantity(Watts),
        range::POWER,
        Required,
        Fit,
        "power at the wall with every core busy",
    ),
    Key::new(
        "extra",
        Quantity(Watts),
        range::POWER,
        Fixed("0 W", CommonPractice),
        Fit,
        "power of switches, outside disks and the like, added always",
    ),
];

pub(super) const BACKUP: &[Key] = &[
    Key::new(
        "window",
        Quantity(Time),
        range::SOME_TIME,
        Required,
        Fit,
        "time allowed for one day's backup",
    ),
    Key::new(
        "speed",
        Quantity(ByteRate),
        range::SOME_BYTE_RATE,
        Absent("the link alone limits it"),
        Fit,
        "speed to the backup target",
    ),
];
