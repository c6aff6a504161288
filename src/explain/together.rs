//! What follows from the memory of all guests: what sharing saves, where use settles, what was promised.

use super::context::Context;
use super::step::{DEFINITION, PROJECT};
use super::{Section, Step, figure};
use crate::lab::Mode;
use crate::model::footprint::Age;
use crate::model::scanner::Scan;
use crate::model::tape::Term;
use crate::sizing::memory::Activity;

/// Memory of all guests together.
pub(super) fn section(context: &Context) -> Section {
    let answer = &context.answer.memory;
    let mut section = Section::new("Memory of all guests together");
    section.add(
        Step::new("saved by page sharing", figure::bytes(answer.shared_saved))
            .key("memory.shared_saved")
            .law(
                "mean memory with page sharing off − mean memory",
                "definition of this project; negative where bookkeeping costs more",
            )
            .filled(mean(context, Scan::Off) - mean(context, context.model.counted_scan())),
    );
    section.extend(settled(context));
    section.add(scan_load(context));
    let promised = context.worked.promised(context.counts);
    section.add(
        Step::new("assigned (promised)", figure::bytes(answer.promised))
            .key("memory.promised")
            .law("Σ n·memory", DEFINITION)
            .filled(promised),
    );
    section.add(
        Step::new("overcommit", figure::plain(answer.overcommit, "×"))
            .key("memory.overcommit")
            .law("assigned/visible", DEFINITION)
            .filled(promised / context.worked.visible),
    );
    section
}

/// Mean memory of the guests at a speed of the scanner.
fn mean<'a>(context: &Context<'a>, scan: Scan) -> Term<'a> {
    let worked = context.worked;
    let sharing = worked.sharing(context.counts, Age::LivedIn, scan);
    let load = worked.memory(context.counts, Age::LivedIn, &sharing);
    worked.mean_memory(context.counts, &load)
}

/// Where the mean use of visible memory settles; an adaptive scanner hovers at its threshold.
fn settled(context: &Context) -> Vec<Step> {
    let worked = context.worked;
    let mut steps = Vec::new();
    let formula = if context.model.host.merging.mode == Mode::Adaptive {
        let resident = worked.resident(context.counts, Age::LivedIn);
        let name = "resident, merged pages counted in full";
        steps.push(
            Step::new(name, figure::bytes(resident.value()))
                .law("Σ n·(o + ti)", PROJECT)
                .filled(resident)
                .also(context.host(&["merging.threshold"])),
        );
        if worked.may_rest(context.counts, Age::LivedIn) {
            "min(unmerged, max(merged at the fastest, min((1 − threshold)·visible, unmerged))), as resident + threshold·visible < visible; each base + file_cache + mean memory"
        } else {
            "min(unmerged, max(merged at the fastest, min((1 − threshold)·visible, merged at the slowest))), as resident + threshold·visible ≥ visible; each base + file_cache + mean memory"
        }
    } else {
        "base + file_cache + mean memory"
    };
    let value = figure::bytes(context.answer.memory.settled);
    steps.push(
        Step::new("settled use of visible memory", value)
            .key("memory.settled")
            .law(
                formula,
                "definition of this project; default configuration of the public tuning daemon",
            )
            .filled(worked.settled_used(context.counts, Age::LivedIn, Activity::Mean)),
    );
    steps
}

/// Processor time of the scanner.
fn scan_load(context: &Context) -> Step {
    let load = context.worked.scan_load(context.counts);
    Step::new("processor time of the scanner", figure::cores(load.value()))
        .law(
            "S·scan_cost, an adaptive scanner at its fastest; 0 while it rests",
            "scan_cost measured for this project",
        )
        .filled(load)
        .also(context.host(&["merging.scan_cost"]))
}
