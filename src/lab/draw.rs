//! A lab with other numbers for its uncertain values, thousands of times: setters by path, then the steps that make a
//! table whole. Only tables that hold drawn values are made again.

use super::draft::Input;
use super::drafts::AnyDraft;
use super::{Lab, Uncertain};

/// One host of a lab with all guests, ready to be drawn again and again.
#[derive(Debug)]
pub struct Redraw<'l> {
    likely: Lab,
    tables: Vec<Drawn<'l>>,
}

/// A table, and for each of its uncertain values the place of its number among the drawn ones.
#[derive(Debug)]
struct Drawn<'l> {
    draft: &'l AnyDraft,
    places: Vec<Option<usize>>,
}

impl<'l> Redraw<'l> {
    /// Makes a lab ready to be drawn for the host with that place; the numbers will come in the order of `inputs`.
    #[must_use]
    pub fn new(lab: &'l Lab, host: usize, inputs: &[&Uncertain]) -> Redraw<'l> {
        let place = |input: &Input| {
            let path = &input.uncertain.path;
            inputs.iter().position(|one| one.path == *path)
        };
        let own = lab
            .drafts
            .iter()
            .filter(|draft| draft.host().is_none_or(|at| at == host));
        let tables = own.map(|draft| Drawn {
            draft,
            places: draft.inputs().iter().map(place).collect(),
        });
        Redraw {
            likely: lab.alone(host),
            tables: tables.collect(),
        }
    }

    /// The lab of the likely values, to put drawn ones into.
    #[must_use]
    pub fn likely(&self) -> Lab {
        self.likely.clone()
    }

    /// Puts drawn numbers into a lab that [`Redraw::likely`] made; what is not drawn has its likely value.
    pub fn put(&self, lab: &mut Lab, numbers: &[f64]) {
        for Drawn { draft, places } in &self.tables {
            put(draft, lab, |input| numbers.get(places[input]?).copied());
        }
    }
}

/// Puts the drawn table into a lab whose only host is that of the table.
fn put(draft: &AnyDraft, lab: &mut Lab, drawn: impl Fn(usize) -> Option<f64>) {
    match draft {
        AnyDraft::Cpu(_, draft) => lab.hosts[0].cpu.base_cores = draft.drawn(drawn).base_cores,
        AnyDraft::Group([_, at], draft) => lab.hosts[0].cpu.groups[*at] = draft.drawn(drawn),
        AnyDraft::Memory(_, draft) => lab.hosts[0].memory = draft.drawn(drawn),
        AnyDraft::Merging(_, draft) => lab.hosts[0].merging = draft.drawn(drawn),
        AnyDraft::Pool([_, at], draft) => lab.hosts[0].disks[*at] = draft.drawn(drawn),
        AnyDraft::Network(_, draft) => lab.hosts[0].link = Some(draft.drawn(drawn).link),
        AnyDraft::Power(_, draft) => lab.hosts[0].power = Some(draft.drawn(drawn)),
        AnyDraft::Backup(_, draft) => lab.hosts[0].backup = Some(draft.drawn(drawn)),
        AnyDraft::Image(at, draft) => lab.images[*at] = draft.drawn(drawn),
        AnyDraft::Guest(at, draft) => lab.guests[*at] = draft.drawn(drawn),
    }
}
