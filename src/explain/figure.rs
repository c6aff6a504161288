//! Values with their units, and as a person reads them.

use crate::lab::Lab;
use crate::model::DAY;
use crate::sizing::resource::Resource;
use crate::unit::format;

/// A value with its unit, and as a person reads it.
pub(super) struct Figure {
    pub(super) value: f64,
    pub(super) unit: &'static str,
    pub(super) text: String,
}

fn new(value: f64, unit: &'static str, text: String) -> Figure {
    Figure { value, unit, text }
}

/// No number, and why.
pub(super) fn none(unit: &'static str, why: &str) -> Figure {
    new(f64::NAN, unit, why.to_owned())
}

pub(super) fn bytes(value: f64) -> Figure {
    new(value, "B", format::bytes(value))
}

/// Disk, in decimal units as disks are sold.
pub(super) fn disk(value: f64) -> Figure {
    new(value, "B", format::decimal_bytes(value))
}

/// A rate given `[B/day]`.
pub(super) fn per_day(value: f64) -> Figure {
    new(value, "B/day", format::bytes_per_day(value))
}

pub(super) fn share(value: f64) -> Figure {
    let text = if value.is_finite() {
        format::share(value)
    } else {
        "no bound".to_owned()
    };
    new(value, "share", text)
}

pub(super) fn cores(value: f64) -> Figure {
    new(value, "cores", format::numbered(value, "core", "cores"))
}

pub(super) fn seconds(value: f64) -> Figure {
    new(value, "s", format::seconds(value))
}

pub(super) fn days(value: f64) -> Figure {
    new(value, "days", format::seconds(value * DAY))
}

pub(super) fn years(value: f64) -> Figure {
    new(value, "years", format::years(value))
}

pub(super) fn watts(value: f64) -> Figure {
    new(value, "W", format::power(value))
}

/// A count; `unit` is the plural of what is counted.
pub(super) fn count(value: u64, unit: &'static str) -> Figure {
    let one = unit.strip_suffix('s').unwrap_or(unit);
    new(value as f64, unit, format::plural(value, one, unit))
}

/// A count, or why there is none.
pub(super) fn count_or(value: Option<u64>, unit: &'static str, without: &str) -> Figure {
    value.map_or_else(|| none(unit, without), |value| count(value, unit))
}

/// Money in the lab's currency.
pub(super) fn money(value: f64, lab: &Lab) -> Figure {
    new(value, "money", format::money(value, &lab.currency))
}

/// A number in the unit of a resource.
pub(super) fn of(resource: Resource, value: f64) -> Figure {
    let text = match resource {
        // The pool's own numbers stand beside it, and those are decimal like the devices.
        Resource::DiskSpace(_) => format::decimal_bytes(value),
        _ => resource.text(value),
    };
    new(value, resource.unit(), text)
}

/// How many of what is counted, told as any number; `unit` is the plural.
pub(super) fn whole(value: f64, unit: &'static str) -> Figure {
    let one = unit.strip_suffix('s').unwrap_or(unit);
    new(value, unit, format::numbered(value, one, unit))
}

pub(super) fn plain(value: f64, unit: &'static str) -> Figure {
    let text = format!("{} {unit}", format::number(value));
    new(value, unit, text.trim_end().to_owned())
}
