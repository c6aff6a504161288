//! The valid lab: what every later room works on, and the keys it is described by.
//!
//! Sizes are bytes `[B]`, rates per second `[B/s]`, `[bit/s]`, `[1/s]`, shares 0–1, times seconds `[s]`, power watts
//! `[W]`, money in `Lab::currency`; the row of a key says which. After `inventory::load` every number is finite and
//! within its range, every reference points at something that exists, and nothing later knows TOML.

mod defaults;
mod disk;
pub mod draft;
pub mod draw;
mod guest;
mod host;
mod image;
pub mod keys;
mod memory;
mod merging;
mod origin;
mod period;
mod policy;
pub mod step;
pub mod table;

use std::collections::BTreeMap;
use std::fmt;
use std::sync::Arc;

pub use self::disk::{Layout, Pool};
pub use self::draft::with_given;
pub use self::guest::{CloneKind, Guest, Kind};
pub use self::host::{Backup, CoreGroup, Cpu, Host, Network, Power};
pub use self::image::Image;
pub use self::keys::{is_name, key_of, key_path, key_steps, later_command};
pub use self::memory::HostMemory;
pub use self::merging::{Merging, Mode};
pub use self::origin::{DefaultOrigin, Origin, Source, Uncertain};
pub use self::period::{
    BusyShare, DAY_MINUTES, OTHERWISE, Period, RESERVED_NAMES, hours_of_day, is_within,
    parts_of_day, time_of_day,
};
pub use self::policy::{LabInfo, Policy};

use self::draft::Input;

/// Everything one inventory says, valid and complete.
#[derive(Debug, Clone, Default)]
pub struct Lab {
    /// Name of the lab, empty if not given.
    pub name: String,
    /// Currency that all money is in, empty if not given.
    pub currency: String,
    /// Price of energy `[money/kWh]`.
    pub tariff: Option<f64>,
    /// Cost horizon `[years of 365.25 d]`.
    pub years: f64,
    /// What the owner accepts as safe.
    pub policy: Policy,
    /// Hosts in the order of the file, at least one.
    pub hosts: Vec<Host>,
    /// Images in the order of the file.
    pub images: Vec<Image>,
    /// Guest profiles in the order of the file, at least one.
    pub guests: Vec<Guest>,
    /// Periods in the order of the file, the rest of the time last; none: one busy hour represents all the time.
    pub periods: Vec<Period>,
    /// Where each value comes from, by key path (`guest.web.memory`, `host.shelf-a.disk.pool.devices`, `policy.memory_risk`).
    pub origins: BTreeMap<String, Origin>,
    /// The values given as uncertain, in key path order; a plain run uses `likely`.
    pub uncertain: Vec<Uncertain>,
    /// The defaults that represent facts and may be wrong, in key path order.
    pub guessed: Vec<Uncertain>,
    /// The tables that hold them, as far as they are given.
    pub drafts: Vec<UncertainTable>,
}

/// Makes a table with drawn numbers in place of its uncertain ones, and puts it into a lab whose only host is that of the
/// table.
pub type PutDrawn =
    dyn for<'i> Fn(&mut Lab, &mut dyn Iterator<Item = (&'i Input, f64)>) + Send + Sync;

/// A table with uncertain values.
#[derive(Clone)]
pub struct UncertainTable {
    /// The host it belongs to; none where it belongs to the lab.
    pub host: Option<usize>,
    /// The uncertain values.
    pub inputs: Vec<Input>,
    /// Draws it.
    pub put: Arc<PutDrawn>,
}

impl fmt::Debug for UncertainTable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.inputs.fmt(f)
    }
}

impl Lab {
    /// The same lab with one of its hosts alone, without origins and uncertain values: what a search needs.
    pub fn for_host(&self, host: usize) -> Lab {
        Lab {
            name: self.name.clone(),
            currency: self.currency.clone(),
            tariff: self.tariff,
            years: self.years,
            policy: self.policy.clone(),
            hosts: vec![self.hosts[host].clone()],
            images: self.images.clone(),
            guests: self.guests.clone(),
            periods: self.periods.clone(),
            ..Lab::default()
        }
    }
}
