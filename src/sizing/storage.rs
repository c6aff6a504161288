//! Disk pools of a host at a composition: space, operations, written bytes.

use super::host::HostModel;
use crate::lab::{CloneKind, Guest, Image, Pool};
use crate::model::demand::Demand;
use crate::model::disk::{
    LayoutCost, PoolSpeed, Trims, busy_share, full_in, guest_used, layout_cost,
};
use crate::model::endurance::WriteFactors;

/// A pool of a host, by its place in the host's list.
pub type PoolIndex = usize;

impl HostModel<'_> {
    /// The pool that a guest lies on: the one it names, else the host's first.
    #[must_use]
    pub fn pool_of(&self, guest: &Guest) -> PoolIndex {
        let named = guest
            .disk
            .as_ref()
            .and_then(|name| self.host.disks.iter().position(|pool| pool.name == *name));
        named.unwrap_or(0)
    }

    /// Counts with the guests of other pools left out.
    fn counts_on(&self, pool: PoolIndex, counts: &[u64]) -> Vec<u64> {
        let guests = counts.iter().zip(&self.lab.guests);
        guests
            .map(|(n, guest)| if self.pool_of(guest) == pool { *n } else { 0 })
            .collect()
    }

    /// Images that have their base copy in a pool at a composition.
    pub(crate) fn images_in(&self, pool: PoolIndex, counts: &[u64]) -> Vec<&Image> {
        let name = &self.host.disks[pool].name;
        let images = self.lab.images.iter().enumerate();
        let held = images.filter(|(index, image)| {
            let overlays = counts.iter().zip(&self.lab.guests).filter(|(n, guest)| {
                **n > 0 && guest.image == Some(*index) && guest.clone == CloneKind::Overlay
            });
            match &image.disk {
                Some(own) => own == name && overlays.count() > 0,
                None => {
                    overlays
                        .filter(|(_, guest)| self.pool_of(guest) == pool)
                        .count()
                        > 0
                }
            }
        });
        held.map(|(_, image)| image).collect()
    }

    /// Disk that a copied guest takes beside its own files `[B]`: the whole image.
    pub(crate) fn copied_image(&self, guest: &Guest) -> f64 {
        match (guest.clone, guest.image) {
            (CloneKind::Copy, Some(image)) => self.lab.images[image].size,
            (CloneKind::Copy, None) | (CloneKind::Overlay, _) => 0.0,
        }
    }

    /// Space used in a pool after `horizon` `[B]`.
    #[must_use]
    pub fn space_used(&self, pool: PoolIndex, counts: &[u64], horizon: f64) -> f64 {
        let own = self.counts_on(pool, counts);
        let guests = self.sum(&own, |guest| {
            let trims = if guest.trims { Trims::Yes } else { Trims::No };
            self.copied_image(guest)
                + guest_used(
                    guest.disk_used,
                    guest.disk_size,
                    guest.disk_grows,
                    horizon,
                    trims,
                )
        });
        let images: f64 = self
            .images_in(pool, counts)
            .iter()
            .map(|image| image.size)
            .sum();
        self.host.disks[pool].base_used + images + guests
    }

    /// Space that was promised to the guests of a pool `[B]`: Σ disk_size.
    #[must_use]
    pub fn space_promised(&self, pool: PoolIndex, counts: &[u64]) -> f64 {
        self.sum(&self.counts_on(pool, counts), |guest| guest.disk_size)
    }

    /// When a pool is full at today's growth `[s]`, none when never.
    #[must_use]
    pub fn full_in(&self, pool: PoolIndex, counts: &[u64]) -> Option<f64> {
        let own = self.counts_on(pool, counts);
        let growing: Vec<(f64, f64)> = own
            .iter()
            .zip(&self.lab.guests)
            .filter(|(_, guest)| guest.trims)
            .map(|(n, guest)| {
                (
                    *n as f64 * (guest.disk_size - guest.disk_used),
                    *n as f64 * guest.disk_grows,
                )
            })
            .collect();
        let space = self.usable_space(pool) - self.space_used(pool, counts, 0.0);
        full_in(space, &growing)
    }

    /// Usable space of a pool `[B]`.
    #[must_use]
    pub fn usable_space(&self, pool: PoolIndex) -> f64 {
        let pool = &self.host.disks[pool];
        cost(pool).usable_devices * pool.capacity
    }

    /// Random device-busy share of a pool; none where its operations per second are not known.
    #[must_use]
    pub fn busy_devices(&self, pool: PoolIndex, counts: &[u64]) -> Option<Demand> {
        let devices = &self.host.disks[pool];
        let speed = PoolSpeed {
            devices: devices.devices as f64,
            read_iops: devices.read_iops?,
            write_iops: devices.write_iops?,
        };
        let cost = cost(devices);
        Some(self.demand(
            &self.counts_on(pool, counts),
            0.0,
            |guest| busy_share(guest.reads_idle, guest.writes_idle, cost, speed),
            |guest| busy_share(guest.reads_busy, guest.writes_busy, cost, speed),
        ))
    }

    /// What guests and host write to a pool, before any factor `[B/s]`.
    #[must_use]
    pub fn written(&self, pool: PoolIndex, counts: &[u64]) -> f64 {
        self.host.disks[pool].base_written
            + self.sum(&self.counts_on(pool, counts), |guest| guest.written)
    }

    /// Rated writes left in all devices of a pool `[B]`; none where the rating is not known.
    #[must_use]
    pub fn writes_left(&self, pool: PoolIndex) -> Option<f64> {
        let pool = &self.host.disks[pool];
        pool.endurance
            .map(|endurance| pool.devices as f64 * (endurance - pool.already_written))
    }
}

/// What a pool's layout costs.
#[must_use]
pub fn cost(pool: &Pool) -> LayoutCost {
    layout_cost(pool.layout, pool.devices)
}

/// What multiplies a written byte on its way into the flash of a pool.
#[must_use]
pub fn write_factors(pool: &Pool) -> WriteFactors {
    WriteFactors {
        file_system: pool.amplification,
        layout: cost(pool).writes,
        device: pool.wa_ratio,
    }
}
