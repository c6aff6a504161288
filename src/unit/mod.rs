//! Values with units: parse and format.
mod dimension;
pub mod format;
pub mod instant;
pub mod parse;
pub mod pattern;
mod symbols;
mod units;
