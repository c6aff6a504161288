//! Memory of the guests that run, at a speed of the scanner.

use super::context::Context;
use super::scanner::{Role, View};
use super::step::PROJECT;
use super::{Section, Step, figure};
use crate::lab::Guest;
use crate::model::footprint::Age;
use crate::model::tape::Term;

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
        section.extend(one_guest(context, guest, meta, load.extras[place]));
    }
    section.add(bytes("private", load.private).law("Σ n·(o + u + meta)", PROJECT));
    section.add(merged(context, load.merged));
    section.add(
        bytes("not merged (yet, or again)", load.unmerged)
            .law("Σ n·(1 − κ)·(c + s); containers: without c", PROJECT),
    );
    section.add(
        bytes("mean memory", worked.mean_memory(context.counts, &load))
            .law("private + merged + not merged + Σ n·busy·Δ", PROJECT),
    );
    section
}

fn bytes(name: impl Into<String>, value: Term) -> Step {
    Step::new(name, figure::bytes(value.value())).filled(value)
}

/// What one guest adds to the sum by page tables and bookkeeping, and while it is busy.
fn one_guest(context: &Context, guest: &Guest, meta: Term, extra: Term) -> [Step; 2] {
    let name = &guest.name;
    [
        bytes(format!("meta of one {name}, page tables and bookkeeping"), meta).law(
            "16/4096·ti (container 8/4096·ti, huge pages 0) + 64/4096·ti where tracked (container: without c)",
            "Linux kernel documentation, page tables; mm/ksm.c",
        ),
        bytes(format!("Δ of {name}, more while busy"), extra)
            .law(
                "(1 − k)·(t1 − t0)·(1 + meta) + κ·β·(c + s)",
                "busy_breaks measured for this project",
            )
            .also(context.guest(name, &["busy_breaks"])),
    ]
}

fn merged(context: &Context, value: Term) -> Step {
    let keys = ["users_per_copy", "use_zero_pages", "zero_share"];
    let keys = keys.map(|key| format!("merging.{key}"));
    bytes("merged copies that stay", value)
        .law(
            "Σ over images of κ·copies + Σ κ·n·s·(1 − zero_share with use_zero_pages)/L; copies = Σ (c − next smaller c)·⌈guests with c or more/L⌉; a container's files once an image",
            "kernel admin guide, mm/ksm, max_page_sharing",
        )
        .also(context.host(&keys.each_ref().map(String::as_str)))
        .also(context.every_guest(&["image", "kind"]))
}
