//! What guests hold: one by one, found by the scanner, and together.

use super::{Context, Law, Section, number};
use crate::inventory::lab::{Guest, Mode};
use crate::model::PAGE;
use crate::model::footprint::{Age, Footprint};
use crate::model::sharing::SmartScan;
use crate::unit::format;

/// One section a profile that runs.
pub(super) fn all(context: &Context) -> Vec<Section> {
    let model = context.model;
    let sharing = model.sharing(context.counts, Age::LivedIn, model.counted_scan());
    let rows = model
        .lab
        .guests
        .iter()
        .zip(model.footprints(Age::LivedIn))
        .zip(&sharing.kappa);
    rows.map(|((guest, footprint), kappa)| one(context, guest, footprint, *kappa, &sharing))
        .collect()
}

fn one(
    context: &Context,
    guest: &Guest,
    f: &Footprint,
    kappa: f64,
    sharing: &crate::sizing::memory::Sharing,
) -> Section {
    let b = format::bytes;
    let mut section = Section::new(format!("One guest of {}, lived-in", guest.name));
    let keys = |names: &[&str]| context.inputs(&context.guest(&guest.name, names));
    section.step(
        "ti, idle resident",
        number::bytes(f.idle),
        Law {
            formula: "t0 + k·(t1 − t0)",
            source: "keeps measured for this project",
        },
        format!(
            "{} + {}·({} − {})",
            b(f.touched),
            f.keeps,
            b(f.touched_busy),
            b(f.touched)
        ),
        keys(&[
            "memory",
            "touched",
            "touched_busy",
            "keeps",
            "busy",
            "pinned",
            "huge_pages",
        ]),
    );
    section.step(
        "u, unique",
        number::bytes(f.unique),
        Law {
            formula: "ti − c − s",
            source: "definition of this project",
        },
        format!("{} − {} − {}", b(f.idle), b(f.common), b(f.repeats)),
        keys(&["image", "common", "common_busy", "repeats", "merge"]),
    );
    section.step(
        "meta, page tables and bookkeeping",
        number::bytes(f.meta(sharing.tracking)),
        Law {
            formula: "(16/4096 [container 8/4096, huge pages 0] + 64/4096 where tracked)·ti",
            source: "Linux kernel documentation, page tables; mm/ksm.c",
        },
        format!(
            "{} of {}",
            format::share(f.meta_rate(sharing.tracking)),
            b(f.idle)
        ),
        Vec::new(),
    );
    section.step(
        "private of one guest",
        number::bytes(f.overhead + f.unique + f.meta(sharing.tracking)),
        Law {
            formula: "o + u + meta",
            source: "definition of this project",
        },
        format!(
            "{} + {} + {}",
            b(f.overhead),
            b(f.unique),
            b(f.meta(sharing.tracking))
        ),
        keys(&["overhead"]),
    );
    if f.scanned() && sharing.pass.is_some() {
        section.step(
            "κ, merged share",
            number::share(kappa),
            Law { formula: "1/(1 + T·(visits − ½)/rewrite_interval)", source: "renewal argument of this project, visits measured; optimistic for pages rewritten often and aged by smart scan" },
            format!("1/(1 + {}·({} − ½)/{})", format::seconds(sharing.pass.unwrap_or(0.0)), context.model.host.merging.visits, format::seconds(guest.rewrite_interval)),
            keys(&["rewrite_interval"]),
        );
    }
    section.step(
        "Δ, more while busy",
        number::bytes(f.busy_extra(kappa, sharing.tracking)),
        Law {
            formula: "(1 − k)·(t1 − t0)·(1 + meta) + κ·β·(c + s)",
            source: "busy_breaks measured for this project",
        },
        format!(
            "(1 − {})·({} − {})·(1 + {}) + {}·{}·{}",
            f.keeps,
            b(f.touched_busy),
            b(f.touched),
            format::share(f.meta_rate(sharing.tracking)),
            format::share(kappa),
            format::share(f.breaks),
            b(f.mergeable())
        ),
        keys(&["busy_breaks"]),
    );
    section.step(
        "give, to a balloon",
        number::bytes(f.give),
        Law {
            formula: "min(u, max(0, ti − max(balloon_floor, working_set)))",
            source: "OASIS virtio, balloon device; 0 where neither is given",
        },
        format!("u {}, ti {}", b(f.unique), b(f.idle)),
        keys(&["balloon_floor", "working_set"]),
    );
    section
}

