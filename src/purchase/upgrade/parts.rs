//! What can be bought for a host, and the host with it.

use super::modules::{ComesOut, Purchase, purchases};
use crate::lab::{Guest, Kind, Lab, Layout, Pool};
use crate::model::MIB;
use crate::unit::format;

/// What the process of a container takes beyond its memory `[B]`. Source: assumption, the inventory's own default.
const CONTAINER_OVERHEAD: f64 = 10.0 * MIB;
/// Steps in which a pool is made of more devices.
const MORE_DEVICES: u64 = 2;

/// One purchase.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Part {
    /// Memory modules.
    Modules(Purchase),
    /// More devices of the same kind in a pool.
    Devices {
        pool: usize,
        name: String,
        more: u64,
        price: Option<f64>,
    },
    /// Larger devices in place of all of a pool.
    Larger {
        pool: usize,
        name: String,
        devices: u64,
        old: f64,
        capacity: f64,
        price: f64,
    },
    /// A faster link.
    Link { old: f64, speed: f64, price: f64 },
    /// Further hosts of the kind.
    Hosts { more: u64, price: Option<f64> },
}

/// What can be bought for the one host of a lab, kind by kind; of each kind at most one is bought at a time.
pub(super) fn kinds(lab: &Lab, most_hosts: u64) -> Vec<Vec<Part>> {
    let host = &lab.hosts[0];
    let mut kinds = vec![
        purchases(&host.memory)
            .into_iter()
            .map(Part::Modules)
            .collect::<Vec<Part>>(),
    ];
    for (index, pool) in host.disks.iter().enumerate() {
        kinds.push(disks(index, pool));
    }
    let faster = host.link.map_or_else(Vec::new, |old| {
        let offers = host.link_prices.iter().filter(|(speed, _)| *speed > old);
        offers
            .map(|&(speed, price)| Part::Link { old, speed, price })
            .collect()
    });
    kinds.push(faster);
    kinds.push(
        (1..=most_hosts)
            .map(|more| Part::Hosts {
                more,
                price: host.price.map(|price| price * more as f64),
            })
            .collect(),
    );
    kinds
}

/// More devices, by as many as the layout grows by, and larger ones.
fn disks(index: usize, pool: &Pool) -> Vec<Part> {
    let step = match pool.layout {
        Layout::Mirror { ways } => ways,
        Layout::Stripe | Layout::Parity1 | Layout::Parity2 => 1,
    };
    let each = pool.price.map(|price| price / pool.devices as f64);
    let more = (1..=MORE_DEVICES).map(|steps| Part::Devices {
        pool: index,
        name: pool.name.clone(),
        more: steps * step,
        price: each.map(|price| price * (steps * step) as f64),
    });
    let larger = pool
        .capacity_prices
        .iter()
        .filter(|(capacity, _)| *capacity > pool.capacity)
        .map(|&(capacity, price)| Part::Larger {
            pool: index,
            name: pool.name.clone(),
            devices: pool.devices,
            old: pool.capacity,
            capacity,
            price: price * pool.devices as f64,
        });
    more.chain(larger).collect()
}

impl Part {
    /// What it costs, if the lab says so.
    pub fn price(&self) -> Option<f64> {
        match self {
            Part::Modules(purchase) => Some(purchase.price),
            Part::Devices { price, .. } | Part::Hosts { price, .. } => *price,
            Part::Larger { price, .. } | Part::Link { price, .. } => Some(*price),
        }
    }

    /// How many hosts it adds.
    pub fn hosts(&self) -> u64 {
        match self {
            Part::Hosts { more, .. } => *more,
            _ => 0,
        }
    }

    /// What is done, in the reader's words.
    pub fn words(&self) -> String {
        match self {
            Part::Modules(purchase) => {
                let bought: Vec<String> = purchase
                    .bought
                    .iter()
                    .map(|(size, number)| format!("{number} × {}", format::bytes(*size)))
                    .collect();
                let replaced = tally(&purchase.replaced);
                let instead = if replaced.is_empty() {
                    String::new()
                } else {
                    format!(" (replaces {})", replaced.join(" and "))
                };
                format!("memory: {}{instead}", bought.join(" and "))
            }
            Part::Devices { name, more, .. } => format!(
                "{name}: {} more of the same",
                format::plural(*more, "device", "devices")
            ),
            Part::Larger {
                name,
                devices,
                old,
                capacity,
                ..
            } => format!(
                "{name}: {devices} × {} (replaces {devices} × {})",
                format::decimal_bytes(*capacity),
                format::decimal_bytes(*old)
            ),
            Part::Link { old, speed, .. } => format!(
                "link: {} (replaces {})",
                format::bit_rate(*speed),
                format::bit_rate(*old)
            ),
            Part::Hosts { more, .. } => {
                format!(
                    "{} of the kind",
                    format::plural(*more, "more host", "more hosts")
                )
            }
        }
    }

