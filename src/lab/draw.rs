//! A lab with other numbers for its uncertain values, thousands of times: setters by path, then the steps that make a
//! table whole. Only tables that hold drawn values are made again.

use super::draft::{Draft, Input};
use super::{
    Backup, CoreGroup, Cpu, Guest, HostMemory, Image, Lab, Merging, Network, Pool, Power, Uncertain,
};

/// A table with uncertain values, and where it stands in the lab: its host first, its place there second.
#[derive(Debug, Clone)]
pub enum AnyDraft {
    /// `[host.cpu]`
    Cpu(usize, Draft<Cpu>),
    /// An entry of `host.cpu.groups`.
    Group([usize; 2], Draft<CoreGroup>),
    /// `[host.memory]`
    Memory(usize, Draft<HostMemory>),
    /// `[host.merging]`
    Merging(usize, Draft<Merging>),
    /// `[[host.disk]]`
    Pool([usize; 2], Draft<Pool>),
    /// `[host.network]`
    Network(usize, Draft<Network>),
    /// `[host.power]`
    Power(usize, Draft<Power>),
    /// `[host.backup]`
    Backup(usize, Draft<Backup>),
    /// `[[image]]`
    Image(usize, Draft<Image>),
    /// `[[guest]]`
    Guest(usize, Draft<Guest>),
}

impl AnyDraft {
    /// The host it belongs to; none where it belongs to the lab.
    fn host(&self) -> Option<usize> {
        match self {
            AnyDraft::Cpu(host, _)
            | AnyDraft::Group([host, _], _)
            | AnyDraft::Memory(host, _)
            | AnyDraft::Merging(host, _)
            | AnyDraft::Pool([host, _], _)
            | AnyDraft::Network(host, _)
            | AnyDraft::Power(host, _)
            | AnyDraft::Backup(host, _) => Some(*host),
            AnyDraft::Image(..) | AnyDraft::Guest(..) => None,
        }
    }

    /// The uncertain values.
    fn inputs(&self) -> &[Input] {
        match self {
            AnyDraft::Cpu(_, draft) => draft.inputs(),
            AnyDraft::Group(_, draft) => draft.inputs(),
            AnyDraft::Memory(_, draft) => draft.inputs(),
            AnyDraft::Merging(_, draft) => draft.inputs(),
            AnyDraft::Pool(_, draft) => draft.inputs(),
            AnyDraft::Network(_, draft) => draft.inputs(),
            AnyDraft::Power(_, draft) => draft.inputs(),
            AnyDraft::Backup(_, draft) => draft.inputs(),
            AnyDraft::Image(_, draft) => draft.inputs(),
            AnyDraft::Guest(_, draft) => draft.inputs(),
        }
    }

    /// Puts the drawn table into a lab whose only host is that of the table.
    fn put(&self, lab: &mut Lab, drawn: impl Fn(usize) -> Option<f64>) {
        match self {
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
}

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
            draft.put(lab, |input| numbers.get(places[input]?).copied());
        }
    }
}