/// How fast the scanner goes and how long a pass takes.
pub(super) fn scanner(context: &Context) -> Section {
    let model = context.model;
    let merging = &model.host.merging;
    let mut section = Section::new("The page-sharing scanner");
    let sharing = model.sharing(context.counts, Age::LivedIn, model.counted_scan());
    let Some(pass) = sharing.pass else {
        return section;
    };
    let smart = SmartScan::from_switch(merging.smart_scan);
    section.step(
        "P, pages visited in a pass",
        number::plain(sharing.pages, "pages"),
        Law {
            formula: "Σ n·v/4096, v = c + s + u/9 with smart_scan, else ti",
            source: "Linux mm/ksm.c since 6.7",
        },
        terms(context, |f| f.visited(smart) / PAGE, format::number),
        context.inputs(&context.host(&["merging.smart_scan"])),
    );
    let (formula, filled, own): (&'static str, String, &[&str]) = match merging.mode {
        Mode::ScanTime => (
            "P/target_pass, within S(500) … S(min(30000, 0.7·sleep/(0.3·scan_cost)))",
            format!(
                "{}/{}",
                format::number(sharing.pages),
                format::seconds(merging.target_pass)
            ),
            &["merging.target_pass"],
        ),
        Mode::Adaptive => (
            "S(most) = most/(tick·⌈sleep/tick⌉ + tick·⌈most·scan_cost/tick⌉)",
            wake(context, merging.most),
            &["merging.most", "merging.threshold"],
        ),
        Mode::Fixed | Mode::Off => (
            "S(w) = w/(tick·⌈sleep/tick⌉ + tick·⌈w·scan_cost/tick⌉)",
            wake(context, merging.pages_per_wake),
            &["merging.pages_per_wake"],
        ),
    };
    let keys: Vec<&str> = own
        .iter()
        .copied()
        .chain([
            "merging.mode",
            "merging.sleep",
            "merging.tick",
            "merging.scan_cost",
        ])
        .collect();
    section.step(
        "S, speed",
        number::plain(sharing.speed, "pages/s"),
        Law {
            formula,
            source: "measured for this project; kernel admin guide, mm/ksm",
        },
        filled,
        context.inputs(&context.host(&keys)),
    );
    section.step(
        "T, one pass",
        number::seconds(pass),
        Law {
            formula: "P/S",
            source: "definition",
        },
        format!(
            "{}/{}",
            format::number(sharing.pages),
            format::number(sharing.speed)
        ),
        context.inputs(&context.host(&["merging.visits"])),
    );
    section.step(
        "processor time of the scanner",
        number::cores(model.scan_load(context.counts)),
        Law {
            formula: "S·scan_cost; 0 while an adaptive scanner rests",
            source: "scan_cost measured for this project",
        },
        format!(
            "{}·{}",
            format::number(sharing.speed),
            format::seconds(model.scanner.scan_cost)
        ),
        Vec::new(),
    );
    section
}

fn wake(context: &Context, pages: f64) -> String {
    let scanner = context.model.scanner;
    let (sleep, tick, cost) = (
        format::seconds(scanner.sleep),
        format::seconds(scanner.tick),
        format::seconds(scanner.scan_cost),
    );
    format!("{pages}/({tick}·⌈{sleep}/{tick}⌉ + {tick}·⌈{pages}·{cost}/{tick}⌉)")
}

