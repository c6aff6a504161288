//! The tables of a lab that hold uncertain values.

use super::disk::Pool;
use super::draft::{Draft, Input};
use super::guest::Guest;
use super::host::{Backup, CoreGroup, Cpu, Network, Power};
use super::image::Image;
use super::memory::HostMemory;
use super::merging::Merging;

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
    pub fn host(&self) -> Option<usize> {
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
    pub fn inputs(&self) -> &[Input] {
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
}
