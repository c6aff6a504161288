//! What is reported of each pool beside its limits: fill, growth, written bytes and life.

use super::context::Context;
use super::filled::{Filled, claim, disk, per_day, plain, seconds};
use super::limit::{multipliers, owned, writes_left};
use super::pool::{space, written};
use super::step::{DEFINITION, PROJECT};
use super::symbols::DISK;
use super::{Section, Step, number};
use crate::lab::key_path;
use crate::model::{DAY, endurance};
use crate::sizing::answer::DiskAnswer;
use crate::sizing::storage::{PoolIndex, write_factors};

/// A section a pool.
pub(super) fn all(context: &Context) -> Vec<Section> {
    let pools = context.answer.disk.iter().enumerate();
    pools
        .map(|(pool, answer)| {
            let mut section = Section::new(format!("Pool {}", answer.name)).letters(DISK);
            fill(context, pool, answer, &mut section);
            growth(context, pool, answer, &mut section);
            wear(context, pool, answer, &mut section);
            section
        })
        .collect()
}

fn key(answer: &DiskAnswer, name: &str) -> String {
    key_path(&["disk", &answer.name, name])
}

fn fill(context: &Context, pool: PoolIndex, answer: &DiskAnswer, section: &mut Section) {
    let devices = &context.model.host.disks[pool];
    let horizon = context.model.lab.policy.disk_horizon;
    let keys = ["devices", "capacity", "layout", "ways"];
    section.add(
        Step::new("owned (usable)", number::disk(answer.owned))
            .key(key(answer, "owned"))
            .law("usable devices·capacity", "Patterson, Gibson & Katz 1988")
            .filled(owned(devices))
            .from(context.inputs(&context.pool(pool, &keys))),
    );
    section.add(
        Step::new("used", number::disk(answer.used))
            .key(key(answer, "used"))
            .law("base_used + images + Σ n·(image of a copy + min(disk_size, disk_used + disk_grows·disk_horizon)); trims = false: disk_size at once", PROJECT)
            .filled(space(context, pool, horizon)),
    );
    section.add(
        Step::new("fill", number::share(answer.fill))
            .key(key(answer, "fill"))
            .law("used/owned", DEFINITION)
            .filled(disk(answer.used) / disk(answer.owned)),
    );
    section.add(
        Step::new("promised", number::disk(answer.promised))
            .key(key(answer, "promised"))
            .law("Σ n·disk_size", DEFINITION)
            .filled(context.sum_on(pool, |guest| disk(guest.disk_size)))
            .from(context.inputs(&context.guests_on(pool, &["disk", "disk_size"]))),
    );
    section.add(
        Step::new(
            "promised over owned",
            number::share(answer.promised / answer.owned),
        )
        .law("promised/owned", DEFINITION)
        .filled(disk(answer.promised) / disk(answer.owned)),
    );
}

fn growth(context: &Context, pool: PoolIndex, answer: &DiskAnswer, section: &mut Section) {
    let model = context.model;
    let used_in = |time: f64| disk(model.space_used(pool, context.counts, time));
    let filled = match answer.full_in_days {
        Some(days) if days > 0.0 => claim(
            format!("after {}", seconds(days * DAY).into_text()),
            space(context, pool, days * DAY),
            "=",
            disk(answer.owned),
        ),
        Some(_) => claim("now", used_in(0.0), "≥", disk(answer.owned)),
        None => {
            // Long enough for everything to have grown to its size.
            let ever = 1e4 * crate::model::YEAR;
            claim("after 10,000 years", used_in(ever), "≤", disk(answer.owned))
        }
    };
    let number = answer
        .full_in_days
        .map_or_else(|| number::none("days", "never"), number::days);
    section.add(
        Step::new("full in", number)
            .key(key(answer, "full_in_days"))
            .law("when base_used + images + Σ n·(image of a copy + min(disk_size, disk_used + disk_grows·t)) reaches owned", PROJECT)
            .filled(filled)
            .from(context.inputs(&context.guests_on(pool, &["disk_used", "disk_grows", "trims"]))),
    );
}

fn wear(context: &Context, pool: PoolIndex, answer: &DiskAnswer, section: &mut Section) {
    let devices = &context.model.host.disks[pool];
    let factors = write_factors(devices);
    let in_all = || per_day(answer.written_per_day / DAY);
    section.add(
        Step::new(
            "written by guests and host, by their own counters",
            number::per_day(answer.written_per_day),
        )
        .key(key(answer, "written_per_day"))
        .law("base_written + Σ n·written", DEFINITION)
        .filled(written(context, pool))
        .from(
            context.inputs(
                &[
                    context.pool(pool, &["base_written"]),
                    context.guests_on(pool, &["written"]),
                ]
                .concat(),
            ),
        ),
    );
    section.add(
        Step::new(
            "written to all devices, by their own logs",
            number::per_day(answer.device_written_per_day),
        )
        .key(key(answer, "device_written_per_day"))
        .law(
            "written·amplification in the file system·device bytes per byte of the layout",
            "Patterson, Gibson & Katz 1988 for the layout",
        )
        .filled(in_all() * plain(factors.file_system) * plain(factors.layout))
        .from(context.inputs(&context.pool(pool, &["amplification"]))),
    );
    let left = context.model.writes_left(pool);
    let filled = match (left, answer.life_years) {
        (None, _) => Filled::words("endurance is not given"),
        (Some(_), None) => Filled::words("nothing is written"),
        (Some(_), Some(_)) => writes_left(context, pool) / (in_all() * multipliers(devices)),
    };
    let number = answer
        .life_years
        .map_or_else(|| number::none("years", "not known"), number::years);
    section.add(
        Step::new("rated writes used up in", number)
            .key(key(answer, "life_years"))
            .law("max(0, k·(endurance − already_written))/(written·amplification·device bytes per byte·wa_ratio)", "JEDEC JESD218/219")
            .filled(filled)
            .from(context.inputs(&context.pool(pool, &["endurance", "already_written", "wa_ratio"]))),
    );
    let spare = answer.owned / answer.used - 1.0;
    if left.is_some() && answer.used > 0.0 && spare > 0.0 {
        section.add(
            Step::new("ρ, space to spare", number::plain(spare, ""))
                .law("owned/used − 1", DEFINITION)
                .filled(disk(answer.owned) / disk(answer.used) - plain(1.0)),
        );
        section.add(
            Step::new("write amplification at this fill, for comparison", number::plain(endurance::write_amplification(spare), "×"))
                .law("(1 + ρ)/(1 + ρ + W(−(1 + ρ)·e^(−(1 + ρ)))), W of Lambert", "Xiang & Kurkoski 2012, uniform random writes; the rating holds part of it, so only wa_ratio is applied")
                .filled(Filled::words(format!("ρ = {}", plain(spare).into_text()))),
        );
    }
}
