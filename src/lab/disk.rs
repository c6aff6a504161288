//! Keys of `[[host.disk]]`.

use super::keys::Command::{Rollout, Upgrade};
use super::keys::Needs::Mirror;
use super::keys::Section;
use super::keys::Spread::Values;
use super::keys::range::{
    BYTE_RATE, COUNT, DEVICE_SPEED, MONEY, SIZE, SOME_EVENTS, SOME_FACTOR, SOME_SIZE, WAYS,
};
use super::keys::row::{NAME, PRICES, count, quantity, word};
use super::origin::DefaultOrigin::{self, Assumption, CommonPractice, Reported};
use super::step::Step::Case;
use super::table::{Field, Value, section, whole};

/// How a pool spreads data over its devices.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Layout {
    /// Spread without a copy (also: one device).
    #[default]
    Stripe,
    /// Every block on `ways` devices.
    Mirror {
        /// Copies of each block, ≥ 2; `devices` is a multiple.
        ways: u64,
    },
    /// One device's worth of parity.
    Parity1,
    /// Two devices' worth of parity.
    Parity2,
}

impl Layout {
    /// How many devices a pool grows by at a time.
    pub fn step(self) -> u64 {
        match self {
            Layout::Mirror { ways } => ways,
            Layout::Stripe | Layout::Parity1 | Layout::Parity2 => 1,
        }
    }
}

impl Field for Layout {
    /// Takes the word of `layout`, or the number of `ways`, which only a mirror has.
    fn set(&mut self, value: &Value<'_>) {
        match (value, self) {
            (Value::Text("mirror"), layout) => *layout = Layout::Mirror { ways: 2 },
            (Value::Text("parity1"), layout) => *layout = Layout::Parity1,
            (Value::Text("parity2"), layout) => *layout = Layout::Parity2,
            (Value::Text("stripe"), layout) => *layout = Layout::Stripe,
            (Value::Count(number), Layout::Mirror { ways }) => *ways = whole(*number).max(2),
            _ => {}
        }
    }
}

section! {
    /// A pool of equal devices.
    Pool: Section::Disk => {
        name: String = NAME, "name of the pool";
        devices: u64 = count(COUNT).default("1", CommonPractice), "number of equal devices";
        capacity: f64 = quantity(SOME_SIZE), "capacity of one device";
        layout: Layout = word(&["stripe", "mirror", "parity1", "parity2"]).default("stripe", CommonPractice),
            "how the pool spreads data over its devices";
        ways in layout = count(WAYS).needs(Mirror).default("2", CommonPractice), "copies of each block in a mirror";
        read_iops: Option<f64> = quantity(SOME_EVENTS).absent("disk operations are not considered"),
            "steady small reads of one device per second";
        write_iops: Option<f64> = quantity(SOME_EVENTS).absent("disk operations are not considered"),
            "steady small writes of one device per second";
        sustained_speed: Option<f64> = quantity(DEVICE_SPEED)
            .absent("the time that cloning takes is not considered"),
            "steady sequential write speed of one device";
        burst: Option<f64> = quantity(SOME_SIZE).absent("no fast phase").first(Rollout),
            "bytes a device writes before it slows down";
        burst_speed: Option<f64> = quantity(DEVICE_SPEED).absent("no fast phase").first(Rollout),
            "write speed of a device in that fast phase";
        endurance: Option<f64> = quantity(SOME_SIZE).absent("wear is not considered"),
            "rated writes of one device (terabytes written)";
        already_written: f64 = quantity(SIZE).default("0 B", CommonPractice), "already written to each device";
        wa_ratio: f64 = quantity(SOME_FACTOR).default("1", Assumption)
            .spread(Values("1", "4"), "the drive's own counters: written to flash, over written by the host"),
            "real write amplification inside the device over that of its rating";
        amplification: f64 = quantity(SOME_FACTOR).default("1", Reported(4))
            .spread(Values("1", "2"), "written by the devices over written by the guests: /proc/diskstats"),
            "device bytes per guest byte in the file system";
        base_used: f64 = quantity(SIZE).rule("10 GB on the first pool, 0 B on others", Assumption)
            .spread(Values("5 GB", "20 GB"), "space in use before there is a guest: df"),
            "space the host itself uses";
        base_written: f64 = quantity(BYTE_RATE).rule("4 GB/day on the first pool, 0 B/s on others", Assumption)
            .spread(Values("2 GB/day", "13 GB/day"), "sectors written in a day with no guest running: /proc/diskstats"),
            "what the host itself writes";
        price: Option<f64> = quantity(MONEY).absent("its price is not considered").first(Upgrade),
            "price of the pool's devices together";
        capacity_prices: Vec<(f64, f64)> = PRICES.absent("larger devices have no price").first(Upgrade),
            "what one device of another capacity costs";
    }
    // What the host itself takes of its first pool; on others it is given as nothing.
    steps &[
        Case("base_used", |_| true, |_| 10e9, ("10 GB", Assumption)),
        Case("base_written", |_| true, |_| BASE_WRITTEN, BASE_TEXT),
    ];
}

/// Bytes per second in 4 GB/day.
const BASE_WRITTEN: f64 = 4e9 / 86_400.0;
/// The same as a text.
const BASE_TEXT: (&str, DefaultOrigin) = ("4 GB/day", Assumption);
