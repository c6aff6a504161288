//! Keys of `[host.merging]`, page sharing.

use crate::lab::DefaultOrigin::{Assumption, Measured, Published};
use crate::unit::parse::Dimension::{Share, Time};

use super::Command::{Fit, Rollout};
use super::Default::{Fixed, Rule};
use super::Kind::{Count, Flag, Quantity, Word};
use super::{Key, range};

/// The kernel's own documentation.
const SLEEP_DEFAULT: crate::lab::DefaultOrigin =
    Published("kernel admin guide, mm/ksm; adaptive: the public tuning daemon's own defaults");
const KERNEL: crate::lab::DefaultOrigin = Published("kernel admin guide, mm/ksm");
/// The daemon that drives an adaptive scanner.
const DAEMON: crate::lab::DefaultOrigin = Published("the public tuning daemon's own defaults");

pub(super) const MERGING: &[Key] = &[
    Key::new(
        "mode",
        Word(&["off", "fixed", "adaptive", "scan_time"]),
        range::ANY,
        Fixed("off", KERNEL),
        Fit,
        "how the scanner runs",
    ),
    Key::new(
        "pages_per_wake",
        Count,
        range::COUNT,
        Fixed("100", KERNEL),
        Fit,
        "pages looked at per wake",
    ),
    Key::new(
        "sleep",
        Quantity(Time),
        range::SLEEP,
        Rule(
            "20 ms; adaptive: max(10 ms, 10 ms * 16 GiB / visible memory)",
            SLEEP_DEFAULT,
        ),
        Fit,
        "sleep between two wakes",
    ),
    Key::new(
        "tick",
        Quantity(Time),
        range::SHORT_TIME,
        Fixed("4 ms", Measured),
        Fit,
        "the kernel's timer tick",
    ),
    Key::new(
        "scan_cost",
        Quantity(Time),
        range::SHORT_TIME,
        Fixed("5.3 µs", Measured),
        Fit,
        "processor time per page looked at",
    ),
    Key::new(
        "merge_cost",
        Quantity(Time),
        range::SHORT_TIME,
        Fixed("10 µs", Measured),
        Rollout,
        "processor time per page in the pass that merges",
    ),
    Key::new(
        "users_per_copy",
        Count,
        range::COUNT,
        Fixed("256", KERNEL),
        Fit,
        "most users of one merged copy",
    ),
    Key::new(
        "visits",
        Count,
        range::VISITS,
        Fixed("2", Measured),
        Fit,
        "visits until an unchanged page merges",
    ),
    Key::new(
        "smart_scan",
        Flag,
        range::ANY,
        Fixed("true", KERNEL),
        Fit,
        "pages that never merged are skipped in 8 passes of 9",
    ),
    Key::new(
        "use_zero_pages",
        Flag,
        range::ANY,
        Fixed("false", KERNEL),
        Fit,
        "zeroed pages merge with the kernel's own zero page",
    ),
    Key::new(
        "zero_share",
        Quantity(Share),
        range::SHARE,
        Fixed("10 %", Assumption),
        Fit,
        "zeroed part of the pages that repeat inside a guest",
    ),
    Key::new(
        "threshold",
        Quantity(Share),
        range::SHARE,
        Fixed("20 %", DAEMON),
        Fit,
        "adaptive: works while less than this share of the memory is free",
    ),
    Key::new(
        "boost",
        Count,
        range::COUNT,
        Fixed("300", DAEMON),
        Rollout,
        "adaptive: pages per wake added each interval",
    ),
    Key::new(
        "decay",
        Count,
        range::COUNT,
        Fixed("50", DAEMON),
        Rollout,
        "adaptive: pages per wake taken off each interval",
    ),
    Key::new(
        "least",
        Count,
        range::COUNT,
        Fixed("64", DAEMON),
        Fit,
        "adaptive: fewest pages per wake",
    ),
    Key::new(
        "most",
        Count,
        range::COUNT,
        Fixed("1250", DAEMON),
        Fit,
        "adaptive: most pages per wake",
    ),
    Key::new(
        "interval",
        Quantity(Time),
        range::SOME_TIME,
        Fixed("60 s", DAEMON),
        Rollout,
        "adaptive: time between two decisions",
    ),
    Key::new(
        "target_pass",
        Quantity(Time),
        range::SOME_TIME,
        Fixed("200 s", KERNEL),
        Fit,
        "scan_time: time aimed at for one pass",
    ),
];
