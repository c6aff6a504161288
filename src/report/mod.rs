//! What the program prints.
pub mod calibrate;
pub mod calibrate_chart;
pub mod chart;
pub mod choose;
pub mod compare;
mod compare_rows;
pub mod csv;
pub mod document;
pub mod explain;
pub mod fit;
mod fit_details;
mod fit_guesses;
mod fit_restart;
pub mod fleet;
pub mod given;
mod interval;
pub mod json;
pub mod markdown;
mod pay_back;
pub mod picture;
pub mod rollout;
pub mod rollout_chart;
pub mod svg;
pub mod terminal;
pub mod table;
mod text;
pub mod upgrade;
pub mod why;

#[cfg(test)]
mod arbitrary;
