//! One reading.

use crate::diagnose::source::Place;
use crate::survey::reading::Settled;

/// One reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Its line.
    pub place: Place,
    /// Number of its line, from 1.
    pub line: usize,
    /// When `[s]` since 1970, or since any other moment.
    pub at: Option<f64>,
    /// Guests that run.
    pub guests: u64,
    /// Memory in use `[B]`.
    pub used: f64,
    /// One step of the last digit that was written `[B]`.
    pub rounding: f64,
    /// Whether sharing has found what it will find.
    pub settled: Settled,
    /// Pages saved by sharing.
    pub sharing: Option<f64>,
    /// Memory that the kernel sees, as it reports it `[B]`.
    pub total: Option<f64>,
    /// Swap in use `[B]`.
    pub swap_used: Option<f64>,
    /// Swapped in and out `[B/s]`.
    pub swap_rate: Option<f64>,
    /// Share of the time that some task waited for memory.
    pub memory_pressure: Option<f64>,
    /// Bytes written to all disks since boot `[B]`.
    pub written: Option<f64>,
    /// The most that any guest has touched `[B]`.
    pub highest: Option<f64>,
}
