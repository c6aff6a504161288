//! Keys of `[[host.disk]]` and `[[image]]`.

use crate::lab::DefaultOrigin::{Assumption, CommonPractice, Reported};
use crate::unit::parse::Dimension::{ByteRate, Bytes, EventRate, Number};

use super::Command::{Fit, Rollout, Upgrade};
use super::Default::{Absent, Fixed, Required, Rule};
use super::Kind::{Count, Name, Prices, Quantity, Reference, Word};
use super::{Key, range};

pub(super) const DISK: &[Key] = &[
    Key::new("name", Name, range::ANY, Required, Fit, "name of the pool"),
    Key::new(
        "devices",
        Count,
        range::COUNT,
        Fixed("1", CommonPractice),
        Fit,
        "number of equal devices",
    ),
    Key::new(
        "capacity",
        Quantity(Bytes),
        range::SOME_SIZE,
        Required,
        Fit,
        "capacity of one device",
    ),
    Key::new(
        "layout",
        Word(&["stripe", "mirror", "parity1", "parity2"]),
        range::ANY,
        Fixed("stripe", CommonPractice),
        Fit,
        "how the pool spreads data over its devices",
    ),
    Key::new(
        "ways",
        Count,
        range::WAYS,
        Fixed("2", CommonPractice),
        Fit,
        "copies of each block in a mirror",
    ),
    Key::new(
        "read_iops",
        Quantity(EventRate),
        range::SOME_EVENTS,
        Absent("disk operations are not considered"),
        Fit,
        "steady small reads of one device per second",
    ),
    Key::new(
        "write_iops",
        Quantity(EventRate),
        range::SOME_EVENTS,
        Absent("disk operations are not considered"),
        Fit,
        "steady small writes of one device per second",
    ),
    Key::new(
        "sustained_speed",
        Quantity(ByteRate),
        range::SOME_BYTE_RATE,
        Absent("the time that cloning takes is not considered"),
        Fit,
        "steady sequential write speed of one device",
    ),
    Key::new(
        "burst",
        Quantity(Bytes),
        range::SOME_SIZE,
        Absent("no fast phase"),
        Rollout,
        "bytes a device writes before it slows down",
    ),
    Key::new(
        "burst_speed",
        Quantity(ByteRate),
        range::SOME_BYTE_RATE,
        Absent("no fast phase"),
        Rollout,
        "write speed of a device in that fast phase",
    ),
    Key::new(
        "endurance",
        Quantity(Bytes),
        range::SOME_SIZE,
        Absent("wear is not considered"),
        Fit,
        "rated writes of one device (terabytes written)",
    ),
    Key::new(
        "already_written",
        Quantity(Bytes),
        range::SIZE,
        Fixed("0 B", CommonPractice),
        Fit,
        "already written to each device",
    ),
    Key::new(
        "wa_ratio",
        Quantity(Number),
        range::SOME_FACTOR,
        Fixed("1", Assumption),
        Fit,
        "real write amplification inside the device over that of its rating",
    ),
    Key::new(
        "amplification",
        Quantity(Number),
        range::SOME_FACTOR,
        Fixed("1", Reported(4)),
        Fit,
        "device bytes per guest byte in the file system",
    ),
    Key::new(
        "base_used",
        Quantity(Bytes),
        range::SIZE,
        Rule("10 GB on the first pool, 0 B on others", Assumption),
        Fit,
        "space the host itself uses",
    ),
    Key::new(
        "base_written",
        Quantity(ByteRate),
        range::BYTE_RATE,
        Rule("4 GB/day on the first pool, 0 B/s on others", Assumption),
        Fit,
        "what the host itself writes",
    ),
    Key::new(
        "price",
        Quantity(Number),
        range::MONEY,
        Absent("its price is not considered"),
        Upgrade,
        "price of the pool's devices together",
    ),
    Key::new(
        "capacity_prices",
        Prices,
        range::MONEY,
        Absent("larger devices have no price"),
        Upgrade,
        "what one device of another capacity costs",
    ),
];

pub(super) const IMAGE: &[Key] = &[
    Key::new("name", Name, range::ANY, Required, Fit, "name of the image"),
    Key::new(
        "size",
        Quantity(Bytes),
        range::SIZE,
        Required,
        Fit,
        "its size on disk",
    ),
    Key::new(
        "disk",
        Reference,
        range::ANY,
        Absent("a copy in each pool that holds overlays of it"),
        Fit,
        "pool where its one base copy lies",
    ),
];
