//! The tables of a lab that hold uncertain values.

use super::disk::Pool;
use super::draft::{Draft, Input};
use super::guest::Guest;
use super::host::{Backup, CoreGroup, Cpu, Network, Power};
use super::image::Image;
use super::memory::HostMemory;
use super::merging::Merging;
use super::policy::Policy;

/// A table with uncertain values.
#[derive(Debug, Clone)]
pub struct UncertainTable {
    /// The host it belongs to; none where it belongs to the lab.
    pub host: Option<usize>,
    /// The uncertain values.
    pub inputs: Vec<Input>,
    /// The table.
    pub draft: AnyDraft,
}

/// A table, and its place in its list where there are several.
#[derive(Debug, Clone)]
pub enum AnyDraft {
    /// `[policy]`
    Policy(Draft<Policy>),
    /// `[host.cpu]`
    Cpu(Draft<Cpu>),
    /// An entry of `host.cpu.groups`.
    Group(usize, Draft<CoreGroup>),
    /// `[host.memory]`
    Memory(Draft<HostMemory>),
    /// `[host.merging]`
    Merging(Draft<Merging>),
    /// `[[host.disk]]`
    Pool(usize, Draft<Pool>),
    /// `[host.network]`
    Network(Draft<Network>),
    /// `[host.power]`
    Power(Draft<Power>),
    /// `[host.backup]`
    Backup(Draft<Backup>),
    /// `[[image]]`
    Image(usize, Draft<Image>),
    /// `[[guest]]`
    Guest(usize, Draft<Guest>),
}
