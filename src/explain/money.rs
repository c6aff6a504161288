//! Power, energy and money.

use super::claim::term_or;
use super::context::Context;
use super::step::DEFINITION;
use super::symbols::SOFT;
use super::{Section, Step, figure};
use crate::model::GIB;
use crate::model::cost::running;
use crate::model::number::{Measure, Number, Owner, Read};
use crate::model::power::kwh_per_year;
use crate::model::tape::Term;
use crate::sizing::answer::CostAnswer;

/// Power and money; empty where neither is given.
pub(super) fn section(context: &Context) -> Section {
    let mut section = Section::new("Power and money").letters(SOFT);
    section.extend(power(context));
    if let Some(cost) = &context.answer.cost {
        section.extend(energy_cost(context, cost));
        section.extend(total(context, cost));
    }
    section
}

fn power(context: &Context) -> Vec<Step> {
    let (Some(answer), Some(watts)) = (
        &context.answer.power,
        context.worked.mean_watts(context.counts),
    ) else {
        return Vec::new();
    };
    let each = answer.watts_per_guest;
    let per_guest = each.map_or_else(
        || figure::none("W", "no guest runs"),
        |watts| figure::plain(watts, "W"),
    );
    let guests = context.answer.guests as f64;
    let each = each.map(|_| plain(context, watts.value()) / Term::of(guests));
    vec![
        Step::new("watts at the wall, busy hour", figure::watts(answer.watts))
            .key("power.watts")
            .law(
                "idle + (busy − idle)·min(1, (mean demand + base_cores + S·scan_cost)/total) + extra",
                "Fan, Weber & Barroso, ISCA 2007, linear model",
            )
            .filled(watts),
        Step::new(
            "energy a year, an upper bound",
            figure::plain(answer.kwh_per_year, "kWh"),
        )
        .key("power.kwh_per_year")
        .law(
            "watts·8.76",
            "definition, the busy hour's mean load all year",
        )
        .filled(kwh_per_year(plain(context, answer.watts))),
        Step::new("watts per guest", per_guest)
            .key("power.watts_per_guest")
            .law("watts/guests", DEFINITION)
            .filled(term_or(each, "no guest runs")),
    ]
}

/// A number without a unit that stands for itself.
fn plain<'a>(context: &Context<'a>, value: f64) -> Term<'a> {
    context.tape.number(value, Measure::Plain)
}

fn money(context: &Context, value: Option<f64>) -> figure::Figure {
    value.map_or_else(
        || figure::none("money", "not known"),
        |value| figure::money(value, context.model.lab),
    )
}

fn energy_cost(context: &Context, cost: &CostAnswer) -> [Step; 3] {
    let lab = context.model.lab;
    let own = |key, value| {
        context
            .worked
            .read
            .key(Owner::Lab, key, value, Measure::Plain)
    };
    let power = context.answer.power.as_ref();
    let energy = power.zip(lab.tariff).map(|(power, tariff)| {
        let energy = plain(context, power.kwh_per_year);
        (energy, own("tariff", tariff))
    });
    let over = |years| energy.map(|(energy, tariff)| running(years, energy, tariff));
    let unknown = "power or tariff is not given";
    let price = cost
        .price
        .map(|price| context.worked.own("price", price, Measure::Plain));
    [
        Step::new("price", money(context, cost.price))
            .key("cost.price")
            .law("price of the host", DEFINITION)
            .filled(term_or(price, "price is not given")),
        Step::new("energy cost over the horizon", money(context, cost.running))
            .key("cost.running")
            .law("years·kWh·tariff", DEFINITION)
            .filled(term_or(over(own("years", lab.years)), unknown))
            .also(vec!["lab.years".to_owned(), "lab.tariff".to_owned()]),
        Step::new(
            "energy cost of a year",
            money(context, cost.running_per_year),
        )
        .key("cost.running_per_year")
        .law("kWh·tariff", DEFINITION)
        .filled(term_or(over(Term::of(1.0)), unknown)),
    ]
}

fn total(context: &Context, cost: &CostAnswer) -> [Step; 3] {
    let given = |value: Option<f64>| value.map(|value| plain(context, value));
    let running = given(cost.running).unwrap_or(Term::of(0.0));
    let total = given(cost.price).map(|price| price + running);
    let guests = context.answer.guests;
    let promised = context.answer.memory.promised;
    let per = |by| given(cost.total).map(|total| total / by);
    let gib = [promised, GIB].map(|size| context.tape.number(size, Measure::Bytes));
    [
        Step::new("total", money(context, cost.total))
            .key("cost.total")
            .law("price + energy cost, as far as known", DEFINITION)
            .filled(term_or(total, "price is not given")),
        Step::new("total per guest", money(context, cost.per_guest))
            .key("cost.per_guest")
            .law("total/guests", DEFINITION)
            .filled(if guests > 0 {
                term_or(per(plain(context, guests as f64)), "total is not known")
            } else {
                "no guest runs".into()
            }),
        Step::new(
            "total per GiB of memory promised",
            money(context, cost.per_gib),
        )
        .key("cost.per_gib")
        .law("total/(promised/1 GiB)", DEFINITION)
        .filled(if promised > 0.0 {
            term_or(per(gib[0] / gib[1]), "total is not known")
        } else {
            "no memory is promised".into()
        }),
    ]
}