    /// Owned parts that come out.
    pub fn replaces(&self) -> Vec<String> {
        match self {
            Part::Modules(purchase) => tally(&purchase.replaced),
            Part::Larger { devices, old, .. } => {
                vec![format!("{devices} × {}", format::decimal_bytes(*old))]
            }
            Part::Link { old, .. } => vec![format::bit_rate(*old)],
            Part::Devices { .. } | Part::Hosts { .. } => Vec::new(),
        }
    }

    /// What to know about it.
    pub fn note(&self) -> Option<&'static str> {
        match self {
            Part::Modules(purchase) => purchase.why.map(|why| match why {
                ComesOut::AllTaken => {
                    "All memory slots are taken, so what is bought takes the place of the smallest modules."
                }
                ComesOut::TooFewFree => {
                    "Fewer memory slots are free than are needed, so the smallest modules come out."
                }
                ComesOut::SlotsUnknown => {
                    "The lab does not say how many memory slots there are, so all are taken to be full: give `slots` \
                     if some are free."
                }
                ComesOut::NoMatch => "A module that nothing matches comes out: modules work in pairs.",
            }),
            Part::Larger { .. } => Some(
                "Larger devices are counted with the speed and rated writes of those they replace, and as new.",
            ),
            Part::Devices { price: None, .. } => {
                Some("The pool has no price in the lab, so its worth cannot be ranked.")
            }
            Part::Hosts { price: None, .. } => {
                Some("The host has no price in the lab, so its worth cannot be ranked.")
            }
            _ => None,
        }
    }
}

/// "2 × 16 GiB", a text for each size.
fn tally(modules: &[f64]) -> Vec<String> {
    let mut sizes: Vec<(f64, usize)> = Vec::new();
    for size in modules {
        match sizes.iter_mut().find(|(seen, _)| seen == size) {
            Some((_, number)) => *number += 1,
            None => sizes.push((*size, 1)),
        }
    }
    sizes
        .iter()
        .map(|(size, number)| format!("{number} × {}", format::bytes(*size)))
        .collect()
}

/// The lab with its host changed by these parts; further hosts are counted elsewhere.
pub(super) fn with_parts(lab: &Lab, parts: &[Part]) -> Lab {
    let mut lab = lab.clone();
    let host = &mut lab.hosts[0];
    for part in parts {
        match part {
            Part::Modules(purchase) => host.memory.modules.clone_from(&purchase.modules),
            Part::Devices { pool, more, .. } => {
                let pool = &mut host.disks[*pool];
                let old = pool.devices as f64;
                pool.devices += more;
                // Rated writes left are counted per device, so what is worn already is spread over all.
                pool.already_written *= old / pool.devices as f64;
            }
            Part::Larger { pool, capacity, .. } => {
                host.disks[*pool].capacity = *capacity;
                host.disks[*pool].already_written = 0.0;
            }
            Part::Link { speed, .. } => host.link = Some(*speed),
            Part::Hosts { .. } => {}
        }
    }
    lab
}

/// The lab with its machines as containers, none where no guest can be one.
///
/// Without a kernel of its own a guest gives memory back at once and nothing scans it; its files are shared through the
/// host's page cache.
pub(super) fn as_containers(lab: &Lab) -> Option<Lab> {
    let could = |guest: &Guest| guest.kind == Kind::Machine && !guest.pinned && !guest.huge_pages;
    if !lab.guests.iter().any(could) {
        return None;
    }
    let mut lab = lab.clone();
    for guest in lab.guests.iter_mut().filter(|guest| could(guest)) {
        guest.kind = Kind::Container;
        guest.merge = false;
        guest.keeps = 0.0;
        guest.common_busy = 0.0;
        guest.busy_breaks = 0.0;
        guest.overhead = guest.overhead.min(CONTAINER_OVERHEAD);
    }
    Some(lab)
}
