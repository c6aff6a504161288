//! Keys of the file's top, `[lab]` and `[policy]`.

use crate::lab::DefaultOrigin::{Assumption, CommonPractice, Reported};
use crate::unit::parse::Dimension::{Number, Power, Share, Time};

use super::Command::Fit;
use super::Default::{Absent, Fixed, Required};
use super::Kind::{Count, Files, Quantity, Table, Tables, Title};
use super::{Key, Section, range};

pub(super) const TOP: &[Key] = &[
    Key::new(
        "include",
        Files,
        range::ANY,
        Absent("nothing is included"),
        Fit,
        "other inventory files to read as well",
    ),
    Key::new(
        "lab",
        Table(Section::Lab),
        range::ANY,
        Absent("a lab without a name"),
        Fit,
        "the lab as a whole",
    ),
    Key::new(
        "policy",
        Table(Section::Policy),
        range::ANY,
        Absent("the defaults"),
        Fit,
        "what is accepted as safe",
    ),
    Key::new(
        "host",
        Tables(Section::Host),
        range::ANY,
        Required,
        Fit,
        "what could be bought or is owned",
    ),
    Key::new(
        "image",
        Tables(Section::Image),
        range::ANY,
        Absent("no images"),
        Fit,
        "what guests are cloned from",
    ),
    Key::new(
        "guest",
        Tables(Section::Guest),
        range::ANY,
        Required,
        Fit,
        "what should run",
    ),
];

pub(super) const LAB: &[Key] = &[
    Key::new(
        "name",
        Title,
        range::ANY,
        Absent("no name"),
        Fit,
        "name of the lab",
    ),
    Key::new(
        "currency",
        Title,
        range::ANY,
        Absent("no currency"),
        Fit,
        "currency that all money is in",
    ),
    Key::new(
        "tariff",
        Quantity(Number),
        range::MONEY,
        Absent("the price of energy is not considered"),
        Fit,
        "price per kWh",
    ),
    Key::new(
        "years",
        Quantity(Number),
        range::YEARS,
        Fixed("5", Assumption),
        Fit,
        "years that costs are summed over",
    ),
];

pub(super) const POLICY: &[Key] = &[
    Key::new(
        "memory_risk",
        Quantity(Share),
        range::RISK,
        Fixed("0.5 %", Assumption),
        Fit,
        "accepted chance of passing a limit that loses data",
    ),
    Key::new(
        "slow_risk",
        Quantity(Share),
        range::RISK,
        Fixed("5 %", Assumption),
        Fit,
        "accepted chance of passing a limit that makes things slow",
    ),
    Key::new(
        "correlation",
        Quantity(Share),
        range::CORRELATION,
        Fixed("0.1", Assumption),
        Fit,
        "how much the guests are busy at the same time",
    ),
    Key::new(
        "memory_keep_free",
        Quantity(Share),
        range::KEEP_FREE,
        Fixed("10 %", CommonPractice),
        Fit,
        "a share of the memory the kernel sees",
    ),
    Key::new(
        "disk_keep_free",
        Quantity(Share),
        range::KEEP_FREE,
        Fixed("20 %", Reported(4)),
        Fit,
        "a share of a pool's usable space",
    ),
    Key::new(
        "cpu_slowdown",
        Quantity(Number),
        range::FACTOR,
        Fixed("1.5", Assumption),
        Fit,
        "at the accepted worst moment a busy guest gets 1/this of the processor it asks for",
    ),
    Key::new(
        "disk_ceiling",
        Quantity(Share),
        range::CEILING,
        Fixed("70 %", CommonPractice),
        Fit,
        "highest accepted busy share of the disks",
    ),
    Key::new(
        "network_ceiling",
        Quantity(Share),
        range::CEILING,
        Fixed("70 %", CommonPractice),
        Fit,
        "highest accepted share of the link",
    ),
    Key::new(
        "service_life",
        Quantity(Time),
        range::SOME_TIME,
        Fixed("5 years", CommonPractice),
        Fit,
        "how long the disks have to last",
    ),
    Key::new(
        "power_budget",
        Quantity(Power),
        range::SOME_POWER,
        Absent("power is no limit"),
        Fit,
        "accepted power at the wall",
    ),
    Key::new(
        "max_vcpus_per_thread",
        Quantity(Number),
        range::SOME_FACTOR,
        Absent("vCPUs are no limit"),
        Fit,
        "accepted vCPUs per hardware thread",
    ),
    Key::new(
        "max_mean_wait",
        Quantity(Time),
        range::SOME_TIME,
        Absent("the wait is no limit"),
        Fit,
        "accepted mean wait in the run queue",
    ),
    Key::new(
        "cpu_slice",
        Quantity(Time),
        range::SOME_TIME,
        Fixed("3 ms", Assumption),
        Fit,
        "mean time a vCPU holds a hardware thread",
    ),
    Key::new(
        "disk_horizon",
        Quantity(Time),
        range::TIME,
        Fixed("0 days", Assumption),
        Fit,
        "how far ahead disk growth is planned for",
    ),
    Key::new(
        "max_guests",
        Count,
        range::COUNT,
        Absent("the number of guests is no limit"),
        Fit,
        "most guests accepted, fixed ones included",
    ),
];
