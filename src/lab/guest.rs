//! Keys of `[[guest]]`.

use super::keys::Command::Rollout;
use super::keys::Needs::{Backup, Disks, Link, Sharing};
use super::keys::Section;
use super::keys::Spread::{Shares, Times, Values};
use super::keys::range::{
    AMOUNT, BIT_RATE, BOOT_CPU, BYTE_RATE, COUNT, EVENTS, GROWTH, SHARE, SIZE, SLEEP, SOME_SIZE,
    SOME_TIME, WEIGHT,
};
use super::keys::row::{
    FLAG, NAME, REFERENCE, SHARE_BY_PERIOD, SIZE_OR_SHARE, TITLE, count, quantity, word,
};
use super::origin::DefaultOrigin::{
    self, Assumption, Derived, Measured, OtherMachines, Published, Reported,
};
use super::period::BusyShare;
use super::step::Room::{Above, Any, Below, Beside};
use super::step::Step::{self, AtMost, Case, Fill, Flag, InBytes, Limit, MakeRoom, Parts};
use super::step::When::{BothGiven, HighGiven, LowGiven, LowWithout};
use super::table::{section, words};

/// The process that runs a guest: what operators document.
const OPERATORS: DefaultOrigin = Published("public operator docs");
/// How busy guests are.
const READINGS: DefaultOrigin =
    OtherMachines("two open sets of machine readings at the busy hour, none of a small lab");
/// 2^20 bytes.
const MIB: f64 = 1_048_576.0;

words! {
    /// What a guest is.
    Kind {
        /// A virtual machine with its own kernel.
        #[default]
        Machine = "vm",
        /// A container: no guest kernel, files shared through the host's page cache.
        Container = "container",
    }
}

words! {
    /// How a guest's disk is made.
    CloneKind {
        /// Only what differs from the image is stored (also called linked or thin clone).
        #[default]
        Overlay = "overlay",
        /// A full copy of the image.
        Copy = "copy",
    }
}

