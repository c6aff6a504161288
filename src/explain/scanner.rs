//! The scanner of page sharing: how fast it goes, how long a pass takes, what share is found merged.

use super::context::Context;
use super::filled::{Filled, bytes, count, max, min, plain, seconds, share, sum};
use super::step::{DEFINITION, PROJECT};
use super::{Section, Step, number};
use crate::lab::Mode;
use crate::model::footprint::{Age, Footprint};
use crate::model::scanner::Scan;
use crate::model::scanner::{ADVISOR_LEAST, advisor_most};
use crate::model::sharing::{SMART_SCAN_PASSES, SmartScan};
use crate::model::{GIB, PAGE};
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
    let model = context.model;
    let mut section = Section::new(format!("The scanner, {}", view.title));
    let sharing = model.sharing(context.counts, Age::LivedIn, view.scan);
    let keyed = |step: Step, key| match view.role {
        Role::Counted => step.key(key),
        Role::Beside => step,
    };
    if let Some(pass) = sharing.pass {
        section.add(sleep(context));
        section.add(pages(context, &sharing));
        section.add(speed(context, view, &sharing));
        let step = Step::new("T, one pass", number::seconds(pass))
            .law("P/S", DEFINITION)
            .filled(plain(sharing.pages) / plain(sharing.speed));
        section.add(keyed(step, "memory.scan_pass_s"));
        for (place, _, guest, _) in context.running().filter(|(_, _, _, f)| f.scanned()) {
            let visits = plain(model.host.merging.visits) - plain(0.5);
            let keys = [
                context.host(&["merging.visits"]),
                context.guest(&guest.name, &["rewrite_interval"]),
            ];
            section.add(
                Step::new(format!("κ of {}, merged share", guest.name), number::share(sharing.kappa[place]))
                    .law("1/(1 + T·(visits − ½)/rewrite_interval)", "renewal argument of this project, visits measured; optimistic for pages rewritten often and aged by smart scan")
                    .filled(plain(1.0) / (plain(1.0) + seconds(pass) * visits / seconds(guest.rewrite_interval)))
                    .from(context.inputs(&keys.concat())),
            );
        }
    } else if view.role == Role::Counted {
        section.add(
            keyed(
                Step::new("T, one pass", number::none("s", "none")),
                "memory.scan_pass_s",
            )
            .law("P/S", DEFINITION)
            .filled(Filled::words(
                "page sharing is off, has nothing to scan or starts too late to count",
            ))
            .from(context.inputs(&context.host(&["merging.mode", "merging.threshold"]))),
        );
    }
    if view.role == Role::Counted {
        section.add(kappa(context, &sharing));
    }
    section
}

/// κ over all guests.
fn kappa(context: &Context, sharing: &Sharing) -> Step {
    let weight = |n: u64, f: &Footprint| count(n) * bytes(f.mergeable());
    let able = || context.running().filter(|(_, _, _, f)| f.mergeable() > 0.0);
    let merged = sum(able().map(|(place, n, _, f)| weight(n, f) * share(sharing.kappa[place])));
    let filled = if able().next().is_some() {
        merged / sum(able().map(|(_, n, _, f)| weight(n, f)))
    } else {
        plain(0.0)
    };
    Step::new(
        "κ, share of the mergeable pages found merged",
        number::share(context.answer.memory.kappa),
    )
    .key("memory.kappa")
    .law(
        "Σ n·(c + s)·κ/Σ n·(c + s); 0 where nothing can merge",
        PROJECT,
    )
    .filled(filled)
}

fn sleep(context: &Context) -> Step {
    let merging = &context.model.host.merging;
    let sleep = context.model.scanner.sleep;
    let (formula, filled) = match (merging.sleep, merging.mode) {
        (None, Mode::Adaptive) => (
            "max(10 ms, 10 ms·16 GiB/visible)",
            max([
                seconds(0.010),
                seconds(0.010) * bytes(16.0 * GIB) / bytes(context.model.visible),
            ]),
        ),
        (Some(_), _) | (None, _) => ("sleep", seconds(sleep)),
    };
    Step::new("sleep between wakes", number::seconds(sleep))
        .law(
            formula,
            "default configuration of the public tuning daemon; kernel admin guide, mm/ksm",
        )
        .filled(filled)
        .from(context.inputs(&context.host(&["merging.sleep", "merging.mode"])))
}

fn pages(context: &Context, sharing: &Sharing) -> Step {
    let smart = SmartScan::from_switch(context.model.host.merging.smart_scan);
    let visited = context.running().filter(|(_, _, _, f)| f.scanned());
    let filled = sum(visited.map(|(_, n, _, f)| {
        let seldom = match smart {
            SmartScan::On => bytes(f.unique) / plain(SMART_SCAN_PASSES),
            SmartScan::Off => bytes(f.unique),
        };
        count(n) * (bytes(f.mergeable()) + seldom)
    }));
    Step::new(
        "P, pages visited in a pass",
        number::plain(sharing.pages, "pages"),
    )
    .law(
        "Σ n·v/4096, v = c + s + u/9 with smart_scan, else c + s + u; containers: without c",
        "Linux mm/ksm.c since 6.7",
    )
    .filled(filled / Filled::words(format!("{PAGE}")))
    .from(context.inputs(&context.host(&["merging.smart_scan"])))
}

fn speed(context: &Context, view: &View, sharing: &Sharing) -> Step {
    let merging = &context.model.host.merging;
    let scanner = context.model.scanner;
    let (formula, filled, own): (&str, Filled, &[&str]) = match (merging.mode, view.scan) {
        (Mode::ScanTime, _) => (
            "max(S(500), min(P/target_pass, S(min(30000, 0.7·sleep/(0.3·scan_cost)))))",
            max([
                wake(context, ADVISOR_LEAST),
                min([
                    plain(sharing.pages) / seconds(merging.target_pass),
                    wake(context, advisor_most(scanner.sleep, scanner.scan_cost)),
                ]),
            ]),
            &["merging.target_pass"],
        ),
        (Mode::Adaptive, Scan::Least) => (
            "S(least) = least/(tick·⌈sleep/tick⌉ + tick·⌈least·scan_cost/tick⌉)",
            wake(context, merging.least),
            &["merging.least"],
        ),
        (Mode::Adaptive, _) => (
            "S(most) = most/(tick·⌈sleep/tick⌉ + tick·⌈most·scan_cost/tick⌉)",
            wake(context, merging.most),
            &["merging.most"],
        ),
        (Mode::Fixed | Mode::Off, _) => (
            "S(w) = w/(tick·⌈sleep/tick⌉ + tick·⌈w·scan_cost/tick⌉)",
            wake(context, merging.pages_per_wake),
            &["merging.pages_per_wake"],
        ),
    };
    let keys = [own, &["merging.tick", "merging.scan_cost"]].concat();
    Step::new("S, speed", number::plain(sharing.speed, "pages/s"))
        .law(
            formula,
            "measured for this project; kernel admin guide, mm/ksm",
        )
        .filled(filled)
        .from(context.inputs(&context.host(&keys)))
}

/// S(w) with its numbers: what a sleep and the work after it take in whole ticks.
fn wake(context: &Context, pages: f64) -> Filled {
    let scanner = context.model.scanner;
    let tick = || seconds(scanner.tick);
    if scanner.sleep + pages * scanner.scan_cost <= 0.0 {
        return plain(pages) / tick();
    }
    let whole = |time: Filled| tick() * super::filled::ceil(time / tick());
    let work = plain(pages) * seconds(scanner.scan_cost);
    plain(pages) / (whole(seconds(scanner.sleep)) + whole(work))
}
