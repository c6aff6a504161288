//! Memory of the guests that run, at a speed of the scanner.

use super::context::Context;
use super::scanner::{Role, View};
use super::step::PROJECT;
use super::{Section, Step, figure};
use crate::model::footprint::Age;

/// The parts of memory and their mean.
pub(super) fn section(context: &Context, view: &View) -> Section {
    let worked = context.worked;
    let sharing = worked.sharing(context.counts, Age::LivedIn, view.scan);
    let load = worked.memory(context.counts, Age::LivedIn, &sharing);
    let counted = match view.role {
        Role::Counted => ": what the safe limit counts",
        Role::Beside => "",
    };
    let mut section = Section::new(format!("Memory of the guests, {}{counted}", view.title));
    for (place, _, guest) in context.running() {
        let meta = worked.footprints(Age::LivedIn)[place].meta(sharing.tracking);
        let extra = load.extras[place];
        let name = format!("meta of one {}, page tables and bookkeeping", guest.name);
        section.add(Step::new(name, figure::bytes(meta.value())).law(
            "16/4096·ti (container 8/4096·ti, huge pages 0) + 64/4096·ti where tracked (container: without c)",
            "Linux kernel documentation, page tables; mm/ksm.c",
        ).filled(meta));
        let name = format!("Δ of {}, more while busy", guest.name);
        section.add(
            Step::new(name, figure::bytes(extra.value()))
                .law(
                    "(1 − k)·(t1 − t0)·(1 + meta) + κ·β·(c + s)",
                    "busy_breaks measured for this project",
                )
                .filled(extra)
                .also(context.guest(&guest.name, &["busy_breaks"])),
        );
    }
    let merged_keys = ["users_per_copy", "use_zero_pages", "zero_share"];
    let merged_keys = merged_keys.map(|key| format!("merging.{key}"));
    let mean = worked.mean_memory(context.counts, &load);
    for (name, value, formula, source, also) in [
        (
            "private",
            load.private,
            "Σ n·(o + u + meta)",
            PROJECT,
            Vec::new(),
        ),
        (
            "merged copies that stay",
            load.merged,
            "Σ over images of κ·copies + Σ κ·n·s·(1 − zero_share with use_zero_pages)/L; copies = Σ (c − next smaller c)·⌈guests with c or more/L⌉; a container's files once an image",
            "kernel admin guide, mm/ksm, max_page_sharing",
            [
                context.host(&merged_keys.each_ref().map(String::as_str)),
                context.every_guest(&["image", "kind"]),
            ]
            .concat(),
        ),
        (
            "not merged (yet, or again)",
            load.unmerged,
            "Σ n·(1 − κ)·(c + s); containers: without c",
            PROJECT,
            Vec::new(),
        ),
        (
            "mean memory",
            mean,
            "private + merged + not merged + Σ n·busy·Δ",
            PROJECT,
            Vec::new(),
        ),
    ] {
        let step = Step::new(name, figure::bytes(value.value()));
        section.add(step.law(formula, source).filled(value).also(also));
    }
    section
}
