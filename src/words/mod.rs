//! The prose of answers: an answer holds data, a file here says how it is put.
//!
//! Where JSON holds a text, the data are serialised by their words: the rooms of the answers know no sentence, and
//! screens, pages and JSON cannot say different things.

pub mod calibrate;
pub mod caution;
pub mod choose;
pub mod difference;
pub mod fit;
pub mod fleet;
pub mod growth;
pub mod guests;
pub mod host;
pub mod interval;
pub mod name;
pub mod observed;
pub mod picture;
pub mod purchase;
pub mod restart;
pub mod rollout;
pub mod start;
pub mod survey;
pub mod why;
