//! Keys of `[[host]]` and its processor, network, power and backup.

use super::disk::Pool;
use super::keys::Command::Upgrade;
use super::keys::Section;
use super::keys::Spread::Values;
use super::keys::range::{
    self, AMOUNT, COPIES, COUNT, MONEY, SHARE, SOME_BIT_RATE, SOME_BYTE_RATE, SOME_FACTOR,
    SOME_TIME, THREADS,
};
use super::keys::row::{NAME, PRICES, count, quantity, table, tables};
use super::memory::HostMemory;
use super::merging::Merging;
use super::origin::DefaultOrigin::{Assumption, CommonPractice};
use super::step::{Step, When};
use super::table::section;

section! {
    /// A host that could be bought or is owned.
    Host: Section::Host => {
        name: String = NAME, "name of the host";
        copies: Option<u64> = count(COPIES).absent("there is one of it"), "how many equal hosts there are of it, for `fleet`";
        price: Option<f64> = quantity(MONEY).absent("its price is not considered"), "purchase price";
        cpu: Cpu = table(Section::Cpu), "its processor";
        memory: HostMemory = table(Section::Memory), "its memory";
        merging: Merging = table(Section::Merging).absent("no page sharing"), "page sharing (same-page merging)";
        disk in disks = tables(Section::Disk).absent("disks are not considered"), "its disk pools";
        network in link = table(Section::Network).absent("the network is not considered"), "its network link";
        power: Option<Power> = table(Section::Power).absent("power is not considered"), "its power draw";
        backup: Option<Backup> = table(Section::Backup).absent("backup is not considered"), "its nightly backup";
    }
    also {
        /// Disk pools in the order of the file; the first is where guests without `disk` lie.
        disks: Vec<Pool>;
        /// Link speed in each direction `[bit/s]`.
        link: Option<f64>;
        /// Prices of faster links: (speed `[bit/s]`, price `[money]`).
        link_prices: Vec<(f64, f64)>;
    }
}

section! {
    /// Processor of a host.
    Cpu: Section::Cpu => {
        groups: Vec<CoreGroup> = tables(Section::Group), "groups of equal cores";
        base_cores: f64 = quantity(AMOUNT).default("0.2", Assumption)
            .spread(Values("0.1", "0.6"), "processor time in use with no guest running: /proc/stat"),
            "what the host itself uses, in cores of speed 1";
    }
}

section! {
    /// Equal cores.
    CoreGroup: Section::Group => {
        cores: u64 = count(COUNT), "cores in the group";
        threads: u64 = count(THREADS).default("1", CommonPractice), "hardware threads per core";
        speed: f64 = quantity(SOME_FACTOR).default("1", CommonPractice),
            "speed of one core, 1 = the core that loads are stated in";
        smt_gain: f64 = quantity(SHARE).default("25 %", CommonPractice)
            .spread(Values("10 %", "35 %"), "a load of yours on all threads, against one thread a core"),
            "throughput gained per further thread of a core";
    }
}

section! {
    /// Network link of a host.
    Network: Section::Network => {
        link: f64 = quantity(SOME_BIT_RATE), "speed of the link in each direction";
        link_prices: Vec<(f64, f64)> = PRICES.absent("a faster link has no price").first(Upgrade),
            "what a faster link costs, by its speed";
    }
}

section! {
    /// Power draw at the wall.
    Power: Section::Power => {
        idle: f64 = quantity(range::POWER), "power at the wall when idle";
        busy: f64 = quantity(range::POWER), "power at the wall with every core busy";
        extra: f64 = quantity(range::POWER).default("0 W", CommonPractice),
            "power of switches, outside disks and the like, added always";
    }
    steps &[Step::AtMost("idle", "busy", When::LowGiven)];
}

section! {
    /// The nightly backup.
    Backup: Section::Backup => {
        window: f64 = quantity(SOME_TIME), "time allowed for one day's backup";
        speed: Option<f64> = quantity(SOME_BYTE_RATE).absent("the link alone limits it"), "speed to the backup target";
    }
}
