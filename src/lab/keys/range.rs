//! Ranges of numbers, in words and in base units.

use std::ops::{Bound, RangeBounds};

use crate::unit::parse::Dimension::{
    self, BitRate, ByteRate, Bytes, EventRate, Number, Power, Share, Time,
};

/// The numbers a key allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// What they measure.
    pub dimension: Dimension,
    /// Lower and upper end in base units.
    pub ends: (Bound<f64>, Bound<f64>),
    /// The same in words, after "must be".
    pub words: &'static str,
}

impl Range {
    /// Whether it holds `value`; it never holds what is not a number.
    pub fn holds(&self, value: f64) -> bool {
        self.ends.contains(&value)
    }
}

const fn closed(dimension: Dimension, low: f64, high: f64, words: &'static str) -> Range {
    let ends = (Bound::Included(low), Bound::Included(high));
    Range {
        dimension,
        ends,
        words,
    }
}

const fn above(dimension: Dimension, low: f64, high: f64, words: &'static str) -> Range {
    let ends = (Bound::Excluded(low), Bound::Included(high));
    Range {
        dimension,
        ends,
        words,
    }
}

/// Largest size `[B]`.
pub const LARGEST_SIZE: f64 = 1e18;
/// Longest time `[s]`, 1000 years.
pub const LONGEST_TIME: f64 = 1000.0 * 365.25 * 86_400.0;
/// Largest count.
pub const LARGEST_COUNT: f64 = 1e6;

/// For keys that hold no number.
pub const ANY: Range = closed(Number, f64::MIN, f64::MAX, "a finite number");
/// Sizes that may be nothing.
pub const SIZE: Range = closed(Bytes, 0.0, LARGEST_SIZE, "between 0 B and 1000 PB");
/// Sizes of things that exist.
pub const SOME_SIZE: Range = above(Bytes, 0.0, LARGEST_SIZE, "above 0 B and at most 1000 PB");
/// Byte rates that may be nothing.
pub const BYTE_RATE: Range = closed(ByteRate, 0.0, 1e18, "between 0 B/s and 1000 PB/s");
/// Byte rates of things that move.
pub const SOME_BYTE_RATE: Range = above(ByteRate, 0.0, 1e18, "above 0 B/s and at most 1000 PB/s");
/// Bit rates that may be nothing.
pub const BIT_RATE: Range = closed(BitRate, 0.0, 8e18, "between 0 bit/s and 1000 PB/s");
/// Bit rates of links.
pub const SOME_BIT_RATE: Range = above(BitRate, 0.0, 8e18, "above 0 bit/s and at most 1000 PB/s");
/// Operations that may be none.
pub const EVENTS: Range = closed(
    EventRate,
    0.0,
    1e12,
    "between 0 and 1,000,000,000,000 per second",
);
/// Guests that come.
pub const GROWTH: Range = closed(
    EventRate,
    0.0,
    100.0 / 86_400.0,
    "between 0 and 100/day, such as \"2/month\"",
);
/// Operations a device does.
pub const SOME_EVENTS: Range = above(
    EventRate,
    0.0,
    1e12,
    "above 0 and at most 1,000,000,000,000 per second",
);
/// Times that may be nothing.
pub const TIME: Range = closed(Time, 0.0, LONGEST_TIME, "between 0 s and 1000 years");
/// Times that pass.
pub const SOME_TIME: Range = above(Time, 0.0, LONGEST_TIME, "above 0 s and at most 1000 years");
/// Times that a simulation may run for; memory has settled long before.
pub const RUN: Range = closed(Time, 0.0, 30.0 * 86_400.0, "between 0 s and 30 days");
/// Scanner times, far below a day each.
pub const SHORT_TIME: Range = above(Time, 0.0, 60.0, "above 0 s and at most 1 min");
/// Sleeps of the scanner.
pub const SLEEP: Range = closed(Time, 0.0, 86_400.0, "between 0 s and 1 day");
/// Equal hosts.
pub const COPIES: Range = closed(Number, 1.0, 1000.0, "a whole number from 1 to 1,000");
/// Times between two decisions of an adaptive scanner's daemon.
pub const DECISION: Range = closed(Time, 0.1, 86_400.0, "between 100 ms and 1 day");
/// Bytes that a storage device writes in a second.
pub const DEVICE_SPEED: Range = closed(ByteRate, 1e5, 1e18, "between 100 kB/s and 1000 PB/s");
/// Processor time of a boot `[core-seconds]`.
pub const BOOT_CPU: Range = closed(Number, 0.0, 1e6, "between 0 and 1,000,000");
/// Shares of a whole.
pub const SHARE: Range = closed(Share, 0.0, 1.0, "between 0 % and 100 %");
/// Shares of something that is there.
pub const SOME_SHARE: Range = above(Share, 0.0, 1.0, "above 0 % and at most 100 %");
/// Accepted risks.
pub const RISK: Range = above(Share, 0.0, 0.5, "above 0 % and at most 50 %");
/// Correlations.
pub const CORRELATION: Range = Range {
    dimension: Share,
    ends: (Bound::Included(0.0), Bound::Excluded(1.0)),
    words: "from 0 to below 1",
};
/// What is kept free.
pub const KEEP_FREE: Range = closed(Share, 0.0, 0.9, "between 0 % and 90 %");
/// Ceilings.
pub const CEILING: Range = above(Share, 0.0, 1.0, "above 0 % and at most 100 %");
/// Whole numbers of things.
pub const COUNT: Range = closed(
    Number,
    1.0,
    LARGEST_COUNT,
    "a whole number from 1 to 1,000,000",
);
/// Hardware threads of one core; a data sheet's total is a likely mistake.
pub const THREADS: Range = closed(
    Number,
    1.0,
    8.0,
    "a whole number from 1 to 8: threads of one core, not of the whole chip",
);
/// Copies in a mirror.
pub const WAYS: Range = closed(
    Number,
    2.0,
    LARGEST_COUNT,
    "a whole number from 2 to 1,000,000",
);
/// Visits until a page merges.
pub const VISITS: Range = closed(Number, 1.0, 2.0, "1 or 2");
/// Weights in the mix; the ends keep products of weights and seats finite.
pub const WEIGHT: Range = closed(Number, 1e-9, 1e9, "above 0 (0.000000001 to 1,000,000,000)");
/// Money.
pub const MONEY: Range = closed(Number, 0.0, 1e15, "between 0 and 10^15");
/// Power that may be nothing.
pub const POWER: Range = closed(Power, 0.0, 1e9, "between 0 W and 1,000,000 kW");
/// Power of things that run.
pub const SOME_POWER: Range = above(Power, 0.0, 1e9, "above 0 W and at most 1,000,000 kW");
/// Factors that cannot shrink.
pub const FACTOR: Range = closed(Number, 1.0, 1e6, "between 1 and 1,000,000");
/// Factors that may shrink.
pub const SOME_FACTOR: Range = above(Number, 0.0, 1e6, "above 0 and at most 1,000,000");
/// Numbers of cores, core-seconds or operations that may be none.
pub const AMOUNT: Range = closed(Number, 0.0, 1e12, "between 0 and 1,000,000,000,000");
/// Cost horizons in years.
pub const YEARS: Range = above(Number, 0.0, 1000.0, "above 0 and at most 1000 years");
