//! What is reported of each pool beside its limits: fill, growth, written bytes and life.

use super::answer::{Section, Step};
use super::context::{Context, Subject};
use super::counts::claim;
use super::step::Filled;
use super::symbols::DISK;
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
            let context = context.of(Subject::Pool(pool, &answer.name));
            let mut steps = fill(&context, pool);
            steps.push(growth(&context, pool, answer));
            steps.extend(wear(&context, pool, answer));
            steps.extend(amplification(&context, pool, answer));
            Section::new(format!("Pool {}", answer.name), DISK, steps)
        })
        .collect()
}

fn fill(context: &Context, pool: PoolIndex) -> Vec<Step> {
    let (worked, counts) = (context.worked, context.counts);
    let owned = worked.usable_space(pool);
    let used = worked.space_used(pool, counts, worked.horizon());
    let promised = worked.space_promised(pool, counts);
    let of_owned = |term: Term| {
        let [part, whole] =
            [term, owned].map(|term| context.tape.number(term.value(), Measure::DiskBytes));
        part / whole
    };
    let steps = [
        ("disk.{}.owned", owned),
        ("disk.{}.used", used),
        ("disk.{}.fill", of_owned(used)),
        ("disk.{}.promised", promised),
        ("thin provisioning", of_owned(promised)),
    ];
    steps.map(|(id, term)| context.worked(id, term)).into()
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
    context.step("disk.{}.full_in_days", answer.full_in_days, filled)
}

fn wear(context: &Context, pool: PoolIndex, answer: &DiskAnswer) -> [Step; 3] {
    let worked = context.worked;
    let factors = worked.write_factors(pool);
    let written = worked.written(pool, context.counts);
    let life: Filled = match (worked.writes_left(pool), answer.life_years) {
        (None, _) => "endurance is not given".into(),
        (Some(_), None) => "nothing is written".into(),
        (Some(left), Some(_)) => endurance::life(left, written, factors).into(),
    };
    let to_devices = written * factors.file_system * factors.layout;
    let per_day = |id, value: f64, term: Term| context.step(id, value, term);
    [
        per_day("disk.{}.written_per_day", answer.written_per_day, written),
        per_day(
            "disk.{}.device_written_per_day",
            answer.device_written_per_day,
            to_devices,
        ),
        context.step("disk.{}.life_years", answer.life_years, life),
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
    let filled = format!("ρ = {}", Measure::Plain.text(spare));
    vec![
        context.worked("space to spare", owned / used - Term::of(1.0)),
        context.step("write amplification", inside, filled),
    ]
}
