//! How swap does, by the readings.

use super::readings::Reading;

/// Slower than this is not noticed `[B/s]` (assumption).
const QUIET: f64 = 100e3;
/// From here on guests wait for it `[B/s]` (assumption).
const CHURNING: f64 = 1e6;
/// Share of the time waiting for memory from which on a host suffers (assumption).
const SUFFERING: f64 = 0.10;

/// The most that was read of swap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swap {
    /// What that means.
    pub state: SwapState,
    /// What is in it `[B]`.
    pub used: f64,
    /// Swapped in and out `[B/s]`.
    pub rate: Option<f64>,
    /// Share of the time that some task waited for memory.
    pub pressure: Option<f64>,
}

/// Whether guests wait for swap.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SwapState {
    /// They do, again and again.
    Churning,
    /// Nothing is in it.
    Empty,
    /// What is in it is not used.
    Quiet,
    /// It is used now and then.
    Occasional,
}

/// Whether swap is quiet or churning; none where it was not read.
pub fn swap(readings: &[Reading]) -> Option<Swap> {
    let most =
        |figure: fn(&Reading) -> Option<f64>| readings.iter().filter_map(figure).reduce(f64::max);
    let used = most(|reading| reading.swap_used);
    let rate = most(|reading| reading.swap_rate);
    let pressure = most(|reading| reading.memory_pressure);
    if used.is_none() && rate.is_none() {
        return None;
    }
    let (held, moved, waited) = (
        used.unwrap_or(0.0),
        rate.unwrap_or(0.0),
        pressure.unwrap_or(0.0),
    );
    let state = if moved >= CHURNING || waited >= SUFFERING {
        SwapState::Churning
    } else if held == 0.0 && moved == 0.0 {
        SwapState::Empty
    } else if moved < QUIET {
        SwapState::Quiet
    } else {
        SwapState::Occasional
    };
    Some(Swap {
        state,
        used: held,
        rate,
        pressure,
    })
}