/// "12·3 MiB + 4·5 MiB": a sum over the profiles that run.
fn terms(
    context: &Context,
    figure: impl Fn(&Footprint) -> f64,
    text: impl Fn(f64) -> String,
) -> String {
    let running = context
        .counts
        .iter()
        .zip(context.model.footprints(Age::LivedIn))
        .filter(|(n, _)| **n > 0);
    let parts: Vec<String> = running
        .map(|(n, f)| format!("{n}·{}", text(figure(f))))
        .collect();
    if parts.is_empty() {
        "no guest".to_owned()
    } else {
        parts.join(" + ")
    }
}

/// Memory of all guests together.
pub(super) fn together(context: &Context) -> Section {
    let model = context.model;
    let b = format::bytes;
    let scan = model.counted_scan();
    let sharing = model.sharing(context.counts, Age::LivedIn, scan);
    let load = model.memory(context.counts, Age::LivedIn, &sharing);
    let mut section = Section::new("Memory of all guests together");
    let tracking = sharing.tracking;
    section.step(
        "private",
        number::bytes(load.private),
        Law {
            formula: "Σ n·(o + u + meta)",
            source: "definition of this project",
        },
        terms(context, |f| f.overhead + f.unique + f.meta(tracking), b),
        Vec::new(),
    );
    section.step(
        "merged copies that stay",
        number::bytes(load.merged),
        Law { formula: "Σ κ·copies of each image + Σ κ·n·s/L, L users a copy; a container's files once an image", source: "kernel admin guide, mm/ksm, max_page_sharing" },
        format!("L = {}, κ of all {}", format::number(model.host.merging.users_per_copy), format::share(model.kappa(context.counts, &sharing))),
        context.inputs(&context.host(&["merging.users_per_copy", "merging.use_zero_pages", "merging.zero_share"])),
    );
    section.step(
        "not merged (yet, or again)",
        number::bytes(load.unmerged),
        Law {
            formula: "Σ (1 − κ)·n·(c + s)",
            source: "definition of this project",
        },
        format!(
            "κ of all {}",
            format::share(model.kappa(context.counts, &sharing))
        ),
        Vec::new(),
    );
    let mean = model.mean_memory(context.counts, &load);
    section.step(
        "mean memory",
        number::bytes(mean),
        Law {
            formula: "private + merged + not merged + Σ n·busy·Δ",
            source: "definition of this project",
        },
        format!(
            "{} + {} + {} + {}",
            b(load.private),
            b(load.merged),
            b(load.unmerged),
            b(mean - load.always())
        ),
        context.inputs(&context.every_guest(&["busy"])),
    );
    let unshared = model.mean_used(
        context.counts,
        Age::LivedIn,
        crate::sizing::memory::Scan::Off,
    );
    let counted = model.mean_used(context.counts, Age::LivedIn, scan);
    section.step(
        "saved by page sharing",
        number::bytes(unshared - counted),
        Law {
            formula: "mean memory with κ = 0 and no bookkeeping − mean memory",
            source: "definition of this project; negative where bookkeeping costs more",
        },
        format!(
            "{} − {}",
            b(unshared - model.host.memory.base - model.host.memory.file_cache),
            b(mean)
        ),
        Vec::new(),
    );
    section.step(
        "settled use of visible memory",
        number::bytes(model.settled_used(context.counts, Age::LivedIn)),
        Law { formula: "base + file_cache + mean memory; adaptive: min(unmerged, max(merged at the fastest, min(ceiling, low)))", source: "definition of this project; default configuration of the public tuning daemon" },
        format!("base {} + file_cache {} + {}", b(model.host.memory.base), b(model.host.memory.file_cache), b(mean)),
        Vec::new(),
    );
    let promised = model.sum(context.counts, |guest| guest.memory);
    section.step(
        "assigned (promised)",
        number::bytes(promised),
        Law {
            formula: "Σ n·memory",
            source: "definition",
        },
        terms(context, |f| f.memory, b),
        Vec::new(),
    );
    section.step(
        "overcommit",
        number::plain(promised / model.visible, "×"),
        Law {
            formula: "assigned/visible",
            source: "definition",
        },
        format!("{}/{}", b(promised), b(model.visible)),
        Vec::new(),
    );
    section
}
