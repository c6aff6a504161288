//! What can be wrong between values that are right alone: the one place of these errors' texts.

use crate::diagnose::source::Sources;
use crate::diagnose::{Diagnostic, ErrorKind};
use crate::inventory::fields::{Fields, TABLE};
use crate::inventory::written::shorten;
use crate::lab::keys::Key;
use crate::lab::{Layout, RESERVED_NAMES};
use crate::unit::format;

/// The first key is more than the second.
pub fn out_of_order(fields: &Fields<'_>, sources: &Sources, low: &str, high: &str) -> Diagnostic {
    let given = |key| {
        let place = fields.node(key).map(|node| node.place);
        place.map_or(String::new(), |place| {
            shorten(sources.text(place).trim_matches('"'))
        })
    };
    let message = format!(
        "`{low}` must be at most `{high}`, but is {} against {}",
        given(low),
        given(high)
    );
    fields.error(
        ErrorKind::PartExceedsWhole,
        message,
        &[
            (low, &format!("more than `{high}`")),
            (high, &format!("`{high}`")),
        ],
        "lower the one or raise the other",
    )
}

/// `common` and `repeats` are more than `touched`.
pub fn parts(fields: &Fields<'_>) -> Diagnostic {
    let is_given = |key| fields.node(key).is_some();
    let (names, repeats) = match ["common", "repeats"].map(is_given) {
        [true, true] => ("`common` and `repeats` together", "another part of it"),
        [true, false] => ("`common`", ""),
        _ => ("`repeats`", "a part of `touched`"),
    };
    let without = match is_given("touched") {
        true => "",
        false => ", which is 40 % of memory if left out",
    };
    fields.error(
        ErrorKind::PartExceedsWhole,
        format!("{names} must be at most `touched`{without}, but more is given"),
        &[
            ("common", "a part of `touched`"),
            ("repeats", repeats),
            ("touched", "`touched`"),
        ],
        "both are parts of what the guest holds when idle; lower them, or raise `touched`",
    )
}

/// `common_busy` is more than a busy spell leaves behind.
pub fn left_behind(fields: &Fields<'_>) -> Diagnostic {
    fields.error(
        ErrorKind::PartExceedsWhole,
        "`common_busy` must be at most keeps · (touched_busy − touched), what a busy spell leaves behind",
        &[
            ("common_busy", "more than a busy spell leaves behind"),
            ("touched", "`touched`"),
            ("touched_busy", "`touched_busy`"),
        ],
        "lower it, or raise `touched_busy`",
    )
}

/// Growth of a guest of which nothing says how many there are.
pub fn growth_alone(fields: &Fields<'_>) -> Diagnostic {
    fields.error(
        ErrorKind::UnpairedKey,
        "`grows` needs `count` beside it",
        &[("grows", "more of how many?")],
        "add count, how many run now; 1 is the least",
    )
}

/// A container with what only a machine can have.
pub fn container(fields: &Fields<'_>, key: &Key) -> Diagnostic {
    fields.error(
        ErrorKind::ConflictingKeys,
        format!("a container cannot have `{}`, only a machine can", key.name),
        &[
            (key.name, key.meaning),
            ("kind", "a container has no memory of its own to hold back"),
        ],
        format!("leave `{}` out, or write kind = \"vm\"", key.name),
    )
}

/// A layout with a number of devices that it cannot have.
pub fn devices(fields: &Fields<'_>, layout: Layout, devices: u64) -> Diagnostic {
    let (word, needs) = match layout {
        Layout::Mirror { ways } => (
            "mirror",
            format!("a multiple of {ways} devices (its `ways`)"),
        ),
        Layout::Parity2 => ("parity2", "at least 4 devices".to_owned()),
        _ => ("parity1", "at least 3 devices".to_owned()),
    };
    fields.error(
        ErrorKind::InvalidLayout,
        format!("`{word}` needs {needs}, but there are {devices}"),
        &[
            ("devices", "number of equal devices, 1 if left out"),
            ("layout", "the layout"),
        ],
        "give another number of devices or another layout",
    )
}

/// The host takes more of a pool than its devices hold.
pub fn base_used(fields: &Fields<'_>) -> Diagnostic {
    fields.error(
        ErrorKind::PartExceedsWhole,
        "`base_used` must be at most what the devices hold",
        &[
            ("base_used", "taken by the host itself"),
            ("capacity", "of one device"),
        ],
        "lower it, or correct the capacity",
    )
}

/// The first key means nothing without the second.
pub fn unpaired(fields: &Fields<'_>, given: &Key, partner: &Key) -> Diagnostic {
    fields.error(
        ErrorKind::UnpairedKey,
        format!("`{}` needs `{}` beside it", given.name, partner.name),
        &[(given.name, "means nothing alone")],
        format!("add {}, {}", partner.example(), partner.meaning),
    )
}

/// A backup that nothing slows.
pub fn backup(fields: &Fields<'_>) -> Diagnostic {
    fields.error(
        ErrorKind::UnpairedKey,
        "the backup has a window but nothing that limits its speed",
        &[(TABLE, "neither `speed` nor [host.network] is given")],
        "add speed = \"110 MB/s\" to [host.backup], or [host.network] with its link",
    )
}