section! {
    /// A guest profile.
    Guest: Section::Guest => {
        name: String = NAME, "name of the guest profile";
        kind: Kind = word(Kind::WORDS).default("vm", Assumption), "machine or container";
        matches: Option<String> = TITLE.absent("guests of the running host are of the kind that survey gives them"),
            "names of its guests on the running host, * for any letters";
        image: Option<usize> = REFERENCE.rule("an image of its own", Assumption), "image it is cloned from";
        count: u64 = count(COUNT).absent("none has to run; `share` scales it"), "how many must run";
        grows: f64 = quantity(GROWTH).absent("as many stay as must run"), "how many more of it come, with `count`";
        share: Option<f64> = quantity(WEIGHT).rule("1; with `count` none", Derived), "its weight in the mix that is multiplied; beside `count` in what is added";
        rank: Option<f64> = quantity(AMOUNT).absent("0: placed last on several hosts"),
            "how important it is on several hosts: after guests with `count`, a higher rank is placed first and left out last";
        vcpus: u64 = count(COUNT).default("1", Assumption), "virtual processors";
        memory: f64 as "m" = quantity(SOME_SIZE), "memory assigned to it";
        touched: f64 as "t0" = quantity(SIZE).rule("40 % of memory", Assumption)
            .spread(Shares("20 %", "70 %"), "berthage calibrate, from readings with guests just started"),
            "held on the host when idle and never busy";
        touched_busy: f64 as "t1" = quantity(SIZE).rule("97 % of memory, at least touched", Measured)
            .spread(Shares("80 %", "100 %"), "berthage calibrate, from readings with guests that have been busy"),
            "held on the host when busy";
        common: f64 as "c" = SIZE_OR_SHARE.rule("20 % of touched", Assumption)
            .spread(Shares("10 %", "40 %"), "berthage calibrate, from readings while pages are shared"),
            "part of `touched` that is equal in every guest of the image";
        common_busy: f64 = quantity(SIZE).needs(Sharing).default("0 B", Assumption),
            "part of what a busy spell leaves behind that is equal in every guest of the image";
        repeats: f64 as "s" = SIZE_OR_SHARE.rule("10 % of touched", Assumption)
            .spread(Shares("2 %", "25 %"), "berthage calibrate, from readings while pages are shared"),
            "part of `touched` whose pages repeat inside the guest, mostly zeroed pages";
        keeps: f64 as "k" = quantity(SHARE).rule("90 %; container: 0 %", Measured)
            .spread(Values("80 %", "100 %"), "resident size of a guest's process before and after a busy spell"),
            "share of what it touched when busy that it does not give back";
        overhead: f64 as "o" = quantity(SIZE)
            .rule("30 MiB + 8 MiB per vCPU + 8 MiB + memory/512; container: 10 MiB", OPERATORS)
            .spread(Times(0.7, 2.5), "resident size of a guest's process beyond the guest's own memory"),
            "the process that runs the guest, beyond its memory";
        busy_breaks: f64 as "β" = quantity(SHARE).needs(Sharing).rule("31 %; container: 0 %", Measured)
            .spread(Values("10 %", "60 %"), "pages_sharing in /sys/kernel/mm/ksm before and after a busy spell"),
            "share of its shared pages that a busy guest rewrites";
        rewrite_interval: f64 = quantity(SOME_TIME).needs(Sharing).default("6 h", Assumption)
            .spread(Values("1 h", "48 h"), "pages_sharing in /sys/kernel/mm/ksm while the scanner is stopped"),
            "mean time between rewrites of a page that can be shared";
        working_set: Option<f64> as "w" = quantity(SIZE).absent("the balloon floor alone counts"),
            "memory in active use, which a balloon may not take";
        balloon_floor: Option<f64> as "f" = quantity(SIZE)
            .absent("the working set alone counts; with neither there is no balloon"),
            "memory that a balloon may not take";
        merge: bool = FLAG.rule("true for machines, false for containers", Derived), "whether its pages may be shared";
        huge_pages: bool = FLAG.default("false", Assumption), "backed by reserved huge pages";
        pinned: bool = FLAG.default("false", Assumption), "pinned in memory, as a passed-through device needs";
        busy: BusyShare as "a" = SHARE_BY_PERIOD.default("8 %", READINGS)
            .spread(Values("2 %", "20 %"), "processor time of its process by the minute: /proc/PID/stat"),
            "chance that it is busy at the busy hour";
        idle_load: f64 = quantity(SHARE).rule("1.5 %", READINGS)
            .spread(Values("0.3 %", "3 %"), "processor time of its process while idle, per vCPU: /proc/PID/stat"),
            "load of one vCPU when idle";
        busy_load: f64 = quantity(SHARE).rule("70 %", READINGS)
            .spread(Values("40 %", "100 %"), "processor time of its process while busy, per vCPU: /proc/PID/stat"),
            "load of one vCPU when busy";
        disk: Option<String> = REFERENCE.needs(Disks).absent("the host's first pool"), "pool its disk lies in";
        clone: CloneKind = word(CloneKind::WORDS).needs(Disks).default("overlay", Assumption), "linked to its image, or a full copy";
        disk_used: f64 = quantity(SIZE).needs(Disks).rule("4 GiB", Assumption)
            .spread(Values("2 GiB", "12 GiB"), "space that its disk file takes: du"),
            "disk it uses now";
        disk_size: f64 = quantity(SIZE).needs(Disks).rule("disk_used", Assumption), "disk it was promised";
        disk_grows: f64 = quantity(BYTE_RATE).needs(Disks).default("0 B/day", Assumption), "growth of the disk it uses";
        trims: bool = FLAG.needs(Disks).default("true", Assumption), "whether it gives freed blocks back";
        backup: f64 = quantity(BYTE_RATE).needs(Backup).default("0 B/day", Assumption), "backed up each day";
        reads_idle: f64 = quantity(EVENTS).needs(Disks).rule("0", Assumption), "disk reads per second when idle";
        reads_busy: f64 = quantity(EVENTS).needs(Disks).rule("reads_idle", Assumption), "disk reads per second when busy";
        writes_idle: f64 = quantity(EVENTS).needs(Disks).rule("1", Assumption)
            .spread(Values("0.2", "5"), "writes completed in an idle hour, per guest: /proc/diskstats"),
            "disk writes per second when idle";
        writes_busy: f64 = quantity(EVENTS).needs(Disks).rule("writes_idle", Assumption), "disk writes per second when busy";
        written: f64 = quantity(BYTE_RATE).needs(Disks).default("1 GB/day", Reported(2))
            .spread(Values("0.2 GB/day", "3 GB/day"), "berthage calibrate, from a day of lines of survey --reading"),
            "what it writes to disk on average";
        net_idle: f64 = quantity(BIT_RATE).needs(Link).rule("0 bit/s", Assumption),
            "network traffic in the busier direction when idle";
        net_busy: f64 = quantity(BIT_RATE).needs(Link).rule("net_idle", Assumption),
            "network traffic in the busier direction when busy";
        boot_time: f64 = quantity(SLEEP).default("30 s", Assumption).first(Rollout), "time from start until it has settled";
        boot_cpu: f64 = quantity(BOOT_CPU).default("15", Assumption).first(Rollout),
            "processor time of a boot, in core-seconds";
        boot_reads: f64 = quantity(AMOUNT).default("2000", Assumption).first(Rollout), "disk reads of a boot";
        boot_writes: f64 = quantity(SIZE).default("30 MB", Assumption).first(Rollout), "bytes written by a boot";
    }
    basis "memory";
    steps STEPS;
}

/// Whether the host gives the guest all its memory at the start.
fn is_backed_whole(guest: &Guest) -> bool {
    guest.huge_pages || guest.pinned
}

