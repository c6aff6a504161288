//! The processor: what guests can have of it, and how long they wait for it.

use super::context::Context;
use super::filled::{Filled, count, plain, seconds, share, sum};
use super::step::{DEFINITION, PROJECT};
use super::symbols::SOFT;
use super::{Section, Step, number};
use crate::model::queue::erlang_b;

const ERLANG: &str = "Erlang C, M/M/c; mean service cpu_slice is an assumption";

/// Supply, threads and the run queue.
pub(super) fn section(context: &Context) -> Section {
    let model = context.model;
    let cpu = &context.answer.cpu;
    let mut section = Section::new("The processor").letters(SOFT);
    section.add(
        Step::new("total of all cores", number::cores(model.total_cores))
            .law(
                "Σ cores·speed·(1 + (threads − 1)·smt_gain)",
                "definition; smt_gain common practice, measured means Tuck & Tullsen, PACT 2003",
            )
            .filled(total(context))
            .from(context.inputs(&context.host(&["cpu.groups"]))),
    );
    section.add(
        Step::new("supply", number::cores(cpu.supply))
            .key("cpu.supply")
            .law("total − base_cores − S·scan_cost", PROJECT)
            .filled(
                plain(model.total_cores)
                    - plain(model.host.cpu.base_cores)
                    - plain(model.scan_load(context.counts)),
            )
            .from(context.inputs(&context.host(&["cpu.base_cores"]))),
    );
    section.add(
        Step::new("vCPUs of all guests", number::whole(cpu.vcpus, "vCPUs"))
            .key("cpu.vcpus")
            .law("Σ n·vcpus", DEFINITION)
            .filled(context.sum(|guest, _| count(guest.vcpus)))
            .from(context.inputs(&context.every_guest(&["vcpus"]))),
    );
    section.add(
        Step::new("hardware threads", number::whole(cpu.threads, "threads"))
            .key("cpu.threads")
            .law("Σ cores·threads", DEFINITION)
            .filled(sum(model
                .host
                .cpu
                .groups
                .iter()
                .map(|group| count(group.cores) * count(group.threads)))),
    );
    section.add(
        Step::new(
            "vCPUs per hardware thread",
            number::plain(cpu.vcpus_per_thread, ""),
        )
        .key("cpu.vcpus_per_thread")
        .law("vCPUs/hardware threads", DEFINITION)
        .filled(plain(cpu.vcpus) / plain(cpu.threads)),
    );
    run_queue(context, &mut section);
    section
}

/// Throughput of all groups.
pub(super) fn total(context: &Context) -> Filled {
    let groups = context.model.host.cpu.groups.iter();
    sum(groups.map(|group| {
        let more = plain(1.0) + count(group.threads - 1) * plain(group.smt_gain);
        count(group.cores) * plain(group.speed) * more
    }))
}

/// Waits from M/M/c.
fn run_queue(context: &Context, section: &mut Section) {
    let model = context.model;
    let cpu = &context.answer.cpu;
    let demand = model.cpu_demand(context.counts).mean();
    let offered = model.threads * demand / cpu.supply;
    section.add(
        Step::new("A, offered load", number::plain(offered, "erlang"))
            .law("c·mean demand/supply, c hardware threads", ERLANG)
            .filled(plain(cpu.threads) * plain(demand) / plain(cpu.supply)),
    );
    let bounded = cpu.wait_chance.zip(cpu.mean_wait_s);
    let blocked = erlang_b(model.threads as u64, offered.max(0.0));
    if bounded.is_some() {
        section.add(
            Step::new("B, chance that all threads are busy when nobody waits", number::plain(blocked, ""))
                .law("(A^c/c!)/Σ over k ≤ c of A^k/k!, worked out by B(n) = A·B(n − 1)/(n + A·B(n − 1)) from B(0) = 1", "A. K. Erlang, Elektroteknikeren 13, 1917")
                .filled(Filled::words(format!("c = {}, A = {}", cpu.threads, plain(offered).into_text()))),
        );
    }
    let without = || {
        if cpu.supply > 0.0 {
            Filled::words(format!(
                "A = {} ≥ c = {}",
                plain(offered).into_text(),
                cpu.threads
            ))
        } else {
            Filled::words("no supply")
        }
    };
    let chance = || {
        plain(cpu.threads) * plain(blocked)
            / (plain(cpu.threads) - plain(offered) * (plain(1.0) - plain(blocked)))
    };
    let number = cpu
        .wait_chance
        .map_or_else(|| number::none("share", "no bound"), number::share);
    section.add(
        Step::new("C, chance of a wait in the run queue", number)
            .key("cpu.wait_chance")
            .law("c·B/(c − A·(1 − B)); no bound where A ≥ c", ERLANG)
            .filled(bounded.map_or_else(without, |_| chance())),
    );
    let number = cpu
        .mean_wait_s
        .map_or_else(|| number::none("s", "no bound"), number::seconds);
    section.add(
        Step::new("mean wait in the run queue", number)
            .key("cpu.mean_wait_s")
            .law("C·cpu_slice/(c − A)", ERLANG)
            .filled(bounded.map_or_else(without, |_| mean_wait(context)))
            .from(context.inputs(&context.policy(&["cpu_slice"]))),
    );
}

/// The mean wait with its numbers.
pub(super) fn mean_wait(context: &Context) -> Filled {
    let model = context.model;
    let cpu = &context.answer.cpu;
    let Some(chance) = cpu.wait_chance else {
        return Filled::words("no bound");
    };
    let offered = model.threads * model.cpu_demand(context.counts).mean() / cpu.supply;
    share(chance) * seconds(model.lab.policy.cpu_slice) / (plain(cpu.threads) - plain(offered))
}
