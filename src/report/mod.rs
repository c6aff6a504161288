//! What the program prints.
pub mod calibrate;
pub mod chart;
pub mod choose;
pub mod compare;
pub mod csv;
mod details;
pub mod difference;
pub mod document;
pub mod explain;
pub mod fit;
pub mod fleet;
pub mod given;
mod guesses;
pub mod guests;
mod hosts;
mod interval;
pub mod json;
pub mod markdown;
mod observed;
pub mod rollout;
pub mod table;
pub mod terminal;
mod text;
pub mod upgrade;

#[cfg(test)]
mod tests;
