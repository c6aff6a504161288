//! The processor: what guests can have of it, and how long they wait for it.

use super::claim::{Filled, term_or};
use super::context::Context;
use super::step::{DEFINITION, PROJECT};
use super::symbols::SOFT;
use super::{Section, Step, figure};
use crate::model::number::{Measure, Number};
use crate::model::queue::{erlang_b, mean_wait_at, offered, wait_chance};
use crate::model::tape::Term;

const ERLANG: &str = "Erlang C, M/M/c; mean service cpu_slice is an assumption";

/// Supply, threads and the run queue.
pub(super) fn section(context: &Context) -> Section {
    let (worked, cpu) = (context.worked, &context.answer.cpu);
    let mut section = Section::new("The processor").letters(SOFT);
    let total = worked.total_cores;
    section.add(
        Step::new("total of all cores", figure::cores(total.value()))
            .law(
                "Σ cores·speed·(1 + (threads − 1)·smt_gain)",
                "definition; smt_gain common practice, measured means Tuck & Tullsen, PACT 2003",
            )
            .filled(total),
    );
    section.add(
        Step::new("supply", figure::cores(cpu.supply))
            .key("cpu.supply")
            .law("total − base_cores − S·scan_cost", PROJECT)
            .filled(worked.cpu_supply(context.counts)),
    );
    let vcpus = worked.vcpus(context.counts);
    section.add(
        Step::new("vCPUs of all guests", figure::whole(cpu.vcpus, "vCPUs"))
            .key("cpu.vcpus")
            .law("Σ n·vcpus", DEFINITION)
            .filled(vcpus),
    );
    section.add(
        Step::new("hardware threads", figure::whole(cpu.threads, "threads"))
            .key("cpu.threads")
            .law("Σ cores·threads", DEFINITION)
            .filled(worked.threads),
    );
    let each = figure::plain(cpu.vcpus_per_thread, "");
    section.add(
        Step::new("vCPUs per hardware thread", each)
            .key("cpu.vcpus_per_thread")
            .law("vCPUs/hardware threads", DEFINITION)
            .filled(vcpus / worked.threads),
    );
    section.extend(run_queue(context));
    section
}

/// Waits from M/M/c.
fn run_queue(context: &Context) -> Vec<Step> {
    let cpu = &context.answer.cpu;
    let asked = offered_load(context);
    let mut steps = vec![
        Step::new("A, offered load", figure::plain(asked.value(), "erlang"))
            .law("c·mean demand/supply, c hardware threads", ERLANG)
            .filled(asked),
    ];
    let blocked = erlang_b(context.model.threads as u64, asked.value().max(0.0));
    let offered = Measure::Plain.text(asked.value());
    if cpu.wait_chance.is_some() {
        steps.push(
            Step::new("B, chance that all threads are busy when nobody waits", figure::plain(blocked, ""))
                .law("(A^c/c!)/Σ over k ≤ c of A^k/k!, worked out by B(n) = A·B(n − 1)/(n + A·B(n − 1)) from B(0) = 1", "A. K. Erlang, Elektroteknikeren 13, 1917")
                .filled(format!("c = {}, A = {offered}", cpu.threads)),
        );
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
    let figure = cpu
        .wait_chance
        .map_or_else(|| figure::none("share", "no bound"), figure::share);
    steps.push(
        Step::new("C, chance of a wait in the run queue", figure)
            .key("cpu.wait_chance")
            .law("c·B/(c − A·(1 − B)); no bound where A ≥ c", ERLANG)
            .filled(term_or(chance, &unbounded)),
    );
    let figure = cpu
        .mean_wait_s
        .map_or_else(|| figure::none("s", "no bound"), figure::seconds);
    steps.push(
        Step::new("mean wait in the run queue", figure)
            .key("cpu.mean_wait_s")
            .law("C·cpu_slice/(c − A)", ERLANG)
            .filled(mean_wait(context, &unbounded))
            .also(context.policy(&["cpu_slice"])),
    );
    steps
}

/// What the guests ask of the hardware threads, in the mean.
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
