//! The processor: what guests can have of it, and how long they wait for it.

use super::answer::{Section, Step};
use super::context::Context;
use super::step::Filled;
use super::symbols::SOFT;
use crate::model::finite_source::offered;
use crate::model::number::{Measure, Number};
use crate::model::tape::Term;
use crate::sizing::resource::Resource;

/// Supply, threads and the run queue.
pub(super) fn section(context: &Context) -> Section {
    let worked = context.worked;
    let vcpus = worked.vcpus(context.counts);
    let supply = worked.cpu_supply(context.counts);
    let mut steps = vec![
        context.worked("all cores", worked.total_cores),
        context.worked("cpu.supply", supply),
        context.worked("cpu.vcpus", vcpus),
        context.worked("cpu.threads", worked.threads),
        context.worked("cpu.vcpus_per_thread", vcpus / worked.threads),
    ];
    steps.extend(run_queue(context));
    Section::new("The processor", SOFT, steps)
}

/// Waits of the finite-source queue, at the mean demand and at the accepted worst moment.
fn run_queue(context: &Context) -> Vec<Step> {
    let cpu = &context.answer.cpu;
    if cpu.supply <= 0.0 {
        let keys = [
            "cpu.usual_wait_chance",
            "cpu.usual_mean_wait_s",
            "cpu.wait_chance",
            "cpu.mean_wait_s",
        ];
        return keys.map(|key| context.step(key, None, "no supply")).into();
    }
    let usual = usual_load(context);
    let worst = worst_load(context);
    let step = |key, value: Option<f64>, load: Term| context.step(key, value, queue(context, load));
    vec![
        context.worked("offered load", usual),
        step("cpu.usual_wait_chance", cpu.usual_wait_chance, usual),
        step("cpu.usual_mean_wait_s", cpu.usual_mean_wait_s, usual),
        context.worked("offered load, worst moment", worst),
        step("cpu.wait_chance", cpu.wait_chance, worst),
        step("cpu.mean_wait_s", cpu.mean_wait_s, worst),
    ]
}

/// Offered load of the hardware threads at the mean demand.
fn usual_load<'a>(context: &Context<'a>) -> Term<'a> {
    offered_load(context, context.worked.mean_cpu(context.counts))
}

/// Offered load of the hardware threads at the accepted worst moment.
fn worst_load<'a>(context: &Context<'a>) -> Term<'a> {
    let constraint = Resource::Cpu.constraint(context.model, context.counts);
    let demand = constraint.map_or(0.0, |constraint| constraint.at_risk());
    offered_load(context, context.tape.number(demand, Measure::Plain))
}

fn offered_load<'a>(context: &Context<'a>, demand: Term<'a>) -> Term<'a> {
    let worked = context.worked;
    let supply = worked.cpu_supply(context.counts).named(Measure::Plain);
    offered(worked.threads, demand, supply).named(Measure::Plain)
}

/// What the queue is solved for: threads, vCPUs, load and burst.
fn queue(context: &Context, load: Term) -> String {
    let [threads, vcpus, load] = [
        context.model.threads,
        context.model.vcpus(context.counts),
        load.value(),
    ]
    .map(|number| Measure::Plain.text(number));
    let burst = Measure::Seconds.text(context.model.lab.policy.cpu_slice);
    format!("c = {threads}, K = {vcpus}, A = {load}, s = {burst}")
}

/// What the mean wait at the accepted worst moment is solved for, or why there is none.
pub(super) fn mean_wait<'a>(context: &Context<'a>, unbounded: &str) -> Filled<'a> {
    if context.model.cpu_supply(context.counts) > 0.0 {
        queue(context, worst_load(context)).into()
    } else {
        unbounded.into()
    }
}
