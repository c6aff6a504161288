//! Power, energy and money.

use super::context::Context;
use super::demand::power;
use super::filled::{Filled, bytes, count, plain};
use super::step::DEFINITION;
use super::symbols::SOFT;
use super::{Section, Step, number};
use crate::model::GIB;
use crate::model::power::KWH_PER_WATT_YEAR;

/// Power and money; empty where neither is given.
pub(super) fn section(context: &Context) -> Section {
    let mut section = Section::new("Power and money").letters(SOFT);
    let lab = context.model.lab;
    if let Some(answer) = &context.answer.power {
        section.add(
            Step::new("watts at the wall, busy hour", number::watts(answer.watts))
                .key("power.watts")
                .law(
                    "idle + (busy − idle)·min(1, (mean demand + base_cores + S·scan_cost)/total) + extra",
                    "Fan, Weber & Barroso, ISCA 2007, linear model",
                )
                .filled(power(context))
                .from(context.inputs(&context.host(&["power.idle", "power.busy", "power.extra"]))),
        );
        section.add(
            Step::new(
                "energy a year, an upper bound",
                number::plain(answer.kwh_per_year, "kWh"),
            )
            .key("power.kwh_per_year")
            .law(
                "watts·8.76",
                "definition, the busy hour's mean load all year",
            )
            .filled(plain(answer.watts) * plain(KWH_PER_WATT_YEAR)),
        );
        let each = answer.watts_per_guest;
        section.add(
            Step::new(
                "watts per guest",
                each.map_or_else(
                    || number::none("W", "no guest runs"),
                    |watts| number::plain(watts, "W"),
                ),
            )
            .key("power.watts_per_guest")
            .law("watts/guests", DEFINITION)
            .filled(match each {
                Some(_) => plain(answer.watts) / count(context.answer.guests),
                None => Filled::words("no guest runs"),
            }),
        );
    }
    let Some(cost) = &context.answer.cost else {
        return section;
    };
    let money = |value: Option<f64>| {
        value.map_or_else(
            || number::none("money", "not known"),
            |value| number::money(value, lab),
        )
    };
    let unknown = |why: &str| Filled::words(why);
    section.add(
        Step::new("price", money(cost.price))
            .key("cost.price")
            .law("price of the host", DEFINITION)
            .filled(
                cost.price
                    .map_or_else(|| unknown("price is not given"), plain),
            )
            .from(context.inputs(&context.host(&["price"]))),
    );
    let energy = context.answer.power.as_ref().zip(lab.tariff);
    section.add(
        Step::new("energy cost over the horizon", money(cost.running))
            .key("cost.running")
            .law("years·kWh·tariff", DEFINITION)
            .filled(energy.map_or_else(
                || unknown("power or tariff is not given"),
                |(power, tariff)| plain(lab.years) * plain(power.kwh_per_year) * plain(tariff),
            ))
            .from(context.inputs(&["lab.years".to_owned(), "lab.tariff".to_owned()])),
    );
    section.add(
        Step::new("energy cost of a year", money(cost.running_per_year))
            .key("cost.running_per_year")
            .law("kWh·tariff", DEFINITION)
            .filled(energy.map_or_else(
                || unknown("power or tariff is not given"),
                |(power, tariff)| plain(power.kwh_per_year) * plain(tariff),
            )),
    );
    let total = match (cost.price, cost.running) {
        (Some(price), Some(running)) => plain(price) + plain(running),
        (Some(price), None) => plain(price),
        (None, _) => unknown("price is not given"),
    };
    section.add(
        Step::new("total", money(cost.total))
            .key("cost.total")
            .law("price + energy cost, as far as known", DEFINITION)
            .filled(total),
    );
    let guests = context.answer.guests;
    let promised = context.answer.memory.promised;
    let per = |by: Filled| {
        cost.total
            .map_or_else(|| unknown("total is not known"), |total| plain(total) / by)
    };
    section.add(
        Step::new("total per guest", money(cost.per_guest))
            .key("cost.per_guest")
            .law("total/guests", DEFINITION)
            .filled(if guests > 0 {
                per(count(guests))
            } else {
                unknown("no guest runs")
            }),
    );
    section.add(
        Step::new("total per GiB of memory promised", money(cost.per_gib))
            .key("cost.per_gib")
            .law("total/(promised/1 GiB)", DEFINITION)
            .filled(if promised > 0.0 {
                per(bytes(promised) / bytes(GIB))
            } else {
                unknown("no memory is promised")
            }),
    );
    section
}
