//! Which guests run, what one of each holds, and what memory the host has.

use super::answer::{Section, Step};
use super::context::Context;
use super::counts::guests as all_guests;
use super::symbols::MEMORY;
use crate::lab::Guest;
use crate::model::footprint::Age;
use crate::sizing::composition::Unit;
use crate::unit::format;

/// How N is split over the profiles.
pub(super) fn composition(context: &Context) -> Section {
    let guests = context.model.lab.guests.iter().zip(context.counts);
    let mut steps: Vec<Step> = guests.map(|(guest, n)| split(context, guest, *n)).collect();
    steps.push(all_guests(context));
    Section::new("Which guests run", MEMORY, steps)
}

fn split<'a>(context: &Context<'a>, guest: &'a Guest, n: u64) -> Step {
    let (id, filled) = match (context.model.composition.unit(), guest.count, guest.share) {
        (Unit::Sets, count, None) => {
            let [sets, fixed] = [context.n, count].map(format::count);
            ("mix.{}, sets", format!("{sets}·{fixed}"))
        }
        (Unit::Guests, 0, Some(share)) => (
            "mix.{}, scaling",
            format!("N = {}, share {share}", context.n),
        ),
        (Unit::Guests, count, Some(share)) => (
            "mix.{}, count and share",
            format!("{}, N = {}, share {share}", format::count(count), context.n),
        ),
        (Unit::Sets, ..) | (Unit::Guests, _, None) => ("mix.{}, fixed", format::count(n)),
    };
    context.of_guest(guest).step(id, n as f64, filled)
}

/// Memory supply and the safe limit.
pub(super) fn memory(context: &Context) -> Section {
    let worked = context.worked;
    let steps = vec![
        context.worked("memory.visible", worked.visible),
        context.worked("memory.usable", worked.usable()),
    ];
    Section::new("Memory of the host", MEMORY, steps)
}

/// One guest of each profile as the host sees it, a section a profile.
pub(super) fn guests(context: &Context) -> Vec<Section> {
    let guests = context.model.lab.guests.iter();
    let footprints = guests.zip(context.worked.footprints(Age::LivedIn));
    footprints
        .map(|(guest, f)| {
            let context = context.of_guest(guest);
            let mut steps = vec![context.worked("idle guest", f.idle)];
            if f.swappable() {
                steps.push(context.worked("common pages", f.common));
            }
            steps.push(context.worked("unique pages", f.unique));
            steps.push(context.worked("given to a balloon", f.give));
            let title = format!("One guest of {}, lived-in", guest.name);
            Section::new(title, MEMORY, steps)
        })
        .collect()
}
