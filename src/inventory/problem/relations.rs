//! What can be wrong between values that are right alone, as data, and the one place of their texts.

use std::borrow::Cow;

use crate::diagnose::source::Sources;
use crate::diagnose::{Diagnostic, ErrorKind};
use crate::inventory::fields::Fields;
use crate::inventory::written::shorten;
use crate::lab::keys::Key;
use crate::lab::{Layout, NO_NAMES};
use crate::unit::format;

/// In the place of a key: the table itself.
const TABLE: &str = "";

/// Values of one table that do not go together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::inventory) enum Conflict<'t> {
    /// The first key is more than the second.
    OutOfOrder(&'static str, &'static str),
    /// `common` and `repeats` are more than `touched`.
    Parts,
    /// `common_busy` is more than a busy spell leaves behind.
    LeftBehind,
    /// Growth of a guest of which nothing says how many there are.
    GrowthAlone,
    /// A container with what only a machine can have.
    Container(&'static Key),
    /// A layout with a number of devices that it cannot have.
    Devices(Layout, u64),
    /// The host takes more of a pool than its devices hold.
    BaseUsed,
    /// The first key means nothing without the second.
    Unpaired(&'static Key, &'static Key),
    /// A cache's least without its size.
    Floor,
    /// The firmware keeps all memory.
    Firmware,
    /// The host keeps so much of what its kernel sees `[B]`.
    Host(f64, f64),
    /// Compressed swap takes all memory.
    CompressedSwap(f64),
    /// The host uses all its cores.
    BaseCores,
    /// So many modules for so many slots.
    Modules(usize, u64),
    /// A module larger than the board takes.
    LargeModule,
    /// A backup that nothing slows.
    Backup,
    /// A period with a name that means something else.
    ReservedName(&'t str),
    /// A period with a share and hours.
    ShareAndHours,
    /// A period with neither.
    NoTime,
    /// Hours that are not from and to on the clock.
    NoHours(&'t str),
    /// The periods together are more than all the time; seen at the last of them.
    TooMuchTime(f64),
}

/// The kind, the message, what is to be seen at which keys, and how to fix it.
type Words = (
    ErrorKind,
    String,
    Vec<(&'static str, Cow<'static, str>)>,
    Cow<'static, str>,
);

impl Conflict<'_> {
    /// The error at the keys of the table, as far as they are given.
    pub fn at(self, fields: &Fields<'_>, sources: &Sources) -> Diagnostic {
        let (kind, message, labels, hint) = match self {
            Conflict::OutOfOrder(low, high) => out_of_order(low, high, fields, sources),
            Conflict::Parts => parts(fields),
            Conflict::LeftBehind | Conflict::GrowthAlone | Conflict::Container(_) => self.guest(),
            Conflict::Devices(..)
            | Conflict::BaseUsed
            | Conflict::Unpaired(..)
            | Conflict::Backup => self.part(),
            Conflict::Modules(..) | Conflict::LargeModule => self.board(),
            Conflict::ReservedName(_)
            | Conflict::ShareAndHours
            | Conflict::NoTime
            | Conflict::NoHours(_)
            | Conflict::TooMuchTime(_) => self.period(),
            _ => self.host(),
        };
        let error = Diagnostic::new(kind, message).hint(hint);
        labels.into_iter().fold(error, |error, (key, words)| {
            let place = fields.node(key).map(|node| node.place);
            let place = match key {
                TABLE => fields.header,
                "devices" => place.or(fields.header),
                _ => place,
            };
            error.at_any(place, words)
        })
    }

    /// Of a guest.
    fn guest(self) -> Words {
        match self {
            Conflict::LeftBehind => words(
                ErrorKind::PartExceedsWhole,
                "`common_busy` must be at most keeps · (touched_busy − touched), what a busy spell leaves behind",
                &[
                    ("common_busy", "more than a busy spell leaves behind"),
                    ("touched", "`touched`"),
                    ("touched_busy", "`touched_busy`"),
                ],
                "lower it, or raise `touched_busy`",
            ),
            Conflict::Container(key) => words(
                ErrorKind::ConflictingKeys,
                format!("a container cannot have `{}`, only a machine can", key.name),
                &[
                    (key.name, key.meaning),
                    ("kind", "a container has no memory of its own to hold back"),
                ],
                format!("leave `{}` out, or write kind = \"vm\"", key.name),
            ),
            _ => words(
                ErrorKind::UnpairedKey,
                "`grows` needs `count` beside it",
                &[("grows", "more of how many?")],
                "add count, how many run now; 1 is the least",
            ),
        }
    }

    /// Of a pool or a backup.
    fn part(self) -> Words {
        match self {
            Conflict::Devices(layout, devices) => {
                let (word, needs) = match layout {
                    Layout::Mirror { ways } => (
                        "mirror",
                        format!("a multiple of {ways} devices (its `ways`)"),
                    ),
                    Layout::Parity2 => ("parity2", "at least 4 devices".to_owned()),
                    _ => ("parity1", "at least 3 devices".to_owned()),
                };
                words(
                    ErrorKind::InvalidLayout,
                    format!("`{word}` needs {needs}, but there are {devices}"),
                    &[
                        ("devices", "number of equal devices, 1 if left out"),
                        ("layout", "the layout"),
                    ],
                    "give another number of devices or another layout",
                )
            }
            Conflict::BaseUsed => words(
                ErrorKind::PartExceedsWhole,
                "`base_used` must be at most what the devices hold",
                &[
                    ("base_used", "taken by the host itself"),
                    ("capacity", "of one device"),
                ],
                "lower it, or correct the capacity",
            ),
            Conflict::Unpaired(given, partner) => words(
                ErrorKind::UnpairedKey,
                format!("`{}` needs `{}` beside it", given.name, partner.name),
                &[(given.name, "means nothing alone")],
                format!("add {}, {}", partner.example(), partner.meaning),
            ),
            _ => words(
                ErrorKind::UnpairedKey,
                "the backup has a window but nothing that limits its speed",
                &[(TABLE, "neither `speed` nor [host.network] is given")],
                "add speed = \"110 MB/s\" to [host.backup], or [host.network] with its link",
            ),
        }
    }

    /// Of the periods of a lab.
    fn period(self) -> Words {
        let kind = ErrorKind::InvalidPeriod;
        match self {
            Conflict::ReservedName(name) => words(
                kind,
                format!("a period cannot be called `{name}`"),
                &[("name", "it means something else in a table of busy shares")],
                format!("give it another name than {}", NO_NAMES.join(", ")),
            ),
            Conflict::ShareAndHours => words(
                kind,
                "a period has either `share` or `hours`, but this has both",
                &[
                    ("share", "its share of the time"),
                    ("hours", "says how much of the time it is, too"),
                ],
                "keep one of the two",
            ),
            Conflict::NoHours(given) => words(
                kind,
                format!(
                    "`hours` must be from and to on the clock, two different times, but is \"{given}\""
                ),
                &[("hours", "not from and to")],
                "write hours = \"22-6\" or hours = \"8:30-17\"",
            ),
            Conflict::TooMuchTime(sum) => words(
                kind,
                format!(
                    "the periods together are {} of the time",
                    format::share(sum)
                ),
                &[("share", "the last of them"), ("hours", "the last of them")],
                "lower a share; hours count as their part of 24",
            ),
            _ => words(
                kind,
                "a period needs `share` or `hours`, but this has neither",
                &[(TABLE, "how much of the time it is stays unknown")],
                "add hours = \"22-6\" or share = \"30 %\"",
            ),
        }
    }

    /// Of a board and what is plugged into it.
    fn board(self) -> Words {
        match self {
            Conflict::Modules(modules, slots) => words(
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
            ),
            _ => words(
                ErrorKind::ModulesDoNotFit,
                "a module is larger than the board takes",
                &[
                    ("modules", "holds a module that is too large"),
                    ("max_module", "largest module the board takes"),
                ],
                "raise max_module, or use smaller modules",
            ),
        }
    }

    /// Of what a host keeps for itself.
    fn host(self) -> Words {
        let modules = ("modules", "all the memory there is");
        match self {
            Conflict::Floor => words(
                ErrorKind::PartExceedsWhole,
                "`file_cache_floor` is given without a `file_cache` that large",
                &[(
                    "file_cache_floor",
                    "more than `file_cache`, which is 0 B if left out",
                )],
                "add file_cache, the size of the cache when it is full",
            ),
            Conflict::Firmware => words(
                ErrorKind::NoMemoryLeft,
                "the modules hold no more than the firmware keeps for itself",
                &[
                    modules,
                    ("firmware_reserved", "held back by firmware and devices"),
                ],
                "firmware_reserved is \"0.5 GiB\" if left out; give less, or larger modules",
            ),
            Conflict::Host(kept, visible) => words(
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
                    modules,
                ],
                "no guest can ever run there; lower `base` or the cache, or give larger modules",
            ),
            Conflict::CompressedSwap(visible) => words(
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
            ),
            _ => words(
                ErrorKind::PartExceedsWhole,
                "`base_cores` must be less than all hardware threads of the host",
                &[
                    ("base_cores", "what the host itself uses"),
                    ("groups", "all the cores there are"),
                ],
                "no guest can ever run there; lower it, or count the cores again",
            ),
        }
    }
}

fn words(
    kind: ErrorKind,
    message: impl Into<String>,
    labels: &[(&'static str, &'static str)],
    hint: impl Into<Cow<'static, str>>,
) -> Words {
    let labels = labels.iter().map(|(key, words)| (*key, (*words).into()));
    (kind, message.into(), labels.collect(), hint.into())
}

fn out_of_order(
    low: &'static str,
    high: &'static str,
    fields: &Fields<'_>,
    sources: &Sources,
) -> Words {
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
    let labels = vec![
        (low, format!("more than `{high}`").into()),
        (high, format!("`{high}`").into()),
    ];
    let hint = "lower the one or raise the other";
    (ErrorKind::PartExceedsWhole, message, labels, hint.into())
}

fn parts(fields: &Fields<'_>) -> Words {
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
    words(
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
