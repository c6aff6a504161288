//! What the host has: composition of N, and memory.

use super::{Context, Law, Section, number};
use crate::model::memory::Swap;
use crate::sizing::composition::Unit;
use crate::unit::format;

/// How N is split over the profiles.
pub(super) fn composition(context: &Context) -> Section {
    let model = context.model;
    let mut section = Section::new("Which guests run");
    for (guest, count) in model.lab.guests.iter().zip(context.counts) {
        let (formula, filled) = match (model.composition.unit(), guest.number) {
            (Unit::Sets, _) => (
                "N·count",
                format!("{}·{}", context.n, count / context.n.max(1)),
            ),
            (Unit::Guests, crate::inventory::lab::Number::Fixed(fixed)) => {
                ("count", fixed.to_string())
            }
            (Unit::Guests, crate::inventory::lab::Number::Share(share)) => (
                "seats of N by the highest share/(2·seats + 1)",
                format!("N = {}, share {share}", context.n),
            ),
        };
        section.step(
            format!("guests of {}", guest.name),
            number::plain(*count as f64, "guests"),
            Law {
                formula,
                source: "Balinski & Young, Fair Representation, 1982 (Webster's method)",
            },
            filled,
            context.inputs(&context.guest(&guest.name, &["count", "share"])),
        );
    }
    section
}

/// Memory supply, the safe limit and the cliff.
pub(super) fn memory(context: &Context) -> Section {
    let model = context.model;
    let memory = &model.host.memory;
    let keep_free = model.lab.policy.memory_keep_free;
    let mut section = Section::new("Memory of the host");
    let installed: f64 = memory.modules.iter().sum();
    let b = format::bytes;
    section.step(
        "visible",
        number::bytes(model.visible),
        Law {
            formula: "(Σ modules − firmware_reserved)·(1 − 64/4096)",
            source: "Linux kernel documentation, memory model: 64 B of struct page per 4 KiB page",
        },
        format!(
            "({} − {})·(1 − 64/4096)",
            b(installed),
            b(memory.firmware_reserved)
        ),
        context.inputs(&context.host(&["memory.modules", "memory.firmware_reserved"])),
    );
    section.step(
        "usable (the load line: safe limit for guests)",
        number::bytes(model.usable()),
        Law {
            formula: "visible − base − file_cache − keep_free·visible",
            source: "definition of this project",
        },
        format!(
            "{} − {} − {} − {}·{}",
            b(model.visible),
            b(memory.base),
            b(memory.file_cache),
            format::share(keep_free),
            b(model.visible)
        ),
        context.inputs(
            &[
                context.host(&["memory.base", "memory.file_cache"]),
                context.policy(&["memory_keep_free"]),
            ]
            .concat(),
        ),
    );
    let (mean, cliff) = model.cliff(context.counts, memory.file_cache_floor);
    let swap = Swap {
        disk: memory.swap,
        compressed: memory.compressed_swap,
        ratio: memory.compressed_swap_ratio,
    };
    let relief = cliff - (model.visible - memory.base - memory.file_cache_floor);
    section.step(
        "cliff (past it the kernel kills guests)",
        number::bytes(cliff),
        Law {
            formula: "visible − base − file_cache_floor + swap; compressed swap adds z − z/q; never more than can be swapped",
            source: "Linux mm/oom_kill.c; zram documentation; definition of this project",
        },
        format!(
            "{} − {} − {} + {} (swap {}, compressed {} at {}:1, guests' mean {})",
            b(model.visible),
            b(memory.base),
            b(memory.file_cache_floor),
            b(relief),
            b(swap.disk),
            b(swap.compressed),
            swap.ratio,
            b(mean)
        ),
        context.inputs(&context.host(&[
            "memory.file_cache_floor",
            "memory.swap",
            "memory.compressed_swap",
            "memory.compressed_swap_ratio",
        ])),
    );
    if swap.compressed > 0.0 {
        let swappable = (swap.disk + swap.compressed).min(mean);
        let full = cliff - relief + swappable - swap.compressed / swap.ratio;
        section.step(
            "cliff if the compressed store took its full size whatever is in it",
            number::bytes(full),
            Law {
                formula: "visible − base − file_cache_floor + min(swap + z, guests' mean) − z/q",
                source: "for comparison; a store takes memory for what it holds (Linux zram documentation)",
            },
            format!("compressed {} at {}:1", b(swap.compressed), swap.ratio),
            Vec::new(),
        );
    }
    section
}
