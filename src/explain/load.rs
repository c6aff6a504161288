//! Memory of the guests that run, at a speed of the scanner.

use super::context::Context;
use super::filled::{Filled, bytes, ceil, count, per_page, plain, share, sum};
use super::scanner::{Role, View};
use super::step::PROJECT;
use super::{Section, Step, number};
use crate::lab::Guest;
use crate::model::PAGE;
use crate::model::footprint::{Age, BOOKKEEPING, Footprint, Tracking};
use crate::sizing::memory::Sharing;

/// The parts of memory and their mean.
pub(super) fn section(context: &Context, view: &View) -> Section {
    let model = context.model;
    let sharing = model.sharing(context.counts, Age::LivedIn, view.scan);
    let load = model.memory(context.counts, Age::LivedIn, &sharing);
    let tracking = sharing.tracking;
    let counted = match view.role {
        Role::Counted => ": what the safe limit counts",
        Role::Beside => "",
    };
    let mut section = Section::new(format!("Memory of the guests, {}{counted}", view.title));
    for (place, _, guest, f) in context.running() {
        section.add(meta(guest, f, tracking));
        section.add(busy(context, guest, f, &sharing, sharing.kappa[place]));
    }
    section.add(
        Step::new("private", number::bytes(load.private))
            .law("Σ n·(o + u + meta)", PROJECT)
            .filled(
                context.sum(|_, f| bytes(f.overhead) + bytes(f.unique) + bytes(f.meta(tracking))),
            )
            .from(context.inputs(&context.every_guest(&["overhead"]))),
    );
    section.add(merged(context, &sharing, load.merged));
    let loose = context.running().filter(|(_, _, _, f)| loose(f) > 0.0);
    section.add(
        Step::new("not merged (yet, or again)", number::bytes(load.unmerged))
            .law("Σ n·(1 − κ)·(c + s); containers: without c", PROJECT)
            .filled(sum(loose.map(|(place, n, _, f)| {
                let apart = plain(1.0) - share(sharing.kappa[place]);
                count(n) * apart * self::loosely(f)
            }))),
    );
    section.add(
        Step::new(
            "mean memory",
            number::bytes(model.mean_memory(context.counts, &load)),
        )
        .law("private + merged + not merged + Σ n·busy·Δ", PROJECT)
        .filled(mean(context, &sharing)),
    );
    section
}

/// Pages of c and s that only the scanner could merge.
fn loose(f: &Footprint) -> f64 {
    let files = if f.shares_files() { f.common } else { 0.0 };
    f.common + f.repeats - files
}

fn loosely(f: &Footprint) -> Filled {
    if f.shares_files() {
        bytes(f.repeats)
    } else {
        bytes(f.common) + bytes(f.repeats)
    }
}

/// Mean memory of the guests that run, with its numbers.
pub(super) fn mean(context: &Context, sharing: &Sharing) -> Filled {
    let load = context.model.memory(context.counts, Age::LivedIn, sharing);
    let parts = [load.private, load.merged, load.unmerged];
    let busy = context
        .running()
        .filter(|(place, _, guest, _)| guest.busy > 0.0 && load.extras[*place] > 0.0);
    sum(parts.map(bytes).into_iter().chain(
        busy.map(|(place, n, guest, _)| count(n) * share(guest.busy) * bytes(load.extras[place])),
    ))
}

fn meta(guest: &Guest, f: &Footprint, tracking: Tracking) -> Step {
    let tables = per_page(f.meta_rate(Tracking::Off) * PAGE) * bytes(f.idle);
    let tracked = if f.shares_files() {
        bytes(f.idle) - bytes(f.common)
    } else {
        bytes(f.idle)
    };
    let filled = if tracking == Tracking::On && f.scanned() {
        tables + per_page(BOOKKEEPING * PAGE) * tracked
    } else {
        tables
    };
    Step::new(
        format!("meta of one {}, page tables and bookkeeping", guest.name),
        number::bytes(f.meta(tracking)),
    )
    .law(
        "16/4096·ti (container 8/4096·ti, huge pages 0) + 64/4096·ti where tracked (container: without c)",
        "Linux kernel documentation, page tables; mm/ksm.c",
    )
    .filled(filled)
}

