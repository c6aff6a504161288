//! What one guest of each profile holds on the host.

use super::context::Context;
use super::filled::{bytes, max, min, plain, share};
use super::step::PROJECT;
use super::{Section, Step, number};
use crate::lab::{Guest, Kind};
use crate::model::footprint::{Age, Footprint};

/// One section a profile.
pub(super) fn all(context: &Context) -> Vec<Section> {
    let guests = context.model.lab.guests.iter();
    guests
        .zip(context.model.footprints(Age::LivedIn))
        .map(|(guest, footprint)| one(context, guest, footprint))
        .collect()
}

fn one(context: &Context, guest: &Guest, f: &Footprint) -> Section {
    let mut section = Section::new(format!("One guest of {}, lived-in", guest.name));
    let keys = |names: &[&str]| context.inputs(&context.guest(&guest.name, names));
    let grown = || share(f.keeps) * (bytes(f.touched_busy) - bytes(f.touched));
    section.add(
        Step::new("ti, idle resident", number::bytes(f.idle))
            .law(
                "t0 + k·(t1 − t0); pinned: memory; huge pages: memory in whole pages of 2 MiB",
                "keeps measured for this project",
            )
            .filled(bytes(f.touched) + grown())
            .from(keys(&[
                "kind",
                "memory",
                "touched",
                "touched_busy",
                "keeps",
                "busy",
                "pinned",
                "huge_pages",
            ])),
    );
    if f.swappable() {
        section.add(
            Step::new("c, common", number::bytes(f.common))
                .law("common + min(common_busy, k·(t1 − t0))", PROJECT)
                .filled(bytes(guest.common) + min([bytes(guest.common_busy), grown()]))
                .from(keys(&["image", "common", "common_busy"])),
        );
    }
    section.add(
        Step::new("u, unique", number::bytes(f.unique))
            .law("max(0, ti − c − s)", PROJECT)
            .filled(max([
                plain(0.0),
                bytes(f.idle) - bytes(f.common) - bytes(f.repeats),
            ]))
            .from(keys(&["repeats", "merge"])),
    );
    section.add(give(context, guest, f));
    section
}

/// What a balloon can take.
fn give(context: &Context, guest: &Guest, f: &Footprint) -> Step {
    let lines = [guest.balloon_floor, guest.working_set];
    let kept: Vec<f64> = lines.into_iter().flatten().collect();
    let may = f.swappable() && guest.kind == Kind::Machine && !kept.is_empty();
    let filled = if may {
        let line = max(kept.into_iter().map(bytes));
        min([bytes(f.unique), max([plain(0.0), bytes(f.idle) - line])])
    } else {
        plain(0.0)
    };
    Step::new("give, to a balloon", number::bytes(f.give))
        .law("min(u, max(0, ti − max(balloon_floor, working_set))); 0 where neither is given, for pinned guests, huge pages and containers", "OASIS virtio, balloon device")
        .filled(filled)
        .from(context.inputs(&context.guest(&guest.name, &["balloon_floor", "working_set"])))
}
