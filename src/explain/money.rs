//! Power, energy and money.

use super::answer::{Section, Step};
use super::context::Context;
use super::step::{Filled, term_or};
use super::symbols::SOFT;
use crate::model::GIB;
use crate::model::cost::running;
use crate::model::number::{Measure, Number, Owner, Read};
use crate::model::power::kwh_per_year;
use crate::model::tape::Term;
use crate::sizing::answer::CostAnswer;
use crate::sizing::host::HostModel;

/// Power and money; empty where neither is given.
pub(super) fn section(context: &Context) -> Section {
    let mut steps = power(context);
    if let Some(cost) = &context.answer.cost {
        steps.extend(energy_cost(context, cost));
        steps.extend(total(context, cost));
    }
    Section::new("Power and money", SOFT, steps)
}

fn power(context: &Context) -> Vec<Step> {
    let watts = |model: &HostModel| model.mean_watts(context.counts).unwrap_or(0.0);
    let worst = context.in_period(context.model.worst_by(watts).period);
    let (Some(answer), Some(watts), Some(average)) = (
        &context.answer.power,
        worst.worked.mean_watts(context.counts),
        context.worked.average_watts(context.counts),
    ) else {
        return Vec::new();
    };
    let each = answer.watts_per_guest;
    let guests = Term::of(context.answer.guests as f64);
    let per_guest = each.map(|_| plain(context, watts.value()) / guests);
    let energy = kwh_per_year(plain(context, average.value()));
    let mut steps = vec![context.worked("power.watts", watts)];
    if !context.model.lab.periods.is_empty() {
        steps.push(context.worked("power over all the time", average));
    }
    steps.extend([
        context.worked("power.kwh_per_year", energy),
        context.step(
            "power.watts_per_guest",
            each,
            term_or(per_guest, "no guest runs"),
        ),
    ]);
    steps
}

/// A number without a unit and without inputs.
fn plain<'a>(context: &Context<'a>, value: f64) -> Term<'a> {
    context.tape.number(value, Measure::Plain)
}

fn energy_cost(context: &Context, cost: &CostAnswer) -> [Step; 3] {
    let (lab, worked) = (context.model.lab, context.worked);
    let own = |key, value| worked.read.key(Owner::Lab, key, value, Measure::Plain);
    let power = context.answer.power.as_ref();
    let energy = power.zip(lab.tariff).map(|(power, tariff)| {
        let energy = plain(context, power.kwh_per_year);
        (energy, own("tariff", tariff))
    });
    let over = |years| {
        let cost = energy.map(|(energy, tariff)| running(years, energy, tariff));
        term_or(cost, "power or tariff is not given")
    };
    let price = cost
        .price
        .map(|price| worked.own("price", price, Measure::Plain));
    let price = term_or(price, "price is not given");
    let step = |id, value: Option<f64>, filled| context.step(id, value, filled);
    [
        step("cost.price", cost.price, price),
        step("cost.running", cost.running, over(own("years", lab.years))),
        step(
            "cost.running_per_year",
            cost.running_per_year,
            over(Term::of(1.0)),
        ),
    ]
}

fn total(context: &Context, cost: &CostAnswer) -> [Step; 3] {
    let given = |value: Option<f64>| value.map(|value| plain(context, value));
    let running = given(cost.running).unwrap_or(Term::of(0.0));
    let total = given(cost.price).map(|price| price + running);
    let total = term_or(total, "price is not given");
    let per = |amount: f64, by, without: &str| {
        if amount > 0.0 {
            let share = given(cost.total).map(|total| total / by);
            term_or(share, "total is not known")
        } else {
            Filled::from(without)
        }
    };
    let guests = context.answer.guests as f64;
    let promised = context.answer.memory.promised;
    let [bytes, gib] = [promised, GIB].map(|size| context.tape.number(size, Measure::Bytes));
    let per_guest = per(guests, plain(context, guests), "no guest runs");
    let per_gib = per(promised, bytes / gib, "no memory is promised");
    let step = |id, value: Option<f64>, filled| context.step(id, value, filled);
    [
        step("cost.total", cost.total, total),
        step("cost.per_guest", cost.per_guest, per_guest),
        step("cost.per_gib", cost.per_gib, per_gib),
    ]
}
