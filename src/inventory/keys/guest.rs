//! Keys of `[[guest]]`.

use crate::lab::DefaultOrigin::{Assumption, Derived, Measured, Published, Reported};
use crate::unit::parse::Dimension::{BitRate, ByteRate, Bytes, EventRate, Number, Share, Time};

use super::Command::{Fit, Rollout};
use super::Default::{Absent, Fixed, Required, Rule};
use super::Kind::{Count, Flag, Name, Quantity, Reference, SizeOrShare, Word};
use super::{Key, range};

/// The process that runs a guest: what operators document.
const OPERATORS: crate::lab::DefaultOrigin = Published("public operator docs");

#[rustfmt::skip]
pub(super) const GUEST: &[Key] = &[
    Key::new("name", Name, range::ANY, Required, Fit, "name of the guest profile"),
    Key::new("kind", Word(&["vm", "container"]), range::ANY, Fixed("vm", Assumption), Fit, "machine or container"),
    Key::new("image", Reference, range::ANY, Rule("an image of its own", Assumption), Fit, "image it is cloned from"),
    Key::new("count", Count, range::COUNT, Absent("its number is scaled by `share`"), Fit, "how many must run"),
    Key::new("share", Quantity(Number), range::WEIGHT, Rule("1", Derived), Fit, "its weight in the mix that is multiplied"),
    Key::new("vcpus", Count, range::COUNT, Fixed("1", Assumption), Fit, "virtual processors"),
    Key::new("memory", Quantity(Bytes), range::SOME_SIZE, Required, Fit, "memory assigned to it"),
    Key::new("touched", Quantity(Bytes), range::SIZE, Rule("40 % of memory", Assumption), Fit, "held on the host when idle and never busy"),
    Key::new("touched_busy", Quantity(Bytes), range::SIZE, Rule("97 % of memory, at least touched", Measured), Fit, "held on the host when busy"),
    Key::new("common", SizeOrShare, range::SIZE, Rule("20 % of touched", Assumption), Fit, "part of `touched` that is equal in every guest of the image"),
    Key::new("common_busy", Quantity(Bytes), range::SIZE, Fixed("0 B", Assumption), Fit, "part of what a busy spell leaves behind that is equal in every guest of the image"),
    Key::new("repeats", SizeOrShare, range::SIZE, Rule("10 % of touched", Assumption), Fit, "part of `touched` whose pages repeat inside the guest, mostly zeroed pages"),
    Key::new("keeps", Quantity(Share), range::SHARE, Rule("90 %; container: 0 %", Measured), Fit, "share of what it touched when busy that it does not give back"),
    Key::new("overhead", Quantity(Bytes), range::SIZE, Rule("30 MiB + 8 MiB per vCPU + 8 MiB + memory/512; container: 10 MiB", OPERATORS), Fit, "the process that runs the guest, beyond its memory"),
    Key::new("busy_breaks", Quantity(Share), range::SHARE, Rule("31 %; container: 0 %", Measured), Fit, "share of its shared pages that a busy guest rewrites"),
    Key::new("rewrite_interval", Quantity(Time), range::SOME_TIME, Fixed("6 h", Assumption), Fit, "mean time between rewrites of a page that can be shared"),
    Key::new("working_set", Quantity(Bytes), range::SIZE, Absent("the balloon floor alone counts"), Fit, "memory in active use, which a balloon may not take"),
    Key::new("balloon_floor", Quantity(Bytes), range::SIZE, Absent("the working set alone counts; with neither there is no balloon"), Fit, "memory that a balloon may not take"),
    Key::new("merge", Flag, range::ANY, Rule("true for machines, false for containers", Derived), Fit, "whether its pages may be shared"),
    Key::new("huge_pages", Flag, range::ANY, Fixed("false", Assumption), Fit, "backed by reserved huge pages"),
    Key::new("pinned", Flag, range::ANY, Fixed("false", Assumption), Fit, "pinned in memory, as a passed-through device needs"),
    Key::new("busy", Quantity(Share), range::SHARE, Fixed("5 %", Assumption), Fit, "chance that it is busy at the busy hour"),
    Key::new("idle_load", Quantity(Share), range::SHARE, Rule("1 %", Reported(4)), Fit, "load of one vCPU when idle"),
    Key::new("busy_load", Quantity(Share), range::SHARE, Rule("60 %", Assumption), Fit, "load of one vCPU when busy"),
    Key::new("disk", Reference, range::ANY, Absent("the host's first pool"), Fit, "pool its disk lies in"),
    Key::new("clone", Word(&["overlay", "copy"]), range::ANY, Fixed("overlay", Assumption), Fit, "linked to its image, or a full copy"),
    Key::new("disk_used", Quantity(Bytes), range::SIZE, Rule("4 GiB", Assumption), Fit, "disk it uses now"),
    Key::new("disk_size", Quantity(Bytes), range::SIZE, Rule("disk_used", Assumption), Fit, "disk it was promised"),
    Key::new("disk_grows", Quantity(ByteRate), range::BYTE_RATE, Fixed("0 B/day", Assumption), Fit, "growth of the disk it uses"),
    Key::new("trims", Flag, range::ANY, Fixed("true", Assumption), Fit, "whether it gives freed blocks back"),
    Key::new("backup", Quantity(ByteRate), range::BYTE_RATE, Fixed("0 B/day", Assumption), Fit, "backed up each day"),
    Key::new("reads_idle", Quantity(EventRate), range::EVENTS, Rule("0", Assumption), Fit, "disk reads per second when idle"),
    Key::new("reads_busy", Quantity(EventRate), range::EVENTS, Rule("reads_idle", Assumption), Fit, "disk reads per second when busy"),
    Key::new("writes_idle", Quantity(EventRate), range::EVENTS, Rule("1", Assumption), Fit, "disk writes per second when idle"),
    Key::new("writes_busy", Quantity(EventRate), range::EVENTS, Rule("writes_idle", Assumption), Fit, "disk writes per second when busy"),
    Key::new("written", Quantity(ByteRate), range::BYTE_RATE, Fixed("1 GB/day", Reported(2)), Fit, "what it writes to disk on average"),
    Key::new("net_idle", Quantity(BitRate), range::BIT_RATE, Rule("0 bit/s", Assumption), Fit, "network traffic in the busier direction when idle"),
    Key::new("net_busy", Quantity(BitRate), range::BIT_RATE, Rule("net_idle", Assumption), Fit, "network traffic in the busier direction when busy"),
    Key::new("boot_time", Quantity(Time), range::TIME, Fixed("30 s", Assumption), Rollout, "time from start until it has settled"),
    Key::new("boot_cpu", Quantity(Number), range::AMOUNT, Fixed("15", Assumption), Rollout, "processor time of a boot, in core-seconds"),
    Key::new("boot_reads", Quantity(Number), range::AMOUNT, Fixed("2000", Assumption), Rollout, "disk reads of a boot"),
    Key::new("boot_writes", Quantity(Bytes), range::SIZE, Fixed("30 MB", Assumption), Rollout, "bytes written by a boot"),
];
