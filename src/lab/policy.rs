//! Keys of the file's top, `[lab]` and `[policy]`.

use super::keys::Needs::{Costs, Disks, Link};
use super::keys::Spread::Values;
use super::keys::range::{
    CEILING, CORRELATION, COUNT, FACTOR, KEEP_FREE, MONEY, RISK, SOME_FACTOR, SOME_POWER,
    SOME_TIME, TIME, YEARS,
};
use super::keys::row::{FILES, TITLE, count, quantity, table, tables};
use super::keys::{Key, Section};
use super::origin::DefaultOrigin::{Assumption, CommonPractice, OtherMachines, Reported};
use super::table::section;

/// Keys of the file's top.
pub(super) const TOP: &[Key] = &[
    FILES
        .absent("nothing is included")
        .named("include", "other inventory files to read as well"),
    table(Section::Lab)
        .absent("a lab without a name")
        .named("lab", "the lab as a whole"),
    table(Section::Policy)
        .absent("the defaults")
        .named("policy", "what is accepted as safe"),
    tables(Section::Host).named("host", "what could be bought or is owned"),
    tables(Section::Image)
        .absent("no images")
        .named("image", "what guests are cloned from"),
    tables(Section::Guest).named("guest", "what should run"),
    tables(Section::Period)
        .absent("one busy hour stands for all the time")
        .named("period", "when guests are busy"),
];

section! {
    /// The lab as a whole.
    LabInfo: Section::Lab => {
        name: String = TITLE.absent("no name"), "name of the lab";
        currency: String = TITLE.absent("no currency"), "currency that all money is in";
        tariff: Option<f64> = quantity(MONEY).absent("the price of energy is not considered"), "price per kWh";
        years: f64 = quantity(YEARS).needs(Costs).default("5", Assumption), "years that costs are summed over";
    }
}

section! {
    /// What is accepted as safe.
    Policy: Section::Policy => {
        memory_risk: f64 = quantity(RISK).default("0.5 %", Assumption),
            "accepted chance of passing a limit that loses data";
        slow_risk: f64 = quantity(RISK).default("5 %", Assumption),
            "accepted chance of passing a limit that makes things slow";
        correlation: f64 = quantity(CORRELATION)
            .default("0.05", OtherMachines("two open sets of machine readings, none of a small lab"))
            .spread(Values("0", "0.3"), "processor time of several guests by the minute over a week"),
            "how much the guests are busy at the same time";
        memory_keep_free: f64 = quantity(KEEP_FREE).default("10 %", CommonPractice),
            "a share of the memory the kernel sees";
        disk_keep_free: f64 = quantity(KEEP_FREE).needs(Disks).default("20 %", Reported(4)), "a share of a pool's usable space";
        cpu_slowdown: f64 = quantity(FACTOR).default("1.5", Assumption),
            "at the accepted worst moment a busy guest gets 1/this of the processor it asks for";
        disk_ceiling: f64 = quantity(CEILING).needs(Disks).default("70 %", CommonPractice), "highest accepted busy share of the disks";
        network_ceiling: f64 = quantity(CEILING).needs(Link).default("70 %", CommonPractice), "highest accepted share of the link";
        service_life: f64 = quantity(SOME_TIME).needs(Disks).default("5 years", CommonPractice), "how long the disks have to last";
        power_budget: Option<f64> = quantity(SOME_POWER).absent("power is no limit"), "accepted power at the wall";
        max_vcpus_per_thread: Option<f64> = quantity(SOME_FACTOR).absent("vCPUs are no limit"),
            "accepted vCPUs per hardware thread";
        max_mean_wait: Option<f64> = quantity(SOME_TIME).absent("the wait is no limit"),
            "accepted mean wait in the run queue";
        cpu_slice: f64 = quantity(SOME_TIME).default("3 ms", Assumption), "mean time a vCPU holds a hardware thread";
        disk_horizon: f64 = quantity(TIME).needs(Disks).default("0 days", Assumption), "how far ahead disk growth is planned for";
        max_guests: Option<u64> = count(COUNT).absent("the number of guests is no limit"),
            "most guests accepted, fixed ones included";
    }
}
