//! When the host is full if guests keep coming.

use super::answer::{Section, Step};
use super::context::Context;
use super::counts::claim;
use super::symbols::MEMORY;
use crate::model::growth::MONTH;
use crate::model::number::Measure;
use crate::sizing::answer::ResourceAnswer;
use crate::sizing::growth::after;
use crate::unit::format;

/// The first date of all resources, and what the host costs until then.
pub(super) fn section(context: &Context) -> Section {
    let steps = context
        .answer
        .full_in
        .as_ref()
        .map_or_else(Vec::new, |full| {
            let step = |id, value: Option<f64>, filled: String| context.step(id, value, filled);
            let dates = context
                .answer
                .resources
                .iter()
                .filter_map(|one| one.full_in_months);
            let dates: Vec<String> = dates.map(|months| Measure::Plain.text(months)).collect();
            let first = match dates.as_slice() {
                [] => "no resource passes its limit within 20 years".to_owned(),
                dates => format!("min({})", dates.join(", ")),
            };
            let price = full
                .price_per_month
                .zip(context.model.host.price)
                .zip(full.months);
            let price = price.map_or_else(
                || "no price, or no such date".to_owned(),
                |((_, price), months)| {
                    let [price, months] = [price, months].map(|value| Measure::Plain.text(value));
                    format!("{price}/{months}")
                },
            );
            vec![
                step("full_in.months", full.months, first),
                step(
                    "full_in.guests",
                    Some(full.guests as f64),
                    guests(context, full.months),
                ),
                step("full_in.price_per_month", full.price_per_month, price),
            ]
        });
    Section::new("When it is full", MEMORY, steps)
}

/// The guests of each profile that are there then, as a sum.
fn guests(context: &Context, months: Option<f64>) -> String {
    let first = context.answer.resources.first();
    let months = months.unwrap_or(20.0 * 12.0);
    let there = first.and_then(|one| after(context.model, one.resource, months));
    let counts = there.map_or_else(Vec::new, |(counts, _)| counts);
    let texts: Vec<String> = counts.iter().map(|n| format::count(*n)).collect();
    texts.join(" + ")
}

/// The date of one resource: past its limit then, and a moment before within it.
pub(super) fn date(context: &Context, one: &ResourceAnswer) -> Option<Step> {
    let months = one.full_in_months?;
    let load = |months: f64| {
        let (_, load) = after(context.model, one.resource, months)?;
        Some(Measure::Share.text(load))
    };
    let place = format!("after {}", format::months(months));
    let mut filled = claim(&place, &load(months)?, ">", "100 %");
    if months > 0.0 {
        let before = load(months - 2.0 / MONTH)?;
        filled = format!("{}; {filled}", claim("just before", &before, "≤", "100 %"));
    }
    Some(context.step("resources.{}.full_in_months", months, filled))
}
