//! One guest of each profile as the host sees it.

use super::context::Context;
use super::step::PROJECT;
use super::{Section, Step, figure};
use crate::lab::Guest;
use crate::model::footprint::{Age, Footprint};
use crate::model::tape::Term;

/// A section a profile.
pub(super) fn all(context: &Context) -> Vec<Section> {
    let guests = context.model.lab.guests.iter();
    guests
        .zip(context.worked.footprints(Age::LivedIn))
        .map(|(guest, footprint)| one(context, guest, footprint))
        .collect()
}

fn one(context: &Context, guest: &Guest, f: &Footprint<Term>) -> Section {
    let mut section = Section::new(format!("One guest of {}, lived-in", guest.name));
    let keys = |names: &[&str]| context.guest(&guest.name, names);
    section.add(
        Step::new("ti, idle resident", figure::bytes(f.idle.value()))
            .law(
                "t0 + k·(t1 − t0); pinned: memory; huge pages: memory in whole pages of 2 MiB",
                "keeps measured for this project",
            )
            .filled(f.idle)
            .also(keys(&[
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
            Step::new("c, common", figure::bytes(f.common.value()))
                .law("common + min(common_busy, k·(t1 − t0))", PROJECT)
                .filled(f.common)
                .also(keys(&["image", "common_busy"])),
        );
    }
    section.add(
        Step::new("u, unique", figure::bytes(f.unique.value()))
            .law("max(0, ti − c − s)", PROJECT)
            .filled(f.unique)
            .also(keys(&["repeats", "merge"])),
    );
    section.add(
        Step::new("give, to a balloon", figure::bytes(f.give.value()))
            .law("min(u, max(0, ti − max(balloon_floor, working_set))); 0 where neither is given, for pinned guests, huge pages and containers", "OASIS virtio, balloon device")
            .filled(f.give)
            .also(keys(&["balloon_floor", "working_set"])),
    );
    section
}
