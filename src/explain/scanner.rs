//! The scanner of page sharing: how fast it goes, how long a pass takes, what share is found merged.

use super::context::Context;
use super::step::{DEFINITION, PROJECT};
use super::{Section, Step, figure};
use crate::lab::{Guest, Mode};
use crate::model::footprint::Age;
use crate::model::scanner::Scan;
use crate::model::tape::Term;
use crate::sizing::host::HostModel;
use crate::sizing::memory::Sharing;

/// A speed of the scanner that some number of the answer rests on.
pub(super) struct View {
    pub(super) scan: Scan,
    pub(super) title: &'static str,
    pub(super) role: Role,
}

/// What a view is needed for.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Role {
    /// The safe limit counts with it.
    Counted,
    /// Other numbers are taken from it.
    Beside,
}

/// The speeds that numbers of the answer rest on, the counted one first.
pub(super) fn views(model: &HostModel) -> Vec<View> {
    let counted = model.counted_scan();
    let needed: &[Scan] = match model.host.merging.mode {
        Mode::Off => &[],
        Mode::Fixed | Mode::ScanTime => &[Scan::Steady, Scan::Off],
        Mode::Adaptive => &[Scan::Steady, Scan::Least, Scan::Off],
    };
    let beside = needed.iter().filter(|scan| **scan != counted);
    let views = std::iter::once((counted, Role::Counted));
    views
        .chain(beside.map(|scan| (*scan, Role::Beside)))
        .map(|(scan, role)| View {
            scan,
            title: match (scan, model.host.merging.mode) {
                (Scan::Off, _) => "page sharing off",
                (Scan::Least, _) => "page sharing at its slowest",
                (Scan::Steady, Mode::Adaptive) => "page sharing at its fastest",
                (Scan::Steady, _) => "page sharing in its steady state",
            },
            role,
        })
        .collect()
}

/// How fast the scanner goes, how long a pass takes, and κ.
pub(super) fn section(context: &Context, view: &View) -> Section {
    let worked = context.worked;
    let mut section = Section::new(format!("The scanner, {}", view.title));
    let sharing = worked.sharing(context.counts, Age::LivedIn, view.scan);
    let keyed = |step: Step, key| match view.role {
        Role::Counted => step.key(key),
        Role::Beside => step,
    };
    if let Some(pass) = sharing.pass {
        section.add(sleep(context));
        section.add(pages(context, &sharing));
        section.add(speed(context, view, &sharing));
        let step = Step::new("T, one pass", figure::seconds(pass.value()))
            .law("P/S", DEFINITION)
            .filled(pass);
        section.add(keyed(step, "memory.scan_pass_s"));
        for (place, _, guest) in context.running() {
            if worked.footprints(Age::LivedIn)[place].scanned() {
                section.add(merged_share(guest, sharing.kappa[place]));
            }
        }
    } else if view.role == Role::Counted {
        let step = Step::new("T, one pass", figure::none("s", "none"))
            .law("P/S", DEFINITION)
            .filled("page sharing is off, has nothing to scan or starts too late to count")
            .also(context.host(&["merging.mode", "merging.threshold"]));
        section.add(keyed(step, "memory.scan_pass_s"));
    }
    if view.role == Role::Counted {
        let kappa = figure::share(context.answer.memory.kappa);
        section.add(
            Step::new("κ, share of the mergeable pages found merged", kappa)
                .key("memory.kappa")
                .law(
                    "Σ n·(c + s)·κ/Σ n·(c + s); 0 where nothing can merge",
                    PROJECT,
                )
                .filled(worked.kappa(context.counts, &sharing)),
        );
    }
    section
}

fn merged_share(guest: &Guest, kappa: Term) -> Step {
    let name = format!("κ of {}, merged share", guest.name);
    Step::new(name, figure::share(kappa.value()))
        .law("1/(1 + T·(visits − ½)/rewrite_interval)", "renewal argument of this project, visits measured; optimistic for pages rewritten often and aged by smart scan")
        .filled(kappa)
}

fn sleep(context: &Context) -> Step {
    let merging = &context.model.host.merging;
    let sleep = context.worked.scanner.sleep;
    let formula = match (merging.sleep, merging.mode) {
        (None, Mode::Adaptive) => "max(10 ms, 10 ms·16 GiB/visible)",
        (Some(_) | None, _) => "sleep",
    };
    Step::new("sleep between wakes", figure::seconds(sleep.value()))
        .law(
            formula,
            "default configuration of the public tuning daemon; kernel admin guide, mm/ksm",
        )
        .filled(sleep)
        .also(context.host(&["merging.sleep", "merging.mode"]))
}

fn pages(context: &Context, sharing: &Sharing<Term>) -> Step {
    let pages = sharing.pages;
    Step::new(
        "P, pages visited in a pass",
        figure::plain(pages.value(), "pages"),
    )
    .law(
        "Σ n·v/4096, v = c + s + u/9 with smart_scan, else c + s + u; containers: without c",
        "Linux mm/ksm.c since 6.7",
    )
    .filled(pages)
    .also(context.host(&["merging.smart_scan"]))
}

fn speed(context: &Context, view: &View, sharing: &Sharing<Term>) -> Step {
    let formula = match (context.model.host.merging.mode, view.scan) {
        (Mode::ScanTime, _) => {
            "max(S(500), min(P/target_pass, S(min(30000, 0.7·sleep/(0.3·scan_cost)))))"
        }
        (Mode::Adaptive, Scan::Least) => {
            "S(least) = least/(tick·⌈sleep/tick⌉ + tick·⌈least·scan_cost/tick⌉)"
        }
        (Mode::Adaptive, _) => "S(most) = most/(tick·⌈sleep/tick⌉ + tick·⌈most·scan_cost/tick⌉)",
        (Mode::Fixed | Mode::Off, _) => "S(w) = w/(tick·⌈sleep/tick⌉ + tick·⌈w·scan_cost/tick⌉)",
    };
    Step::new("S, speed", figure::plain(sharing.speed.value(), "pages/s"))
        .law(
            formula,
            "measured for this project; kernel admin guide, mm/ksm",
        )
        .filled(sharing.speed)
}
