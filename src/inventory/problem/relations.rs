//! Values that are right alone and do not go together.

use crate::diagnose::source::{Place, Sources};
use crate::diagnose::{Diagnostic, ErrorKind};
use crate::inventory::fields::Fields;
use crate::inventory::written::shorten;
use crate::lab::Layout;
use crate::lab::keys::Key;
use crate::unit::format;

/// Values of one table that do not go together.
#[derive(Debug)]
pub(in crate::inventory) enum Relation {
    /// The first key is more than the second; the places of their values.
    Order([&'static str; 2], [Place; 2]),
    /// `common` and `repeats` are more than `touched`.
    Parts,
    /// `common_busy` is more than a busy spell leaves behind.
    LeftBehind,
    /// `file_cache_floor` without `file_cache`.
    FloorWithoutCache,
    /// The firmware takes all modules.
    NoMemory,
    /// Compressed swap takes all memory.
    NoMemoryBesideSwap,
    /// So many modules for so many slots.
    TooManyModules(usize, u64),
    /// A module is larger than the board takes.
    ModuleTooLarge,
    /// The layout needs another number of devices than these.
    Layout(Layout, u64),
    /// The first key means something only beside the second.
    Unpaired(&'static str, &'static Key),
    /// A backup whose speed nothing limits.
    BackupWithoutSpeed,
    /// What only a machine can be.
    OnlyMachines(&'static Key),
    /// Both `share` and `count`.
    ShareAndCount,
}

impl Relation {
    /// The text; `fields` is the table that the keys stand in.
    pub fn diagnostic(&self, fields: &Fields<'_>, sources: &Sources) -> Diagnostic {
        let at = |name: &str| fields.node(name).map(|node| node.place);
        match self {
            Relation::Order(names, places) => out_of_order(*names, *places, sources),
            Relation::Parts => parts(fields),
            Relation::LeftBehind => {
                let message = "`common_busy` must be at most keeps · (touched_busy − touched), what a busy spell leaves behind";
                Diagnostic::new(ErrorKind::PartExceedsWhole, message)
                    .at_any(at("common_busy"), "more than a busy spell leaves behind")
                    .at_any(at("touched"), "`touched`")
                    .at_any(at("touched_busy"), "`touched_busy`")
                    .hint("lower it, or raise `touched_busy`")
            }
            Relation::FloorWithoutCache => Diagnostic::new(
                ErrorKind::PartExceedsWhole,
                "`file_cache_floor` is given without a `file_cache` that large",
            )
            .at_any(
                at("file_cache_floor"),
                "more than `file_cache`, which is 0 B if left out",
            )
            .hint("add file_cache, the size of the cache when it is full"),
            Relation::NoMemory
            | Relation::NoMemoryBesideSwap
            | Relation::TooManyModules(..)
            | Relation::ModuleTooLarge => self.of_modules(&at),
            Relation::Layout(layout, devices) => bad_layout(*layout, *devices, fields),
            _ => self.of_partners(fields),
        }
    }

    fn of_partners(&self, fields: &Fields<'_>) -> Diagnostic {
        let at = |name: &str| fields.node(name).map(|node| node.place);
        match self {
            Relation::Unpaired(given, partner) => Diagnostic::new(
                ErrorKind::UnpairedKey,
                format!("`{given}` needs `{}` beside it", partner.name),
            )
            .at_any(at(given), "means nothing alone")
            .hint(format!("add {}, {}", partner.example(), partner.meaning)),
            Relation::BackupWithoutSpeed => Diagnostic::new(
                ErrorKind::UnpairedKey,
                "the backup has a window but nothing that limits its speed",
            )
            .at_any(fields.header, "neither `speed` nor [host.network] is given")
            .hint("add speed = \"110 MB/s\" to [host.backup], or [host.network] with its link"),
            Relation::OnlyMachines(key) => Diagnostic::new(
                ErrorKind::ConflictingKeys,
                format!("a container cannot have `{}`, only a machine can", key.name),
            )
            .at_any(at(key.name), key.meaning)
            .at_any(
                at("kind"),
                "a container has no memory of its own to hold back",
            )
            .hint(format!("leave `{}` out, or write kind = \"vm\"", key.name)),
            _ => Diagnostic::new(
                ErrorKind::ConflictingKeys,
                "a guest has either a `count` or a `share`, but this has both",
            )
            .at_any(at("share"), "a weight in the mix that is multiplied")
            .at_any(at("count"), "how many must run")
            .hint("keep `count` for guests that must run, `share` for those that are multiplied"),
        }
    }

    fn of_modules(&self, at: &dyn Fn(&str) -> Option<Place>) -> Diagnostic {
        match self {
            Relation::NoMemory => Diagnostic::new(
                ErrorKind::NoMemoryLeft,
                "the modules hold no more than the firmware keeps for itself",
            )
            .at_any(at("modules"), "all the memory there is")
            .at_any(at("firmware_reserved"), "held back by firmware and devices")
            .hint("firmware_reserved is \"0.5 GiB\" if left out; give less, or larger modules"),
            Relation::NoMemoryBesideSwap => Diagnostic::new(
                ErrorKind::NoMemoryLeft,
                "compressed swap, when full, takes all the memory there is",
            )
            .at_any(at("compressed_swap"), "its uncompressed size")
            .at_any(
                at("compressed_swap_ratio"),
                "how many times smaller it gets",
            )
            .hint("compressed_swap / compressed_swap_ratio must be less than the modules hold"),
            Relation::TooManyModules(modules, slots) => {
                let slots = format::plural(*slots, "slot", "slots");
                let message = format!("{modules} modules do not fit into {slots}");
                Diagnostic::new(ErrorKind::ModulesDoNotFit, message)
                    .at_any(at("modules"), "more modules than slots")
                    .at_any(at("slots"), "slots on the board")
                    .hint("count the modules, or the slots, again")
            }
            _ => Diagnostic::new(
                ErrorKind::ModulesDoNotFit,
                "a module is larger than the board takes",
            )
            .at_any(at("modules"), "holds a module that is too large")
            .at_any(at("max_module"), "largest module the board takes")
            .hint("raise max_module, or use smaller modules"),
        }
    }
}

fn out_of_order(names: [&str; 2], places: [Place; 2], sources: &Sources) -> Diagnostic {
    let words = |place| shorten(sources.text(place).trim_matches('"'));
    let ([low, high], [low_place, high_place]) = (names, places);
    let message = format!(
        "`{low}` must be at most `{high}`, but is {} against {}",
        words(low_place),
        words(high_place)
    );
    Diagnostic::new(ErrorKind::PartExceedsWhole, message)
        .at(low_place, format!("more than `{high}`"))
        .at(high_place, format!("`{high}`"))
        .hint("lower the one or raise the other")
}

fn parts(fields: &Fields<'_>) -> Diagnostic {
    let at = |name: &str| fields.node(name).map(|node| node.place);
    let (common, repeats, touched) = (at("common"), at("repeats"), at("touched"));
    let names = match (common, repeats) {
        (Some(_), Some(_)) => "`common` and `repeats` together",
        (Some(_), None) => "`common`",
        _ => "`repeats`",
    };
    let without = if touched.is_some() {
        ""
    } else {
        ", which is 40 % of memory if left out"
    };
    let message = format!("{names} must be at most `touched`{without}, but more is given");
    Diagnostic::new(ErrorKind::PartExceedsWhole, message)
        .at_any(common.or(repeats), "a part of `touched`")
        .at_any(common.and(repeats), "another part of it")
        .at_any(touched, "`touched`")
        .hint("both are parts of what the guest holds when idle; lower them, or raise `touched`")
}

fn bad_layout(layout: Layout, devices: u64, fields: &Fields<'_>) -> Diagnostic {
    let at = |name: &str| fields.node(name).map(|node| node.place);
    let (word, needs) = match layout {
        Layout::Mirror { ways } => (
            "mirror",
            format!("a multiple of {ways} devices (its `ways`)"),
        ),
        Layout::Parity1 => ("parity1", "at least 3 devices".to_owned()),
        Layout::Parity2 => ("parity2", "at least 4 devices".to_owned()),
        Layout::Stripe => ("stripe", String::new()),
    };
    let message = format!("`{word}` needs {needs}, but there are {devices}");
    Diagnostic::new(ErrorKind::InvalidLayout, message)
        .at_any(
            at("devices").or(fields.header),
            "number of equal devices, 1 if left out",
        )
        .at_any(at("layout"), "the layout")
        .hint("give another number of devices or another layout")
}
