//! Values with units: parse and format.
mod dimension;
pub mod format;
pub mod parse;
mod symbols;
