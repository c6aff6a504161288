//! The link of a host at a composition, and the nightly backup that uses it.

use super::host::HostModel;
use crate::model::number::{Measure, Read};
use crate::model::{DAY, network};

impl<R: Read> HostModel<'_, R> {
    /// Mean traffic of the guests in the busier direction `[bit/s]`.
    pub(crate) fn mean_traffic(&self, counts: &[u64]) -> R::Number {
        self.sum(counts, |guest| {
            let ends = [("net_idle", guest.net_idle), ("net_busy", guest.net_busy)];
            self.mean_of(guest, ends, Measure::BitRate)
        })
    }

    /// Time that one day's backup takes `[s]`; none where none is planned.
    pub fn backup_time(&self, counts: &[u64]) -> Option<R::Number> {
        let backup = self.host.backup.as_ref()?;
        let target = backup
            .speed
            .map(|speed| self.own("backup.speed", speed, Measure::ByteRate));
        let speed = network::backup_speed(target, self.link(), self.network_ceiling());
        let bytes = self.sum(counts, |guest| {
            self.of_guest(guest, "backup", guest.backup * DAY, Measure::DiskBytes)
        });
        Some(bytes / speed)
    }

    /// Speed of the link `[bit/s]`.
    pub(crate) fn link(&self) -> Option<R::Number> {
        let link = self.host.link?;
        Some(self.own("network.link", link, Measure::BitRate))
    }

    /// Highest accepted share of the link.
    pub(crate) fn network_ceiling(&self) -> R::Number {
        let ceiling = self.lab.policy.network_ceiling;
        self.policy("network_ceiling", ceiling, Measure::Share)
    }
}
