//! Keys of `[host.merging]`, page sharing (same-page merging).

use super::keys::Command::Rollout;
use super::keys::Needs::{Adaptive, Fixed, ScanTime, Sharing, ZeroPages};
use super::keys::Section;
use super::keys::range::{COUNT, DECISION, SHARE, SHORT_TIME, SLEEP, SOME_TIME, VISITS};
use super::keys::row::{FLAG, count, quantity, word};
use super::origin::DefaultOrigin::{self, Assumption, Measured, Published};
use super::step::Step::{AtMost, MakeRoom};
use super::step::When;
use super::table::{section, words};

/// The kernel's own documentation.
const KERNEL: DefaultOrigin = Published("kernel admin guide, mm/ksm");
/// The daemon that drives an adaptive scanner.
const DAEMON: DefaultOrigin = Published("the public tuning daemon's own defaults");
/// Both, by mode.
const SLEEP_DEFAULT: DefaultOrigin =
    Published("kernel admin guide, mm/ksm; adaptive: the public tuning daemon's own defaults");

words! {
    /// How the scanner of page sharing runs.
    Mode {
        /// No page sharing.
        #[default]
        Off = "off",
        /// A fixed number of pages per wake.
        Fixed = "fixed",
        /// A daemon starts it when memory runs short and tunes its speed.
        Adaptive = "adaptive",
        /// The kernel's advisor aims at a time per pass.
        ScanTime = "scan_time",
    }
}

section! {
    /// Page sharing (same-page merging).
    Merging: Section::Merging => {
        mode: Mode = word(Mode::WORDS).default("off", KERNEL), "how the scanner runs";
        pages_per_wake: f64 = count(COUNT).needs(Fixed).default("100", KERNEL), "pages looked at per wake";
        sleep: Option<f64> = quantity(SLEEP).needs(Sharing)
            .rule("20 ms; adaptive: max(10 ms, 10 ms * 16 GiB / visible memory)", SLEEP_DEFAULT),
            "sleep between two wakes";
        tick: f64 = quantity(SHORT_TIME).needs(Sharing).default("4 ms", Measured), "the kernel's timer tick";
        scan_cost: f64 = quantity(SHORT_TIME).needs(Sharing).default("5.3 µs", Measured), "processor time per page looked at";
        merge_cost: f64 = quantity(SHORT_TIME).needs(Sharing).default("10 µs", Measured).first(Rollout),
            "processor time per page in the pass that merges";
        users_per_copy: f64 = count(COUNT).needs(Sharing).default("256", KERNEL), "most users of one merged copy";
        visits: f64 = count(VISITS).needs(Sharing).default("2", Measured), "visits until an unchanged page merges";
        smart_scan: bool = FLAG.needs(Sharing).default("true", KERNEL), "pages that never merged are skipped in 8 passes of 9";
        use_zero_pages: bool = FLAG.needs(Sharing).default("false", KERNEL), "zeroed pages merge with the kernel's own zero page";
        zero_share: f64 = quantity(SHARE).needs(ZeroPages).default("10 %", Assumption),
            "zeroed part of the pages that repeat inside a guest";
        threshold: f64 = quantity(SHARE).needs(Adaptive).default("20 %", DAEMON),
            "adaptive: works while less than this share of the memory is free";
        boost: f64 = count(COUNT).needs(Sharing).default("300", DAEMON).first(Rollout), "adaptive: pages per wake added each interval";
        decay: f64 = count(COUNT).needs(Sharing).default("50", DAEMON).first(Rollout),
            "adaptive: pages per wake taken off each interval";
        least: f64 = count(COUNT).needs(Adaptive).default("64", DAEMON), "adaptive: fewest pages per wake";
        most: f64 = count(COUNT).needs(Adaptive).default("1250", DAEMON), "adaptive: most pages per wake";
        interval: f64 = quantity(DECISION).needs(Sharing).default("60 s", DAEMON).first(Rollout), "adaptive: time between two decisions";
        target_pass: f64 = quantity(SOME_TIME).needs(ScanTime).default("200 s", KERNEL), "scan_time: time aimed at for one pass";
    }
    steps &[
        MakeRoom("most", |merging| merging.most.max(merging.least)),
        MakeRoom("least", |merging| merging.least.min(merging.most)),
        AtMost("least", "most", When::BothGiven),
    ];
}