fn is_container(guest: &Guest) -> bool {
    guest.kind == Kind::Container
}

/// Whether nothing says how many there are.
fn is_scaled(guest: &Guest) -> bool {
    guest.count == 0
}

/// What a guest that is backed whole holds when busy `[B]`.
fn all_memory(guest: &Guest) -> f64 {
    guest.memory.max(guest.touched)
}

/// The process that runs a machine `[B]`.
#[expect(clippy::cast_precision_loss, reason = "counts are at most 1,000,000")]
fn overhead(guest: &Guest) -> f64 {
    30.0 * MIB + 8.0 * MIB * guest.vcpus as f64 + 8.0 * MIB + guest.memory / 512.0
}

/// What a busy spell leaves behind `[B]`.
fn left_behind(guest: &Guest) -> f64 {
    (guest.keeps * (guest.touched_busy - guest.touched)).max(0.0)
}

/// The default of `touched` and `touched_busy` of a guest that is backed whole.
const ALL: (&str, DefaultOrigin) = ("all of memory, taken from the start", Derived);
/// The default of `common` and `repeats` of such a guest.
const NOTHING: (&str, DefaultOrigin) = ("0 B, nothing is shared", Derived);
/// The default of `overhead` of a container.
const CONTAINER_OVERHEAD: (&str, DefaultOrigin) = ("10 MiB", Assumption);
/// The default of `overhead` of a machine.
const OVERHEAD: (&str, DefaultOrigin) = ("30 MiB + 8 MiB per vCPU + 8 MiB + memory/512", OPERATORS);

/// Defaults and relations of a guest.
const STEPS: &[Step<Guest>] = &[
    Flag("merge", |guest| !is_container(guest)),
    Case("share", is_scaled, |_| 1.0, ("1", Derived)),
    // touched ≤ touched_busy ≤ memory
    AtMost("touched_busy", "memory", LowGiven),
    AtMost("touched", "touched_busy", BothGiven),
    AtMost("touched", "memory", LowWithout("touched_busy")),
    Case("touched", is_backed_whole, |guest| guest.memory, ALL),
    Fill("touched", Below("touched_busy"), |guest| 0.4 * guest.memory),
    AtMost("touched", "touched_busy", HighGiven),
    Case("touched_busy", is_backed_whole, all_memory, ALL),
    Fill("touched_busy", Any, |guest| 0.97 * guest.memory),
    MakeRoom("touched_busy", |guest| {
        guest.touched_busy.max(guest.touched)
    }),
    // common + repeats ≤ touched
    InBytes("common", "touched"),
    InBytes("repeats", "touched"),
    Case("common", is_backed_whole, |_| 0.0, NOTHING),
    Fill("common", Beside("repeats", "touched"), |guest| {
        0.2 * guest.touched
    }),
    Case("repeats", is_backed_whole, |_| 0.0, NOTHING),
    Fill("repeats", Beside("common", "touched"), |guest| {
        0.1 * guest.touched
    }),
    Parts(["common", "repeats"], "touched"),
    // what a busy spell leaves behind
    Case("keeps", is_container, |_| 0.0, ("0 %", Derived)),
    Case("keeps", |_| true, |_| 0.9, ("90 %", Measured)),
    Case("busy_breaks", is_container, |_| 0.0, ("0 %", Derived)),
    Case("busy_breaks", |_| true, |_| 0.31, ("31 %", Measured)),
    Limit("common_busy", ["touched", "touched_busy"], left_behind),
    Case("overhead", is_container, |_| 10.0 * MIB, CONTAINER_OVERHEAD),
    Case("overhead", |_| true, overhead, OVERHEAD),
    AtMost("working_set", "memory", LowGiven),
    AtMost("balloon_floor", "memory", LowGiven),
    // pairs: idle ≤ busy, used ≤ promised
    AtMost("idle_load", "busy_load", BothGiven),
    Fill("idle_load", Below("busy_load"), |_| 0.015),
    Fill("busy_load", Above("idle_load"), |_| 0.7),
    AtMost("disk_used", "disk_size", BothGiven),
    Fill("disk_used", Below("disk_size"), |_| 4096.0 * MIB),
    Fill("disk_size", Any, |guest| guest.disk_used),
    AtMost("reads_idle", "reads_busy", BothGiven),
    Fill("reads_idle", Below("reads_busy"), |_| 0.0),
    Fill("reads_busy", Any, |guest| guest.reads_idle),
    AtMost("writes_idle", "writes_busy", BothGiven),
    Fill("writes_idle", Below("writes_busy"), |_| 1.0),
    Fill("writes_busy", Any, |guest| guest.writes_idle),
    AtMost("net_idle", "net_busy", BothGiven),
    Fill("net_idle", Below("net_busy"), |_| 0.0),
    Fill("net_busy", Any, |guest| guest.net_idle),
];
