//! What the program prints.
pub mod calibrate;
pub mod calibrate_chart;
pub mod chart;
pub mod choose;
pub mod compare;
mod compare_rows;
pub mod csv;
mod details;
pub mod document;
pub mod explain;
pub mod fit;
pub mod fleet;
pub mod given;
mod guesses;
mod interval;
pub mod json;
pub mod markdown;
pub mod picture;
pub mod rollout;
pub mod rollout_chart;
pub mod svg;
pub mod table;
pub mod terminal;
mod text;
pub mod upgrade;

#[cfg(test)]
mod arbitrary;
