//! The processor: what guests can have of it, and how long they wait for it.

use super::answer::{Section, Step};
use super::context::{Context, Subject};
use super::step::{Filled, term_or};
use super::symbols::SOFT;
use crate::model::number::{Measure, Number};
use crate::model::queue::{erlang_b, mean_wait_at, offered, wait_chance};
use crate::model::tape::Term;

/// Supply, threads and the run queue.
pub(super) fn section(context: &Context) -> Section {
    let worked = context.worked;
    let vcpus = worked.vcpus(context.counts);
    let supply = worked.cpu_supply(context.counts);
    let step = |id, term| context.worked(id, Subject::Host, term);
    let mut steps = vec![
        step("all cores", worked.total_cores),
        step("cpu.supply", supply),
        step("cpu.vcpus", vcpus),
        step("cpu.threads", worked.threads),
        step("cpu.vcpus_per_thread", vcpus / worked.threads),
    ];
    steps.extend(run_queue(context));
    Section::new("The processor", SOFT, steps)
}

/// Waits from M/M/c.
fn run_queue(context: &Context) -> Vec<Step> {
    let cpu = &context.answer.cpu;
    let asked = offered_load(context);
    let mut steps = vec![context.worked("offered load", Subject::Host, asked)];
    let blocked = erlang_b(context.model.threads as u64, asked.value().max(0.0));
    let offered = Measure::Plain.text(asked.value());
    if cpu.wait_chance.is_some() {
        let filled = format!("c = {}, A = {offered}", cpu.threads);
        steps.push(context.step("blocking chance", Subject::Host, blocked, filled));
    }
    let unbounded = if cpu.supply > 0.0 {
        format!("A = {offered} ≥ c = {}", cpu.threads)
    } else {
        "no supply".to_owned()
    };
    let chance = cpu.wait_chance.map(|_| {
        let blocked = context.tape.number(blocked, Measure::Plain);
        wait_chance(context.worked.threads, asked, blocked)
    });
    let chance = term_or(chance, &unbounded);
    let wait = mean_wait(context, &unbounded);
    steps.extend([
        context.step("cpu.wait_chance", Subject::Host, cpu.wait_chance, chance),
        context.step("cpu.mean_wait_s", Subject::Host, cpu.mean_wait_s, wait),
    ]);
    steps
}

/// Offered load of the hardware threads at the mean demand.
fn offered_load<'a>(context: &Context<'a>) -> Term<'a> {
    let worked = context.worked;
    let supply = worked.cpu_supply(context.counts).named(Measure::Plain);
    offered(worked.threads, worked.mean_cpu(context.counts), supply).named(Measure::Plain)
}

/// The mean wait with its numbers, or why there is none.
pub(super) fn mean_wait<'a>(context: &Context<'a>, unbounded: &str) -> Filled<'a> {
    let chance = context.answer.cpu.wait_chance;
    let wait = chance.map(|chance| {
        let slice = context.model.lab.policy.cpu_slice;
        mean_wait_at(
            context.tape.number(chance, Measure::Share),
            context.worked.policy("cpu_slice", slice, Measure::Seconds),
            context.worked.threads,
            offered_load(context),
        )
    });
    term_or(wait, unbounded)
}