/// A period with a name that means something else.
pub fn reserved_name(fields: &Fields<'_>, name: &str) -> Diagnostic {
    fields.error(
        ErrorKind::InvalidPeriod,
        format!("a period cannot be called `{name}`"),
        &[("name", "it means something else in a table of busy shares")],
        format!("give it another name than {}", RESERVED_NAMES.join(", ")),
    )
}

/// A period with a share and hours.
pub fn share_and_hours(fields: &Fields<'_>) -> Diagnostic {
    fields.error(
        ErrorKind::InvalidPeriod,
        "a period has either `share` or `hours`, but this has both",
        &[
            ("share", "its share of the time"),
            ("hours", "says how much of the time it is, too"),
        ],
        "keep one of the two",
    )
}

/// A period with neither.
pub fn no_time(fields: &Fields<'_>) -> Diagnostic {
    fields.error(
        ErrorKind::InvalidPeriod,
        "a period needs `share` or `hours`, but this has neither",
        &[(TABLE, "how much of the time it is stays unknown")],
        "add hours = \"22-6\" or share = \"30 %\"",
    )
}

/// Hours that are not from and to on the clock.
pub fn no_hours(fields: &Fields<'_>, given: &str) -> Diagnostic {
    fields.error(
        ErrorKind::InvalidPeriod,
        format!(
            "`hours` must be from and to on the clock, two different times, but is \"{given}\""
        ),
        &[("hours", "not from and to")],
        "write hours = \"22-6\" or hours = \"8:30-17\"",
    )
}

/// The periods together are more than all the time; seen at the last of them.
pub fn too_much_time(fields: &Fields<'_>, sum: f64) -> Diagnostic {
    fields.error(
        ErrorKind::InvalidPeriod,
        format!(
            "the periods together are {} of the time",
            format::share(sum)
        ),
        &[("share", "the last of them"), ("hours", "the last of them")],
        "lower a share; hours count as their part of 24",
    )
}

/// So many modules for so many slots.
pub fn modules(fields: &Fields<'_>, modules: usize, slots: u64) -> Diagnostic {
    fields.error(
        ErrorKind::ModulesDoNotFit,
        format!(
            "{modules} modules do not fit into {}",
            format::plural(slots, "slot", "slots")
        ),
        &[
            ("modules", "more modules than slots"),
            ("slots", "slots on the board"),
        ],
        "count the modules, or the slots, again",
    )
}

/// A module larger than the board takes.
pub fn large_module(fields: &Fields<'_>) -> Diagnostic {
    fields.error(
        ErrorKind::ModulesDoNotFit,
        "a module is larger than the board takes",
        &[
            ("modules", "holds a module that is too large"),
            ("max_module", "largest module the board takes"),
        ],
        "raise max_module, or use smaller modules",
    )
}

/// A cache's least without its size.
pub fn cache_floor(fields: &Fields<'_>) -> Diagnostic {
    fields.error(
        ErrorKind::PartExceedsWhole,
        "`file_cache_floor` is given without a `file_cache` that large",
        &[(
            "file_cache_floor",
            "more than `file_cache`, which is 0 B if left out",
        )],
        "add file_cache, the size of the cache when it is full",
    )
}

/// The firmware keeps all memory.
pub fn firmware(fields: &Fields<'_>) -> Diagnostic {
    fields.error(
        ErrorKind::NoMemoryLeft,
        "the modules hold no more than the firmware keeps for itself",
        &[
            ("modules", "all the memory there is"),
            ("firmware_reserved", "held back by firmware and devices"),
        ],
        "firmware_reserved is \"0.5 GiB\" if left out; give less, or larger modules",
    )
}

/// The host keeps so much of what its kernel sees `[B]`.
pub fn host(fields: &Fields<'_>, kept: f64, visible: f64) -> Diagnostic {
    fields.error(
        ErrorKind::NoMemoryLeft,
        format!(
            "the host itself keeps {} of the {} that its kernel sees",
            format::bytes(kept),
            format::bytes(visible)
        ),
        &[
            ("base", "its operating system and services"),
            ("file_cache_floor", "the least of its cache"),
            ("file_cache", "its cache"),
            ("modules", "all the memory there is"),
        ],
        "no guest can ever run there; lower `base` or the cache, or give larger modules",
    )
}

/// Compressed swap takes all memory.
pub fn compressed_swap(fields: &Fields<'_>, visible: f64) -> Diagnostic {
    fields.error(
        ErrorKind::NoMemoryLeft,
        format!(
            "compressed swap, when full, takes all of the {} that the kernel sees",
            format::bytes(visible)
        ),
        &[
            ("compressed_swap", "its uncompressed size"),
            ("compressed_swap_ratio", "how many times smaller it gets"),
        ],
        "compressed_swap / compressed_swap_ratio must be less than the kernel sees: the modules without \
                 firmware_reserved and the table of pages",
    )
}

/// The host uses all its cores.
pub fn base_cores(fields: &Fields<'_>) -> Diagnostic {
    fields.error(
        ErrorKind::PartExceedsWhole,
        "`base_cores` must be less than all hardware threads of the host",
        &[
            ("base_cores", "what the host itself uses"),
            ("groups", "all the cores there are"),
        ],
        "no guest can ever run there; lower it, or count the cores again",
    )
}
