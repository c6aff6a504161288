//! What the program prints.
pub mod chart;
pub mod compare;
pub mod csv;
pub mod document;
pub mod explain;
pub mod fit;
pub mod json;
pub mod markdown;
pub mod sentence;
pub mod svg;
pub mod terminal;
mod text;
pub mod words;

#[cfg(test)]
mod arbitrary;
