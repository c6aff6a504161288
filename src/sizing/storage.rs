//! Disk pools of a host at a composition: space, operations, written bytes.

use super::host::HostModel;
use crate::lab::{CloneKind, Guest, Image, Pool};
use crate::model::demand::Demand;
use crate::model::disk::{
    LayoutCost, PoolSpeed, Trims, busy_share, full_in, guest_used, layout_cost, usable_space,
    with_guests,
};
use crate::model::endurance::{self, WriteFactors};
use crate::model::number::{Measure, Number, Owner, Read};

/// A pool of a host, by its place in the host's list.
pub type PoolIndex = usize;

impl<R: Read> HostModel<'_, R> {
    /// The pool that a guest lies on: the one it names, else the host's first.
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

    /// The value of a key of a pool.
    pub(crate) fn of_pool(
        &self,
        pool: &Pool,
        key: &'static str,
        value: f64,
        measure: Measure,
    ) -> R::Number {
        self.read.key(Owner::Pool(&pool.name), key, value, measure)
    }

    /// Space used in a pool after `horizon` `[B]`.
    pub fn space_used(&self, pool: PoolIndex, counts: &[u64], horizon: R::Number) -> R::Number {
        let own = self.counts_on(pool, counts);
        let devices = &self.host.disks[pool];
        let base = self.of_pool(devices, "base_used", devices.base_used, Measure::DiskBytes);
        let images = self.images_in(pool, counts).into_iter();
        let images = R::Number::sum(images.map(|image| self.image_size(image)));
        let guests = own.iter().zip(&self.lab.guests).map(|(n, guest)| {
            let each = self.copied_image(guest) + self.own_files(guest, horizon);
            (R::Number::of(*n as f64), each)
        });
        with_guests(base + images, guests).named(Measure::DiskBytes)
    }

    fn image_size(&self, image: &Image) -> R::Number {
        let owner = Owner::Image(&image.name);
        self.read.key(owner, "size", image.size, Measure::DiskBytes)
    }

    /// Disk that a copied guest takes beside its own files `[B]`: the whole image.
    pub(crate) fn copied_image(&self, guest: &Guest) -> R::Number {
        match (guest.clone, guest.image) {
            (CloneKind::Copy, Some(image)) => self.image_size(&self.lab.images[image]),
            (CloneKind::Copy, None) | (CloneKind::Overlay, _) => R::Number::of(0.0),
        }
    }

    /// Disk that a guest's own files take after `horizon` `[B]`: [`guest_used`].
    fn own_files(&self, guest: &Guest, horizon: R::Number) -> R::Number {
        let size = |key, value| self.of_guest(guest, key, value, Measure::DiskBytes);
        let grows = self.of_guest(guest, "disk_grows", guest.disk_grows, Measure::BytesPerDay);
        guest_used(
            size("disk_used", guest.disk_used),
            size("disk_size", guest.disk_size),
            grows,
            horizon,
            if guest.trims { Trims::Yes } else { Trims::No },
        )
    }

    /// How far ahead disk growth is planned for `[s]`.
    pub fn horizon(&self) -> R::Number {
        let horizon = self.lab.policy.disk_horizon;
        self.policy("disk_horizon", horizon, Measure::Seconds)
    }

    /// Space that was promised to the guests of a pool `[B]`: Σ disk_size.
    pub fn space_promised(&self, pool: PoolIndex, counts: &[u64]) -> R::Number {
        self.sum(&self.counts_on(pool, counts), |guest| {
            self.of_guest(guest, "disk_size", guest.disk_size, Measure::DiskBytes)
        })
        .named(Measure::DiskBytes)
    }

    /// Usable space of a pool `[B]`: [`usable_space`].
    pub fn usable_space(&self, pool: PoolIndex) -> R::Number {
        let pool = &self.host.disks[pool];
        let capacity = self.of_pool(pool, "capacity", pool.capacity, Measure::DiskBytes);
        usable_space(cost(pool), capacity)
    }

    /// Mean small reads and writes of the guests of a pool `[1/s]`.
    pub fn operations(&self, pool: PoolIndex, counts: &[u64]) -> [R::Number; 2] {
        let own = self.counts_on(pool, counts);
        let mean = |ends: fn(&Guest) -> [(&'static str, f64); 2]| {
            self.sum(&own, |guest| {
                self.mean_of(guest, ends(guest), Measure::Plain)
            })
            .named(Measure::Plain)
        };
        [
            mean(|guest| {
                [
                    ("reads_idle", guest.reads_idle),
                    ("reads_busy", guest.reads_busy),
                ]
            }),
            mean(|guest| {
                [
                    ("writes_idle", guest.writes_idle),
                    ("writes_busy", guest.writes_busy),
                ]
            }),
        ]
    }

    /// How fast the devices of a pool work together; none where that is not known.
    pub fn pool_speed(&self, pool: PoolIndex) -> Option<PoolSpeed<R::Number>> {
        let pool = &self.host.disks[pool];
        let number = |key, value| self.of_pool(pool, key, value, Measure::Plain);
        Some(PoolSpeed {
            devices: number("devices", pool.devices as f64),
            read_iops: number("read_iops", pool.read_iops?),
            write_iops: number("write_iops", pool.write_iops?),
        })
    }

    /// What guests and host write to a pool, before any factor `[B/s]`.
    pub fn written(&self, pool: PoolIndex, counts: &[u64]) -> R::Number {
        let own = self.counts_on(pool, counts);
        let devices = &self.host.disks[pool];
        let base = devices.base_written;
        let base = self.of_pool(devices, "base_written", base, Measure::BytesPerDay);
        let guests = own.iter().zip(&self.lab.guests).map(|(n, guest)| {
            let each = self.of_guest(guest, "written", guest.written, Measure::BytesPerDay);
            (R::Number::of(*n as f64), each)
        });
        with_guests(base, guests).named(Measure::BytesPerDay)
    }

    /// Rated writes left in all devices of a pool `[B]`: [`endurance::left`]; none where the rating is not known.
    pub fn writes_left(&self, pool: PoolIndex) -> Option<R::Number> {
        let pool = &self.host.disks[pool];
        let size = |key, value| self.of_pool(pool, key, value, Measure::DiskBytes);
        let devices = self.of_pool(pool, "devices", pool.devices as f64, Measure::Plain);
        let rated = size("endurance", pool.endurance?);
        let written = size("already_written", pool.already_written);
        Some(endurance::left(devices, rated, written))
    }

    /// What multiplies a written byte on its way into the flash of a pool.
    pub fn write_factors(&self, pool: PoolIndex) -> WriteFactors<R::Number> {
        let pool = &self.host.disks[pool];
        let number = |key, value| self.of_pool(pool, key, value, Measure::Plain);
        WriteFactors {
            file_system: number("amplification", pool.amplification),
            layout: R::Number::of(cost(pool).writes),
            device: number("wa_ratio", pool.wa_ratio),
        }
    }
}

impl HostModel<'_> {
    /// When a pool is full at today's growth `[s]`, none when never.
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

    /// Random device-busy share of a pool; none where its operations per second are not known.
    pub fn busy_devices(&self, pool: PoolIndex, counts: &[u64]) -> Option<Demand> {
        let speed = self.pool_speed(pool)?;
        let cost = cost(&self.host.disks[pool]);
        Some(self.demand(
            &self.counts_on(pool, counts),
            0.0,
            |guest| busy_share(guest.reads_idle, guest.writes_idle, cost, speed),
            |guest| busy_share(guest.reads_busy, guest.writes_busy, cost, speed),
        ))
    }
}

/// What a pool's layout costs.
pub fn cost(pool: &Pool) -> LayoutCost {
    layout_cost(pool.layout, pool.devices)
}
