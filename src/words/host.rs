//! The cautions of a host.

use super::caution::{Caution, written_as_cautions};
use super::name::labels;
use super::restart;
use crate::sizing::caution::HostCaution;
use crate::unit::format::{self, listed, plural};

/// Said wherever power is counted.
pub const CIRCUITS: &str = "A wall circuit and its wiring have limits of their own: local codes decide, and a licensed \
     electrician settles what a circuit may carry.";
/// Said wherever pages are shared.
pub const SIDE_CHANNEL: &str = "Page sharing lets one guest find out what another holds in memory (a side channel): use \
     it only between guests whose owners trust each other.";

written_as_cautions!(HostCaution);

impl Caution for HostCaution {
    fn worded(&self) -> (&'static str, String) {
        match self {
            Self::KindMissing { profiles, guests } => (
                "kind_missing",
                format!(
                    "Not one guest of {} is among the {}: at its share it comes later than the limit. Raise its share, or \
                     give it a count if it must run.",
                    listed(profiles),
                    plural(*guests, "guest", "guests")
                ),
            ),
            Self::SlowCores { profiles, speed } => (
                "slow_cores",
                format!(
                    "A busy vCPU of {} asks for more than the slowest cores give ({speed} of the reference core): on \
                     those it runs slower even on an empty host.",
                    listed(profiles)
                ),
            ),
            Self::TooManyVcpus { profiles, threads } => (
                "too_many_vcpus",
                format!(
                    "{} has more vCPUs than the host has hardware threads ({threads}): it can never run on all of them at \
                     once.",
                    listed(profiles)
                ),
            ),
            Self::GrowthCapped { profiles } => (
                "growth_capped",
                format!(
                    "{} grows by disk_grows but its disk_size is already used up, so no growth was counted: set \
                     disk_size.",
                    listed(profiles)
                ),
            ),
            Self::CountedIdle { resources } => (
                "counted_idle",
                format!(
                    "At the accepted risk no guest counts as busy for {}: each is busy more rarely than the risk allows. A \
                     lower risk, or a larger busy share, counts it.",
                    labels(resources)
                ),
            ),
            Self::Restart { left_off } => ("restart", restart::caution(*left_off)),
            other => of_pool(other),
        }
    }
}

/// The cautions of a pool; of others those without a value.
fn of_pool(caution: &HostCaution) -> (&'static str, String) {
    match caution {
        HostCaution::DiskWear { pool, life } => (
            "disk_wear",
            format!(
                "The rated writes of {pool} are used up in {}; past them the maker promises nothing: plan its \
                     replacement and keep a backup.",
                format::seconds(*life)
            ),
        ),
        HostCaution::SameAge { pool } => (
            "same_age",
            format!(
                "The mirrored devices of {pool} wear alike and can end together: replace them at different times."
            ),
        ),
        HostCaution::ThinSpace { pool } => (
            "thin_space",
            format!(
                "Guests on {pool} were promised more disk than there is. When thin space runs out every guest on it \
                     stops: watch the fill and act well before."
            ),
        ),
        HostCaution::DataSheet { pool } => (
            "data_sheet",
            format!(
                "write_iops of {pool} looks like a data sheet's. Guests flush often, and steady figures can be a \
                     hundredth: measure it with small flushed writes."
            ),
        ),
        other => {
            let (id, text) = unvaried(other);
            (id, text.to_owned())
        }
    }
}

/// The cautions whose text holds no value of the host.
fn unvaried(caution: &HostCaution) -> (&'static str, &'static str) {
    match caution {
        HostCaution::Overcommit => (
            "overcommit",
            "Guests are assigned more memory than is there beside the host's own. If they all use it, the kernel \
                 kills guests and what they had not written is lost: keep nothing irreplaceable here without a backup.",
        ),
        HostCaution::SideChannel => ("side_channel", SIDE_CHANNEL),
        HostCaution::ScannerLate => (
            "scanner_late",
            "The adaptive scanner starts only after the safe limit has been passed, so page sharing was not counted \
                 for it: keep less memory free or raise the scanner's threshold.",
        ),
        HostCaution::SharingCosts => (
            "sharing_costs",
            "Page sharing costs more memory for bookkeeping than it saves with these guests: switch it off.",
        ),
        HostCaution::CacheLetsGoSlowly => (
            "cache_lets_go_slowly",
            "The file-system cache gives memory back more slowly than guests can grow: a sudden rush reaches the \
                 cliff earlier than a slow one.",
        ),
        HostCaution::SwapInUse => (
            "swap_in_use",
            "Swap is expected to be in use: that is slow, and it wears the disk.",
        ),
        HostCaution::Pinned => (
            "pinned",
            "A guest with a passed-through device takes all its assigned memory at once and never gives any back.",
        ),
        HostCaution::NothingBackedUp => (
            "nothing_backed_up",
            "A backup window is given and no guest backs anything up, so it counts nothing: set backup of the guests, the \
                 bytes a day that are copied.",
        ),
        HostCaution::Circuits => ("circuits", CIRCUITS),
        _ => (
            "estimate",
            "This is an estimate from the numbers given. Measure a first handful of guests before you rely on it.",
        ),
    }
}
