//! The cautions of a host.

use super::caution::{Caution, Worded, written_as_cautions};
use super::name::{few, labels};
use super::restart;
use crate::sizing::caution::HostCaution;
use crate::unit::format::{self, listed, plural};

/// Said wherever power is counted.
pub const CIRCUITS: Worded = Worded::fixed(
    "circuits",
    "What a wall circuit may carry is for local codes and an electrician to say.",
    "A wall circuit and its wiring have limits of their own: local codes decide, and a licensed electrician settles what \
     a circuit may carry.",
);
/// Said wherever pages are shared.
pub const SIDE_CHANNEL: Worded = Worded::fixed(
    "side_channel",
    "Page sharing is a side channel: only between guests that trust each other.",
    "Page sharing lets one guest find out what another holds in memory (a side channel): use it only between guests whose \
     owners trust each other.",
);
/// Said of every count.
pub const ESTIMATE: Worded = Worded::fixed(
    "estimate",
    "An estimate: measure a first handful of guests before you rely on it.",
    "This is an estimate from the numbers given. Measure a first handful of guests before you rely on it.",
);

written_as_cautions!(HostCaution);

impl Caution for HostCaution {
    fn worded(&self) -> Worded {
        match self {
            Self::KindMissing { profiles, guests } => Worded::new(
                "kind_missing",
                format!(
                    "None of {} fits in: raise the share, or give a count.",
                    few(profiles)
                ),
                format!(
                    "Not one guest of {} is among the {}: at its share it comes later than the limit. Raise its share, or \
                     give it a count if it must run.",
                    listed(profiles),
                    plural(*guests, "guest", "guests")
                ),
            ),
            Self::GrowthCapped { profiles } => Worded::new(
                "growth_capped",
                format!(
                    "{}: disk_size is full, so no growth is counted; set it.",
                    few(profiles)
                ),
                format!(
                    "{} grows by disk_grows but its disk_size is already used up, so no growth was counted: set \
                     disk_size.",
                    listed(profiles)
                ),
            ),
            Self::ContainersKeep { profiles } => Worded::new(
                "containers_keep",
                format!(
                    "{}: keeps is counted, though containers give it back.",
                    few(profiles)
                ),
                format!(
                    "{} is a container with `keeps`, which is counted as given: that memory stays in use when the guest \
                     falls idle. A container gives it back; leave `keeps` out unless it was measured.",
                    listed(profiles)
                ),
            ),
            Self::CountedIdle { resources } => Worded::new(
                "counted_idle",
                format!(
                    "No guest counts as busy at this risk: {}.",
                    labels(resources)
                ),
                format!(
                    "At the accepted risk no guest counts as busy for {}: each is busy more rarely than the risk allows. A \
                     lower risk, or a larger busy share, counts it.",
                    labels(resources)
                ),
            ),
            Self::Restart { left_off } => {
                Worded::new("restart", String::new(), restart::caution(*left_off))
            }
            other => of_size(other),
        }
    }
}

/// The cautions of guests that the processor is too small for.
fn of_size(caution: &HostCaution) -> Worded {
    match caution {
        HostCaution::SlowCores { profiles, speed } => Worded::new(
            "slow_cores",
            format!(
                "{}: a busy vCPU runs slower on the slowest cores.",
                few(profiles)
            ),
            format!(
                "A busy vCPU of {} needs more than the slowest cores give ({speed} of the reference core): on those \
                     it runs slower even on an empty host.",
                listed(profiles)
            ),
        ),
        HostCaution::TooManyVcpus { profiles, threads } => Worded::new(
            "too_many_vcpus",
            format!(
                "{}: more vCPUs than the host has hardware threads ({threads}).",
                few(profiles)
            ),
            format!(
                "{} has more vCPUs than the host has hardware threads ({threads}): it can never run on all of them at \
                     once.",
                listed(profiles)
            ),
        ),
        other => of_pool(other),
    }
}

