//! Memory of the guests that run: at a speed of the scanner, all together, and the cliff.

use super::answer::{Section, Step};
use super::context::Context;
use super::scanner::{Role, View};
use super::symbols::MEMORY;
use crate::lab::Mode;
use crate::model::footprint::Age;
use crate::model::held::Held;
use crate::model::number::Measure;
use crate::model::scanner::Scan;
use crate::model::tape::Term;
use crate::sizing::memory::Activity;

fn held<'a>(context: &Context<'a>, scan: Scan) -> Held<Term<'a>> {
    let worked = context.worked;
    let sharing = worked.sharing(context.counts, Age::LivedIn, scan);
    worked.memory(context.counts, Age::LivedIn, &sharing)
}

/// Mean memory of the guests at a speed of the scanner.
pub(super) fn mean<'a>(context: &Context<'a>, scan: Scan) -> Term<'a> {
    let held = held(context, scan);
    context.worked.mean_memory(context.counts, &held)
}

/// The parts of memory at a speed of the scanner, and their mean.
pub(super) fn section(context: &Context, view: &View) -> Section {
    let worked = context.worked;
    let tracking = worked
        .sharing(context.counts, Age::LivedIn, view.scan)
        .tracking;
    let held = held(context, view.scan);
    let mut steps = Vec::new();
    for (place, _, guest) in context.running() {
        let guest = context.of_guest(guest);
        let meta = worked.footprints(Age::LivedIn)[place].meta(tracking);
        steps.push(guest.worked("page tables and bookkeeping", meta));
        steps.push(guest.worked("more while busy", held.extras[place]));
    }
    let all = [
        ("private memory", held.private),
        ("merged memory", held.merged),
        ("unmerged memory", held.unmerged),
        ("mean memory", mean(context, view.scan)),
    ];
    steps.extend(all.map(|(id, term)| context.worked(id, term)));
    let counted = match view.role {
        Role::Counted => ": what the safe limit counts",
        Role::Beside => "",
    };
    let title = format!("Memory of the guests, {}{counted}", view.title);
    Section::new(title, MEMORY, steps)
}

/// What follows from the memory of all guests: what sharing saves, where use settles, what was promised.
pub(super) fn together(context: &Context) -> Section {
    let (worked, counts) = (context.worked, context.counts);
    let saved = mean(context, Scan::Off) - mean(context, context.model.counted_scan());
    let mut steps = vec![context.step(
        "memory.shared_saved",
        context.answer.memory.shared_saved,
        saved,
    )];
    let settled = if context.model.host.merging.mode != Mode::Adaptive {
        "memory.settled"
    } else {
        let resident = worked.resident(counts, Age::LivedIn);
        steps.push(context.worked("resident memory", resident));
        if worked.may_rest(counts, Age::LivedIn) {
            "memory.settled, resting"
        } else {
            "memory.settled, scanning"
        }
    };
    let used = worked.settled_used(counts, Age::LivedIn, Activity::Mean);
    let promised = worked.promised(counts);
    steps.extend([
        context.worked(settled, used),
        context.worked("scanner's load", worked.scan_load(counts)),
        context.worked("memory.promised", promised),
        context.worked("memory.overcommit", promised / worked.visible),
    ]);
    Section::new("Memory of all guests together", MEMORY, steps)
}

/// The cliff, from what can be swapped out.
pub(super) fn cliff(context: &Context) -> Section {
    let (worked, memory) = (context.worked, &context.model.host.memory);
    let (_, swappable) = worked.swappable(context.counts);
    let swap = worked.swap();
    let out = swap.swapped_out(swappable);
    let mut steps = Vec::new();
    if memory.swap + memory.compressed_swap > 0.0 {
        steps.push(swappable_memory(context, swappable));
        steps.push(context.worked("swapped out", out));
    }
    let floor = memory.file_cache_floor;
    let floor = worked.own("memory.file_cache_floor", floor, Measure::Bytes);
    let (_, cliff) = worked.cliff(context.counts, floor);
    steps.push(context.worked("memory.cliff", cliff));
    if memory.compressed_swap > 0.0 {
        let full = worked.beside_base() - floor + out - swap.compressed / swap.ratio;
        steps.push(context.worked("cliff with a full store", full));
    }
    Section::new("The cliff", MEMORY, steps)
}

/// What can be swapped out.
fn swappable_memory(context: &Context, swappable: Term) -> Step {
    let mut step = context.worked("swappable memory", swappable);
    let fixed = held(context, Scan::Steady).fixed_in_memory;
    for input in context.inputs(&fixed.keys()) {
        if !step.inputs.contains(&input) {
            step.inputs.push(input);
        }
    }
    step
}
