//! Values with units: parse and format.
mod dimension;
pub mod format;
pub mod instant;
pub mod parse;
pub mod pattern;
pub mod printable;
mod symbols;
mod units;
