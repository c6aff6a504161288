//! Which guests run, and what memory the host has.

use super::context::Context;
use super::counts::guests;
use super::step::PROJECT;
use super::{Section, Step, figure};
use crate::lab::Number as Share;
use crate::lab::key_path;
use crate::model::footprint::Age;
use crate::model::number::Measure;
use crate::model::scanner::Scan;
use crate::sizing::composition::Unit;
use crate::unit::format;

/// How N is split over the profiles.
pub(super) fn composition(context: &Context) -> Section {
    let model = context.model;
    let mut section = Section::new("Which guests run");
    for (guest, n) in model.lab.guests.iter().zip(context.counts) {
        let (formula, filled) = match (model.composition.unit(), guest.number) {
            (Unit::Sets, Share::Fixed(fixed)) => {
                let [sets, fixed] = [context.n, fixed].map(format::count);
                ("N·count", format!("{sets}·{fixed}"))
            }
            (Unit::Sets, Share::Share(_)) | (Unit::Guests, Share::Fixed(_)) => {
                ("count", format::count(*n))
            }
            (Unit::Guests, Share::Share(weight)) => (
                "seats of N by the highest share/(2·seats + 1)",
                format!("N = {}, share {weight}", context.n),
            ),
        };
        let name = format!("guests of {}", guest.name);
        section.add(
            Step::new(name, figure::count(*n, "guests"))
                .key(key_path(&["mix", &guest.name]))
                .law(
                    formula,
                    "Balinski & Young, Fair Representation, 1982 (Webster's method)",
                )
                .filled(filled)
                .also(context.guest(&guest.name, &["count", "share"])),
        );
    }
    section.add(guests(context));
    section
}

/// Memory supply and the safe limit.
pub(super) fn memory(context: &Context) -> Section {
    let answer = &context.answer.memory;
    let mut section = Section::new("Memory of the host");
    section.add(
        Step::new("visible", figure::bytes(answer.visible))
            .key("memory.visible")
            .law(
                "(Σ modules − firmware_reserved)·(1 − 64/4096)",
                "Linux kernel documentation, memory model: 64 B of struct page per 4 KiB page",
            )
            .filled(context.worked.visible),
    );
    section.add(
        Step::new(
            "usable (the load line: safe limit for guests)",
            figure::bytes(answer.usable),
        )
        .key("memory.usable")
        .law("visible − base − file_cache − keep_free·visible", PROJECT)
        .filled(context.worked.usable()),
    );
    section
}

/// The cliff, from what can be swapped out.
pub(super) fn cliff(context: &Context) -> Section {
    let (worked, memory) = (context.worked, &context.model.host.memory);
    let mut section = Section::new("The cliff");
    let sharing = worked.sharing(context.counts, Age::LivedIn, Scan::Steady);
    let load = worked.memory(context.counts, Age::LivedIn, &sharing);
    let (_, swappable) = worked.swappable(context.counts);
    let swap = worked.swap();
    let out = swap.swapped_out(swappable);
    if memory.swap + memory.compressed_swap > 0.0 {
        section.add(
            Step::new("what could be swapped out of guests", figure::bytes(swappable.value()))
                .law("mean memory, page sharing at its fastest, without pinned guests and those from huge pages", PROJECT)
                .filled(swappable)
                .also(context.every_guest(&["pinned", "huge_pages"]))
                .also(load.fixed_in_memory.keys()),
        );
        section.add(
            Step::new("swapped out at most", figure::bytes(out.value()))
                .law(
                    "min(swap + z, what could be swapped), z compressed_swap",
                    PROJECT,
                )
                .filled(out),
        );
    }
    let floor = memory.file_cache_floor;
    let floor = worked.own("memory.file_cache_floor", floor, Measure::Bytes);
    let (_, cliff) = worked.cliff(context.counts, floor);
    section.add(
        Step::new(
            "cliff (past it the kernel kills guests)",
            figure::bytes(context.answer.memory.cliff),
        )
        .key("memory.cliff")
        .law(
            "visible − base − file_cache_floor + swapped out − min(z, swapped out)/q",
            "Linux mm/oom_kill.c; zram documentation; definition of this project",
        )
        .filled(cliff)
        .also(context.host(&["memory.compressed_swap_ratio"])),
    );
    if memory.compressed_swap > 0.0 {
        let full = worked.beside_base() - floor + out - swap.compressed / swap.ratio;
        section.add(
            Step::new(
                "cliff if the compressed store took its full size whatever is in it",
                figure::bytes(full.value()),
            )
            .law(
                "visible − base − file_cache_floor + swapped out − z/q",
                "for comparison; a store takes memory for what it holds (Linux zram documentation)",
            )
            .filled(full),
        );
    }
    section
}