fn busy(context: &Context, guest: &Guest, f: &Footprint, sharing: &Sharing, kappa: f64) -> Step {
    let mut rate = plain(1.0) + per_page(f.meta_rate(Tracking::Off) * PAGE);
    if sharing.tracking == Tracking::On && f.scanned() {
        rate = rate + per_page(BOOKKEEPING * PAGE);
    }
    let grows = (plain(1.0) - share(f.keeps)) * (bytes(f.touched_busy) - bytes(f.touched)) * rate;
    let breaks = share(kappa) * share(f.breaks) * bytes(f.mergeable());
    Step::new(
        format!("Δ of {}, more while busy", guest.name),
        number::bytes(f.busy_extra(kappa, sharing.tracking)),
    )
    .law(
        "(1 − k)·(t1 − t0)·(1 + meta) + κ·β·(c + s)",
        "busy_breaks measured for this project",
    )
    .filled(grows + breaks)
    .from(context.inputs(&context.guest(&guest.name, &["busy_breaks"])))
}

fn merged(context: &Context, sharing: &Sharing, value: f64) -> Step {
    let merging = &context.model.host.merging;
    let families = context.model.families.iter();
    let mut parts: Vec<Filled> = families
        .flat_map(|family| family_copies(context, sharing, family))
        .collect();
    for (place, n, _, f) in context.running() {
        if f.repeats > 0.0 && sharing.kappa[place] > 0.0 {
            let all = share(sharing.kappa[place]) * count(n) * bytes(f.repeats);
            let held = if merging.use_zero_pages {
                all * (plain(1.0) - share(merging.zero_share))
            } else {
                all
            };
            parts.push(held / plain(merging.users_per_copy));
        }
    }
    let keys = [
        context.host(&[
            "merging.users_per_copy",
            "merging.use_zero_pages",
            "merging.zero_share",
        ]),
        context.every_guest(&["image", "kind"]),
    ];
    Step::new("merged copies that stay", number::bytes(value))
        .law(
            "Σ over images of κ·copies + Σ κ·n·s·(1 − zero_share with use_zero_pages)/L; copies = Σ (c − next smaller c)·⌈guests with c or more/L⌉; a container's files once an image",
            "kernel admin guide, mm/ksm, max_page_sharing",
        )
        .filled(sum(parts))
        .from(context.inputs(&keys.concat()))
}

/// Copies of the common pages of one family: of its containers' files, and of its machines by the scanner.
fn family_copies(context: &Context, sharing: &Sharing, family: &[usize]) -> Vec<Filled> {
    let of = |wanted: fn(&Footprint) -> bool| {
        let mut rows: Vec<(usize, u64, f64)> = context
            .running()
            .filter(|(place, _, _, f)| family.contains(place) && wanted(f) && f.common > 0.0)
            .map(|(place, n, _, f)| (place, n, f.common))
            .collect();
        rows.sort_by(|one, other| other.2.total_cmp(&one.2));
        rows
    };
    let mut parts = Vec::new();
    if let Some((_, _, largest)) = of(Footprint::shares_files).first() {
        parts.push(bytes(*largest));
    }
    let machines = of(Footprint::merges_common);
    if machines
        .iter()
        .any(|(place, _, _)| sharing.kappa[*place] > 0.0)
    {
        let weight = |(_, n, common): &(usize, u64, f64)| count(*n) * bytes(*common);
        let kappa = match machines.as_slice() {
            [(place, _, _)] => share(sharing.kappa[*place]),
            rows => {
                sum(rows
                    .iter()
                    .map(|row| weight(row) * share(sharing.kappa[row.0])))
                    / sum(rows.iter().map(weight))
            }
        };
        let users = context.model.host.merging.users_per_copy;
        let copies = machines.iter().enumerate().map(|(place, row)| {
            let own = match machines.get(place + 1) {
                Some((_, _, smaller)) => bytes(row.2) - bytes(*smaller),
                None => bytes(row.2),
            };
            let holders = sum(machines[..=place].iter().map(|(_, n, _)| count(*n)));
            own * ceil(holders / plain(users))
        });
        parts.push(kappa * sum(copies));
    }
    parts
}
