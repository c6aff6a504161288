//! What follows from the memory of all guests: what sharing saves, where use settles, what was promised.

use super::context::Context;
use super::filled::{Filled, bytes, max, min, plain, share};
use super::step::{DEFINITION, PROJECT};
use super::{Section, Step, number};
use crate::lab::Mode;
use crate::model::footprint::Age;
use crate::model::scanner::Scan;
use crate::model::scanner::may_rest;

/// Memory of all guests together.
pub(super) fn section(context: &Context) -> Section {
    let answer = &context.answer.memory;
    let mut section = Section::new("Memory of all guests together");
    section.add(
        Step::new("saved by page sharing", number::bytes(answer.shared_saved))
            .key("memory.shared_saved")
            .law(
                "mean memory with page sharing off − mean memory",
                "definition of this project; negative where bookkeeping costs more",
            )
            .filled(
                bytes(mean(context, Scan::Off))
                    - bytes(mean(context, context.model.counted_scan())),
            ),
    );
    settled(context, &mut section);
    section.add(
        Step::new("assigned (promised)", number::bytes(answer.promised))
            .key("memory.promised")
            .law("Σ n·memory", DEFINITION)
            .filled(context.sum(|guest, _| bytes(guest.memory))),
    );
    section.add(
        Step::new("overcommit", number::plain(answer.overcommit, "×"))
            .key("memory.overcommit")
            .law("assigned/visible", DEFINITION)
            .filled(bytes(answer.promised) / bytes(answer.visible)),
    );
    section
}

/// Mean memory of the guests at a speed of the scanner.
fn mean(context: &Context, scan: Scan) -> f64 {
    let sharing = context.model.sharing(context.counts, Age::LivedIn, scan);
    let load = context.model.memory(context.counts, Age::LivedIn, &sharing);
    context.model.mean_memory(context.counts, &load)
}

/// Where the mean use of visible memory settles; an adaptive scanner hovers at its threshold.
fn settled(context: &Context, section: &mut Section) {
    let model = context.model;
    let memory = &model.host.memory;
    let merging = &model.host.merging;
    let used = |scan| bytes(memory.base) + bytes(memory.file_cache) + bytes(mean(context, scan));
    let (formula, filled) = if merging.mode == Mode::Adaptive {
        let resident = model.resident(context.counts, Age::LivedIn);
        section.add(
            Step::new(
                "resident, merged pages counted in full",
                number::bytes(resident),
            )
            .law("Σ n·(o + ti)", PROJECT)
            .filled(context.sum(|_, f| bytes(f.overhead) + bytes(f.idle)))
            .from(context.inputs(&context.host(&["merging.threshold"]))),
        );
        let rests = may_rest(resident, model.visible, merging.threshold);
        let low = if rests { Scan::Off } else { Scan::Least };
        let ceiling = (plain(1.0) - share(merging.threshold)) * bytes(model.visible);
        let filled = min([
            used(Scan::Off),
            max([used(Scan::Steady), min([ceiling, used(low)])]),
        ]);
        let formula = if rests {
            "min(unmerged, max(merged at the fastest, min((1 − threshold)·visible, unmerged))), as resident + threshold·visible < visible; each base + file_cache + mean memory"
        } else {
            "min(unmerged, max(merged at the fastest, min((1 − threshold)·visible, merged at the slowest))), as resident + threshold·visible ≥ visible; each base + file_cache + mean memory"
        };
        (formula, filled)
    } else {
        ("base + file_cache + mean memory", used(Scan::Steady))
    };
    section.add(
        Step::new(
            "settled use of visible memory",
            number::bytes(context.answer.memory.settled),
        )
        .key("memory.settled")
        .law(
            formula,
            "definition of this project; default configuration of the public tuning daemon",
        )
        .filled(filled),
    );
    section.add(scan_load(context));
}

/// Processor time of the scanner.
fn scan_load(context: &Context) -> Step {
    let model = context.model;
    let value = model.scan_load(context.counts);
    let sharing = model.sharing(context.counts, Age::LivedIn, Scan::Steady);
    let filled = if value > 0.0 {
        plain(sharing.speed)
            * Filled::words(crate::unit::format::exact::number(model.scanner.scan_cost))
    } else {
        plain(0.0)
    };
    Step::new("processor time of the scanner", number::cores(value))
        .law(
            "S·scan_cost, an adaptive scanner at its fastest; 0 while it rests",
            "scan_cost measured for this project",
        )
        .filled(filled)
        .from(context.inputs(&context.host(&["merging.scan_cost"])))
}
