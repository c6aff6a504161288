//! Which guests run, and what memory the host has.

use super::context::Context;
use super::counts::guests;
use super::filled::{Filled, bytes, count, max, min, per_page, plain, share, sum};
use super::load::mean;
use super::step::PROJECT;
use super::{Section, Step, number};
use crate::lab::Number as Share;
use crate::lab::key_path;
use crate::model::PAGE;
use crate::model::footprint::Age;
use crate::model::memory::FRAME_TABLE;
use crate::model::scanner::Scan;
use crate::sizing::composition::Unit;

/// How N is split over the profiles.
pub(super) fn composition(context: &Context) -> Section {
    let model = context.model;
    let mut section = Section::new("Which guests run");
    for (guest, n) in model.lab.guests.iter().zip(context.counts) {
        let (formula, filled) = match (model.composition.unit(), guest.number) {
            (Unit::Sets, Share::Fixed(fixed)) => ("N·count", count(context.n) * count(fixed)),
            (Unit::Sets, Share::Share(_)) | (Unit::Guests, Share::Fixed(_)) => ("count", count(*n)),
            (Unit::Guests, Share::Share(weight)) => (
                "seats of N by the highest share/(2·seats + 1)",
                Filled::words(format!("N = {}, share {weight}", context.n)),
            ),
        };
        section.add(
            Step::new(
                format!("guests of {}", guest.name),
                number::count(*n, "guests"),
            )
            .key(key_path(&["mix", &guest.name]))
            .law(
                formula,
                "Balinski & Young, Fair Representation, 1982 (Webster's method)",
            )
            .filled(filled)
            .from(context.inputs(&context.guest(&guest.name, &["count", "share"]))),
        );
    }
    section.add(guests(context));
    section
}

/// Memory supply and the safe limit.
pub(super) fn memory(context: &Context) -> Section {
    let model = context.model;
    let memory = &model.host.memory;
    let mut section = Section::new("Memory of the host");
    let modules = sum(memory.modules.iter().map(|size| bytes(*size)));
    section.add(
        Step::new("visible", number::bytes(model.visible))
            .key("memory.visible")
            .law(
                "(Σ modules − firmware_reserved)·(1 − 64/4096)",
                "Linux kernel documentation, memory model: 64 B of struct page per 4 KiB page",
            )
            .filled(
                (modules - bytes(memory.firmware_reserved))
                    * (plain(1.0) - per_page(FRAME_TABLE * PAGE)),
            )
            .from(context.inputs(&context.host(&["memory.modules", "memory.firmware_reserved"]))),
    );
    let keys = [
        context.host(&["memory.base", "memory.file_cache"]),
        context.policy(&["memory_keep_free"]),
    ];
    section.add(
        Step::new(
            "usable (the load line: safe limit for guests)",
            number::bytes(model.usable()),
        )
        .key("memory.usable")
        .law("visible − base − file_cache − keep_free·visible", PROJECT)
        .filled(usable(context))
        .from(context.inputs(&keys.concat())),
    );
    section
}

/// The load line with its numbers.
pub(super) fn usable(context: &Context) -> Filled {
    let memory = &context.model.host.memory;
    let keep_free = share(context.model.lab.policy.memory_keep_free);
    let visible = || bytes(context.model.visible);
    visible() - bytes(memory.base) - bytes(memory.file_cache) - keep_free * visible()
}

/// The cliff, from what can be swapped out.
pub(super) fn cliff(context: &Context) -> Section {
    let model = context.model;
    let memory = &model.host.memory;
    let mut section = Section::new("The cliff");
    let sharing = model.sharing(context.counts, Age::LivedIn, Scan::Steady);
    let load = model.memory(context.counts, Age::LivedIn, &sharing);
    let swappable = (model.mean_memory(context.counts, &load) - load.fixed_in_memory).max(0.0);
    let out = (memory.swap + memory.compressed_swap).min(swappable);
    let has_swap = memory.swap + memory.compressed_swap > 0.0;
    let keys = context.host(&["memory.swap", "memory.compressed_swap"]);
    if has_swap {
        section.add(
            Step::new("what could be swapped out of guests", number::bytes(swappable))
                .law("mean memory, page sharing at its fastest, without pinned guests and those from huge pages", PROJECT)
                .filled(max([
                    plain(0.0),
                    mean(context, &sharing) - bytes(load.fixed_in_memory),
                ]))
                .from(context.inputs(&context.every_guest(&["pinned", "huge_pages"]))),
        );
        section.add(
            Step::new("swapped out at most", number::bytes(out))
                .law(
                    "min(swap + z, what could be swapped), z compressed_swap",
                    PROJECT,
                )
                .filled(min([
                    bytes(memory.swap) + bytes(memory.compressed_swap),
                    bytes(swappable),
                ]))
                .from(context.inputs(&keys)),
        );
    }
    let stored = || min([bytes(memory.compressed_swap), bytes(out)]);
    let above = || bytes(model.visible) - bytes(memory.base) - bytes(memory.file_cache_floor);
    let filled = match (has_swap, memory.compressed_swap > 0.0) {
        (false, _) => above(),
        (true, false) => above() + bytes(out),
        (true, true) => above() + bytes(out) - stored() / plain(memory.compressed_swap_ratio),
    };
    section.add(
        Step::new(
            "cliff (past it the kernel kills guests)",
            number::bytes(context.answer.memory.cliff),
        )
        .key("memory.cliff")
        .law(
            "visible − base − file_cache_floor + swapped out − min(z, swapped out)/q",
            "Linux mm/oom_kill.c; zram documentation; definition of this project",
        )
        .filled(filled)
        .from(
            context.inputs(
                &context.host(&["memory.file_cache_floor", "memory.compressed_swap_ratio"]),
            ),
        ),
    );
    if memory.compressed_swap > 0.0 {
        let full = model.visible - memory.base - memory.file_cache_floor + out
            - memory.compressed_swap / memory.compressed_swap_ratio;
        section.add(
            Step::new(
                "cliff if the compressed store took its full size whatever is in it",
                number::bytes(full),
            )
            .law(
                "visible − base − file_cache_floor + swapped out − z/q",
                "for comparison; a store takes memory for what it holds (Linux zram documentation)",
            )
            .filled(
                above() + bytes(out)
                    - bytes(memory.compressed_swap) / plain(memory.compressed_swap_ratio),
            ),
        );
    }
    section
}
