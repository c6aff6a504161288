//! Labs made in code, for tests and experiments: what is not given has the default of its row.

use super::draft::with_given;
use super::table::Value;
use super::{Guest, Host, Lab, LabInfo};

impl Host {
    /// So many cores and modules of these sizes `[B]`, without disks, network, power and backup.
    #[expect(clippy::cast_precision_loss, reason = "counts are at most 1,000,000")]
    pub fn with_defaults(name: &str, cores: u64, modules: &[f64]) -> Host {
        let mut host: Host = with_given(&[("name", Value::Text(name))]);
        host.cpu = with_given(&[]);
        host.cpu.groups = vec![with_given(&[("cores", Value::Count(cores as f64))])];
        host.memory = with_given(&[("modules", Value::Sizes(modules.to_vec()))]);
        host.merging = with_given(&[]);
        host
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
        with_given(&[
            ("name", Value::Text(name)),
            ("memory", Value::Number(memory)),
        ])
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
        Lab {
            years: with_given::<LabInfo>(&[]).years,
            policy: with_given(&[]),
            hosts,
            guests,
            ..Lab::default()
        }
    }
}
