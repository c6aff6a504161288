//! Demands on a pool, with their numbers: space, operations, written bytes.

use super::context::Context;
use super::demand::mean;
use super::filled::{Filled, count, disk, min, per_day, plain, seconds, sum};
use super::step::DEFINITION;
use super::{Section, Step, number};
use crate::lab::key_path;
use crate::sizing::storage::{PoolIndex, cost};

/// Reads and writes, added up before the share of time that devices are busy can be.
pub(super) fn reads_and_writes(context: &Context, pool: PoolIndex, section: &mut Section) {
    let (reads, writes) = operations(context, pool);
    for (name, formula, value, filled, keys) in [
        (
            "reads",
            "Σ n·(reads_idle + busy·(reads_busy − reads_idle))",
            reads,
            context.sum_on(pool, |guest| {
                mean(guest, plain(guest.reads_idle), plain(guest.reads_busy))
            }),
            ["reads_idle", "reads_busy", "busy"],
        ),
        (
            "writes",
            "Σ n·(writes_idle + busy·(writes_busy − writes_idle))",
            writes,
            context.sum_on(pool, |guest| {
                mean(guest, plain(guest.writes_idle), plain(guest.writes_busy))
            }),
            ["writes_idle", "writes_busy", "busy"],
        ),
    ] {
        section.add(
            Step::new(format!("{name} of the guests"), number::plain(value, "/s"))
                .law(formula, DEFINITION)
                .filled(filled)
                .from(context.inputs(&context.guests_on(pool, &keys))),
        );
    }
}

/// Mean reads and writes of the guests of a pool `[1/s]`.
fn operations(context: &Context, pool: PoolIndex) -> (f64, f64) {
    let here = || {
        context
            .running()
            .filter(|(_, _, guest, _)| context.model.pool_of(guest) == pool)
    };
    let between = |idle: f64, busy: f64, chance: f64| idle + chance * (busy - idle);
    (
        here()
            .map(|(_, n, guest, _)| {
                n as f64 * between(guest.reads_idle, guest.reads_busy, guest.busy)
            })
            .sum(),
        here()
            .map(|(_, n, guest, _)| {
                n as f64 * between(guest.writes_idle, guest.writes_busy, guest.busy)
            })
            .sum(),
    )
}

/// Share of time that the devices are busy, with its numbers.
pub(super) fn busy_share(context: &Context, pool: PoolIndex) -> Filled {
    let devices = &context.model.host.disks[pool];
    let (reads, writes) = operations(context, pool);
    let layout = cost(devices);
    let speed = |iops: Option<f64>| count(devices.devices) * plain(iops.unwrap_or(f64::NAN));
    (plain(reads) + plain(writes) * plain(layout.read_backs)) / speed(devices.read_iops)
        + plain(writes) * plain(layout.writes) / speed(devices.write_iops)
}

/// Space used in a pool after a time, with its numbers.
pub(super) fn space(context: &Context, pool: PoolIndex, horizon: f64) -> Filled {
    let model = context.model;
    let images = model.images_in(pool, context.counts);
    let fixed = std::iter::once(disk(model.host.disks[pool].base_used))
        .chain(images.iter().map(|image| disk(image.size)));
    let guests = context.sum_on(pool, |guest| {
        let own = if guest.trims {
            let grown = disk(guest.disk_used) + per_day(guest.disk_grows) * seconds(horizon);
            min([disk(guest.disk_size), grown])
        } else {
            disk(guest.disk_size)
        };
        match model.copied_image(guest) {
            copied if copied > 0.0 => disk(copied) + own,
            _ => own,
        }
    });
    sum(fixed) + guests
}

/// What guests and host write to a pool, with its numbers.
pub(super) fn written(context: &Context, pool: PoolIndex) -> Filled {
    per_day(context.model.host.disks[pool].base_written)
        + context.sum_on(pool, |guest| per_day(guest.written))
}

/// Inputs of the space.
pub(super) fn space_keys(context: &Context, pool: PoolIndex) -> Vec<String> {
    let names = [
        "disk",
        "image",
        "clone",
        "disk_used",
        "disk_size",
        "disk_grows",
        "trims",
    ];
    let mut keys = context.pool(pool, &["base_used"]);
    for image in context.model.images_in(pool, context.counts) {
        keys.push(key_path(&["image", &image.name, "size"]));
        keys.push(key_path(&["image", &image.name, "disk"]));
    }
    keys.extend(context.guests_on(pool, &names));
    keys.extend(context.policy(&["disk_horizon"]));
    keys
}
