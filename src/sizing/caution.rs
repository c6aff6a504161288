//! What to be careful about on a host, with the facts that each caution states.

use super::named::Named;

pub(super) mod applicable;

/// What to be careful about on a host.
#[derive(Debug, Clone, PartialEq)]
pub enum HostCaution {
    /// Scaling profiles have no guest among those that fit.
    KindMissing {
        /// Their names.
        profiles: Vec<String>,
        /// Guests that fit.
        guests: u64,
    },
    /// Guests are assigned more memory than there is.
    Overcommit,
    /// Page sharing is on.
    SideChannel,
    /// The adaptive scanner starts past the safe limit.
    ScannerLate,
    /// Page sharing costs more than it saves.
    SharingCosts,
    /// The file-system cache shrinks more slowly than guests grow.
    CacheLetsGoSlowly,
    /// Swap is expected to be in use.
    SwapInUse,
    /// Module sizes that were written in GB are read as GiB.
    ModulesInGib,
    /// A guest's memory is pinned.
    Pinned,
    /// Containers are given a `keeps`, though they give their memory back.
    ContainersKeep {
        /// Their names.
        profiles: Vec<String>,
    },
    /// The busy load of a vCPU exceeds the speed of the slowest cores.
    SlowCores {
        /// Guests with such vCPUs.
        profiles: Vec<String>,
        /// Speed of the slowest cores.
        speed: f64,
    },
    /// Guests have more vCPUs than the host has hardware threads.
    TooManyVcpus {
        /// Their names.
        profiles: Vec<String>,
        /// Hardware threads.
        threads: f64,
    },
    /// A pool's rated writes are used up early.
    DiskWear {
        /// Name of the pool.
        pool: String,
        /// When `[s]`.
        life: f64,
    },
    /// Mirrored devices wear alike.
    SameAge {
        /// Name of the pool.
        pool: String,
    },
    /// More disk is promised than there is.
    ThinSpace {
        /// Name of the pool.
        pool: String,
    },
    /// A write rate seems to be a data sheet's peak.
    DataSheet {
        /// Name of the pool.
        pool: String,
    },
    /// Guests are to grow beyond their disks.
    GrowthCapped {
        /// Their names.
        profiles: Vec<String>,
    },
    /// Power is counted.
    Circuits,
    /// The accepted risk counts no guest as busy: each is busy more rarely than that.
    CountedIdle {
        /// The resources whose demand at the accepted risk is that of idle guests.
        resources: Vec<Named>,
    },
    /// A backup window is given, and no guest that runs backs anything up.
    NothingBackedUp,
    /// Not all guests can start at once after a power cut.
    Restart {
        /// Guests that cannot come back at all.
        left_off: u64,
    },
    /// The answer is an estimate.
    Estimate,
}

/// Those of some cautions that apply.
pub fn applying<T>(all: impl IntoIterator<Item = (bool, T)>) -> Vec<T> {
    let applying = all.into_iter().filter(|(applies, _)| *applies);
    applying.map(|(_, caution)| caution).collect()
}
