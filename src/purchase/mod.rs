//! What to buy: hosts side by side, the next upgrade, a choice from a catalogue.

pub mod choose;
pub mod compare;
mod money;
pub mod upgrade;
