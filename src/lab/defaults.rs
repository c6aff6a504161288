//! Labs made in code, for tests and experiments: what is not given has the default of its row.

use std::collections::BTreeMap;

use super::draft::{Draft, Given};
use super::table::{SectionTable, Value};
use super::{
    Backup, CoreGroup, Cpu, Guest, Host, HostMemory, Image, Lab, LabInfo, Merging, Mode, Policy,
    Pool, Power,
};

/// A table of which these keys are given.
fn with_given<T: SectionTable>(given: &[(&'static str, Value<'_>)]) -> T {
    let mut draft = Draft::default();
    for (key, value) in given {
        draft.give(key, value, Given::Valid);
    }
    draft.complete(|_| ())
}

impl Policy {
    /// The defaults.
    pub fn with_defaults() -> Policy {
        with_given(&[])
    }
}

impl CoreGroup {
    /// So many cores of one thread and speed 1.
    #[expect(clippy::cast_precision_loss, reason = "counts are at most 1,000,000")]
    pub fn with_defaults(cores: u64) -> CoreGroup {
        with_given(&[("cores", Value::Count(cores as f64))])
    }
}

impl HostMemory {
    /// Modules of these sizes `[B]`.
    pub fn with_defaults(modules: &[f64]) -> HostMemory {
        with_given(&[("modules", Value::Sizes(modules.to_vec()))])
    }
}

impl Merging {
    /// The scanner in that mode.
    pub fn with_defaults(mode: Mode) -> Merging {
        Merging {
            mode,
            ..with_given(&[])
        }
    }
}

impl Host {
    /// So many cores and modules of these sizes `[B]`, without disks, network, power and backup.
    pub fn with_defaults(name: &str, cores: u64, modules: &[f64]) -> Host {
        Host {
            cpu: Cpu {
                groups: vec![CoreGroup::with_defaults(cores)],
                ..with_given(&[])
            },
            memory: HostMemory::with_defaults(modules),
            merging: Merging::with_defaults(Mode::Off),
            ..with_given(&[("name", Value::Text(name))])
        }
    }
}

impl Pool {
    /// The first pool of a host, one device of that capacity `[B]`.
    pub fn with_defaults(name: &str, capacity: f64) -> Pool {
        with_given(&[
            ("name", Value::Text(name)),
            ("capacity", Value::Number(capacity)),
        ])
    }
}

impl Power {
    /// Power at the wall `[W]`.
    pub fn with_defaults(idle: f64, busy: f64) -> Power {
        with_given(&[("idle", Value::Number(idle)), ("busy", Value::Number(busy))])
    }
}

impl Backup {
    /// A window of that length `[s]`.
    pub fn with_defaults(window: f64) -> Backup {
        with_given(&[("window", Value::Number(window))])
    }
}

impl Image {
    /// An image of that size `[B]`.
    pub fn with_defaults(name: &str, size: f64) -> Image {
        with_given(&[("name", Value::Text(name)), ("size", Value::Number(size))])
    }
}

impl Guest {
    /// A machine with so much memory `[B]`.
    ///
    /// # Example
    /// ```
    /// use berthage::lab::Guest;
    /// let guest = Guest::with_defaults("web", 2e9);
    /// assert_eq!((guest.touched, guest.keeps, guest.vcpus), (0.8e9, 0.9, 1));
    /// ```
    pub fn with_defaults(name: &str, memory: f64) -> Guest {
        Guest::with(name, memory, &[])
    }

    /// A guest with so much memory `[B]` of which these keys are given too; defaults follow from them.
    ///
    /// # Example
    /// ```
    /// use berthage::lab::{Guest, table::Value};
    /// let guest = Guest::with("web", 2e9, &[("kind", Value::Text("container")), ("touched", Value::Number(1e9))]);
    /// assert_eq!((guest.common, guest.keeps), (0.2e9, 0.0));
    /// ```
    pub fn with(name: &str, memory: f64, given: &[(&'static str, Value<'_>)]) -> Guest {
        let own = [
            ("name", Value::Text(name)),
            ("memory", Value::Number(memory)),
        ];
        let all: Vec<(&'static str, Value<'_>)> =
            own.into_iter().chain(given.iter().cloned()).collect();
        with_given(&all)
    }
}

impl Lab {
    /// A lab of these hosts and guests with the default policy; images and the rest are added in code.
    ///
    /// # Example
    /// ```
    /// use berthage::lab::{Guest, Host, Lab};
    /// let lab = Lab::with(vec![Host::with_defaults("shelf-a", 8, &[64e9])], vec![Guest::with_defaults("web", 2e9)]);
    /// assert_eq!(lab.policy.memory_risk, 0.005);
    /// ```
    pub fn with(hosts: Vec<Host>, guests: Vec<Guest>) -> Lab {
        let LabInfo {
            name,
            currency,
            tariff,
            years,
        } = with_given(&[]);
        Lab {
            name,
            currency,
            tariff,
            years,
            policy: Policy::with_defaults(),
            hosts,
            images: Vec::new(),
            guests,
            periods: Vec::new(),
            origins: BTreeMap::new(),
            uncertain: Vec::new(),
            guessed: Vec::new(),
            drafts: Vec::new(),
        }
    }
}
