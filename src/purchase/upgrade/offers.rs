//! What can be bought for a host, and what its guests would be as containers.

use super::change::{Action, Change};
use super::modules::purchases;
use crate::lab::{Guest, Host, Kind, Lab, Pool};
use crate::model::MIB;

/// What the process of a container takes beyond its memory `[B]`. Source: assumption, the inventory's own default.
const CONTAINER_OVERHEAD: f64 = 10.0 * MIB;
/// Steps in which a pool is made of more devices.
const MORE_DEVICES: u64 = 2;

/// What can be bought for a host.
pub(super) struct Offers {
    /// Kind by kind; of each kind at most one is bought at a time.
    pub kinds: Vec<Vec<Change>>,
    /// Sums of memory within reach that are not offered, because there are too many.
    pub left_out: usize,
}

/// What can be bought for a host, and up to so many further ones.
pub(super) fn offers(host: &Host, most_hosts: u64) -> Offers {
    let modules = purchases(&host.memory);
    let mut kinds = vec![modules.offered];
    for (index, pool) in host.disks.iter().enumerate() {
        kinds.push(disks(index, pool));
    }
    kinds.push(links(host));
    let hosts = (1..=most_hosts).map(|more| Change {
        action: Action::MoreHosts(more),
        price: host.price.map(|price| price * more as f64),
    });
    kinds.push(hosts.collect());
    Offers {
        kinds,
        left_out: modules.left_out,
    }
}

/// More devices, by as many as the layout grows by, and larger ones.
fn disks(index: usize, pool: &Pool) -> Vec<Change> {
    let step = pool.layout.step();
    let each = pool.price.map(|price| price / pool.devices as f64);
    let more = (1..=MORE_DEVICES).map(|steps| Change {
        action: Action::MoreDevices {
            pool: index,
            name: pool.name.clone(),
            more: steps * step,
        },
        price: each.map(|price| price * (steps * step) as f64),
    });
    let larger = pool
        .capacity_prices
        .iter()
        .filter(|(capacity, _)| *capacity > pool.capacity)
        .map(|&(capacity, price)| Change {
            action: Action::LargerDevices {
                pool: index,
                name: pool.name.clone(),
                devices: pool.devices,
                old: pool.capacity,
                capacity,
            },
            price: Some(price * pool.devices as f64),
        });
    more.chain(larger).collect()
}

/// Faster links.
fn links(host: &Host) -> Vec<Change> {
    let Some(old) = host.link else {
        return Vec::new();
    };
    let faster = host.link_prices.iter().filter(|(speed, _)| *speed > old);
    faster
        .map(|&(speed, price)| Change {
            action: Action::Link { old, speed },
            price: Some(price),
        })
        .collect()
}

/// The lab with its machines as containers, none where no guest can be one.
///
/// Without a kernel of its own a guest gives memory back at once and nothing scans it; its files are shared through the
/// host's page cache.
pub(super) fn as_containers(lab: &Lab) -> Option<Lab> {
    let can_be = |guest: &Guest| guest.kind == Kind::Machine && !guest.pinned && !guest.huge_pages;
    if !lab.guests.iter().any(can_be) {
        return None;
    }
    let mut lab = lab.clone();
    for guest in lab.guests.iter_mut().filter(|guest| can_be(guest)) {
        guest.kind = Kind::Container;
        guest.merge = false;
        guest.keeps = 0.0;
        guest.common_busy = 0.0;
        guest.busy_breaks = 0.0;
        guest.overhead = guest.overhead.min(CONTAINER_OVERHEAD);
    }
    Some(lab)
}

/// The lab for a further host of the kind: scaling guests only, or whole sets.
pub(super) fn without_fixed(lab: &Lab) -> Lab {
    let mut lab = lab.clone();
    let scales = |guest: &Guest| guest.share.is_some();
    if lab.guests.iter().any(scales) {
        // Kept in place, so that footprints and names stay those of the lab.
        for guest in &mut lab.guests {
            guest.count = 0;
        }
    }
    lab
}
