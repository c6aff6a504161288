//! What is reported of each pool beside its limits: fill, growth, written bytes and life.

use super::claim::{Filled, claim};
use super::context::Context;
use super::step::{DEFINITION, PROJECT};
use super::symbols::DISK;
use super::{Section, Step, figure};
use crate::lab::key_path;
use crate::model::number::{Measure, Number};
use crate::model::tape::Term;
use crate::model::{DAY, YEAR, endurance};
use crate::sizing::answer::DiskAnswer;
use crate::sizing::storage::PoolIndex;

/// A section a pool.
pub(super) fn all(context: &Context) -> Vec<Section> {
    let pools = context.answer.disk.iter().enumerate();
    pools
        .map(|(pool, answer)| {
            let mut section = Section::new(format!("Pool {}", answer.name)).letters(DISK);
            section.extend(fill(context, pool, answer));
            section.add(growth(context, pool, answer));
            section.extend(wear(context, pool, answer));
            section.extend(amplification(context, pool, answer));
            section
        })
        .collect()
}

fn key(answer: &DiskAnswer, name: &str) -> String {
    key_path(&["disk", &answer.name, name])
}

fn fill(context: &Context, pool: PoolIndex, answer: &DiskAnswer) -> [Step; 5] {
    let (worked, counts) = (context.worked, context.counts);
    let owned = worked.usable_space(pool);
    let used = worked.space_used(pool, counts, worked.horizon());
    let promised = worked.space_promised(pool, counts);
    let as_one = |term: Term| context.tape.number(term.value(), Measure::DiskBytes);
    [
        Step::new("owned (usable)", figure::disk(answer.owned))
            .key(key(answer, "owned"))
            .law("usable devices·capacity", "Patterson, Gibson & Katz 1988")
            .filled(owned)
            .also(context.pool(pool, &["devices", "layout", "ways"])),
        Step::new("used", figure::disk(answer.used))
            .key(key(answer, "used"))
            .law("base_used + images + Σ n·(image of a copy + min(disk_size, disk_used + disk_grows·disk_horizon)); trims = false: disk_size at once", PROJECT)
            .filled(used),
        Step::new("fill", figure::share(answer.fill))
            .key(key(answer, "fill"))
            .law("used/owned", DEFINITION)
            .filled(as_one(used) / as_one(owned)),
        Step::new("promised", figure::disk(answer.promised))
            .key(key(answer, "promised"))
            .law("Σ n·disk_size", DEFINITION)
            .filled(promised)
            .also(context.guests_on(pool, &["disk"])),
        Step::new(
            "promised over owned",
            figure::share(answer.promised / answer.owned),
        )
        .law("promised/owned", DEFINITION)
        .filled(as_one(promised) / as_one(owned)),
    ]
}

fn growth(context: &Context, pool: PoolIndex, answer: &DiskAnswer) -> Step {
    let used_after = |time: f64| {
        let time = context.tape.number(time, Measure::Seconds);
        context.worked.space_used(pool, context.counts, time)
    };
    let size = |bytes: f64| Measure::DiskBytes.text(bytes);
    let owned = size(answer.owned);
    let filled = match answer.full_in_days {
        Some(days) if days > 0.0 => {
            let place = format!("after {}", Measure::Seconds.text(days * DAY));
            claim(&place, &used_after(days * DAY).formula(), "=", &owned)
        }
        Some(_) => claim("now", &size(used_after(0.0).value()), "≥", &owned),
        None => {
            // Long enough for everything to have grown to its size.
            let used = size(used_after(1e4 * YEAR).value());
            claim("after 10,000 years", &used, "≤", &owned)
        }
    };
    let figure = answer
        .full_in_days
        .map_or_else(|| figure::none("days", "never"), figure::days);
    Step::new("full in", figure)
        .key(key(answer, "full_in_days"))
        .law("when base_used + images + Σ n·(image of a copy + min(disk_size, disk_used + disk_grows·t)) reaches owned", PROJECT)
        .filled(filled)
        .also(context.guests_on(pool, &["disk_used", "disk_grows", "trims"]))
}

fn wear(context: &Context, pool: PoolIndex, answer: &DiskAnswer) -> [Step; 3] {
    let worked = context.worked;
    let factors = worked.write_factors(pool);
    let written = worked.written(pool, context.counts);
    let left = worked.writes_left(pool);
    let life: Filled = match (left, answer.life_years) {
        (None, _) => "endurance is not given".into(),
        (Some(_), None) => "nothing is written".into(),
        (Some(left), Some(_)) => endurance::life(left, written, factors).into(),
    };
    let years = answer
        .life_years
        .map_or_else(|| figure::none("years", "not known"), figure::years);
    [
        Step::new(
            "written by guests and host, by their own counters",
            figure::per_day(answer.written_per_day),
        )
        .key(key(answer, "written_per_day"))
        .law("base_written + Σ n·written", DEFINITION)
        .filled(written),
        Step::new(
            "written to all devices, by their own logs",
            figure::per_day(answer.device_written_per_day),
        )
        .key(key(answer, "device_written_per_day"))
        .law(
            "written·amplification in the file system·device bytes per byte of the layout",
            "Patterson, Gibson & Katz 1988 for the layout",
        )
        .filled(written * factors.file_system * factors.layout),
        Step::new("rated writes used up in", years)
            .key(key(answer, "life_years"))
            .law("max(0, k·(endurance − already_written))/(written·amplification·device bytes per byte·wa_ratio)", "JEDEC JESD218/219")
            .filled(life)
            .also(context.pool(pool, &["endurance", "already_written", "wa_ratio"])),
    ]
}

/// Write amplification inside the device at the pool's fill, for comparison.
fn amplification(context: &Context, pool: PoolIndex, answer: &DiskAnswer) -> Vec<Step> {
    let spare = answer.owned / answer.used - 1.0;
    if context.model.writes_left(pool).is_none() || answer.used <= 0.0 || spare <= 0.0 {
        return Vec::new();
    }
    let [owned, used] =
        [answer.owned, answer.used].map(|size| context.tape.number(size, Measure::DiskBytes));
    let inside = endurance::write_amplification(spare);
    vec![
        Step::new("ρ, space to spare", figure::plain(spare, ""))
            .law("owned/used − 1", DEFINITION)
            .filled(owned / used - Term::of(1.0)),
        Step::new("write amplification at this fill, for comparison", figure::plain(inside, "×"))
            .law("(1 + ρ)/(1 + ρ + W(−(1 + ρ)·e^(−(1 + ρ)))), W of Lambert", "Xiang & Kurkoski 2012, uniform random writes; the rating holds part of it, so only wa_ratio is applied")
            .filled(format!("ρ = {}", Measure::Plain.text(spare))),
    ]
}