/// The cautions of a pool; of others those without a value.
fn of_pool(caution: &HostCaution) -> Worded {
    match caution {
        HostCaution::DiskWear { pool, life } => Worded::new(
            "disk_wear",
            format!(
                "{pool}: rated writes used up in {}; plan its replacement.",
                format::seconds(*life)
            ),
            format!(
                "The rated writes of {pool} are used up in {}; past them the maker promises nothing: plan its replacement \
                 and keep a backup.",
                format::seconds(*life)
            ),
        ),
        HostCaution::SameAge { pool } => Worded::new(
            "same_age",
            format!("{pool}: mirrored devices wear alike; replace them at different times."),
            format!(
                "The mirrored devices of {pool} wear alike and can end together: replace them at different times."
            ),
        ),
        HostCaution::ThinSpace { pool } => Worded::new(
            "thin_space",
            format!("{pool}: more is promised than there is; if it fills, guests stop."),
            format!(
                "Guests on {pool} were promised more disk than there is. When thin space runs out every guest on it \
                 stops: watch the fill and act well before."
            ),
        ),
        HostCaution::DataSheet { pool } => Worded::new(
            "data_sheet",
            format!("{pool}: write_iops is like a data sheet's; measure flushed writes."),
            format!(
                "write_iops of {pool} is like a data sheet's. Guests flush often, and steady figures can be a \
                 hundredth: measure it with small flushed writes."
            ),
        ),
        other => unvaried(other),
    }
}

/// The cautions whose text holds no value of the host.
fn unvaried(caution: &HostCaution) -> Worded {
    match caution {
        HostCaution::Overcommit => Worded::fixed(
            "overcommit",
            "More memory is assigned than there is: watch memory pressure; keep backups.",
            "Guests are assigned more memory than is there beside the host's own. If they all use it, the host \
             thrashes or kills guests, and what they had not written is lost: keep nothing irreplaceable here without a \
             backup, and watch memory pressure (`some` in /proc/pressure/memory), which rises first.",
        ),
        HostCaution::SideChannel => SIDE_CHANNEL,
        HostCaution::ScannerLate => Worded::fixed(
            "scanner_late",
            "Sharing is not counted: its scanner starts only past the safe limit.",
            "The adaptive scanner starts only after the safe limit has been passed, so page sharing was not counted for \
             it: keep less memory free or raise the scanner's threshold.",
        ),
        HostCaution::ModulesInGib => Worded::fixed(
            "modules_in_gib",
            "Module sizes written in GB are read as GiB, as modules come.",
            "Module sizes written in GB are read as GiB: modules come in that size, and their labels call it GB. Write \
             GiB where that is meant.",
        ),
        HostCaution::SharingCosts => Worded::fixed(
            "sharing_costs",
            "Page sharing costs more memory than it saves here: switch it off.",
            "Page sharing costs more memory for bookkeeping than it saves with these guests: switch it off.",
        ),
        HostCaution::CacheLetsGoSlowly => Worded::fixed(
            "cache_lets_go_slowly",
            "The file cache shrinks slowly: a sudden rush reaches the cliff earlier.",
            "The file-system cache gives memory back more slowly than guests can grow: a sudden rush reaches the cliff \
             earlier than a slow one.",
        ),
        HostCaution::SwapInUse => Worded::fixed(
            "swap_in_use",
            "Swap is expected to be in use: that is slow, and it wears the disk.",
            "Swap is expected to be in use: that is slow, and it wears the disk.",
        ),
        HostCaution::Pinned => Worded::fixed(
            "pinned",
            "A guest with a passed-through device takes all its memory at once.",
            "A guest with a passed-through device takes all its assigned memory at once and never gives any back.",
        ),
        HostCaution::NothingBackedUp => Worded::fixed(
            "nothing_backed_up",
            "The backup window counts nothing: no guest has a backup; set it.",
            "A backup window is given and no guest backs anything up, so it counts nothing: set backup of the guests, the \
             bytes a day that are copied.",
        ),
        HostCaution::Circuits => CIRCUITS,
        _ => ESTIMATE,
    }
}
