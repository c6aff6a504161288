//! Lines of guests that run together on a host → a profile of each kind.
//!
//! `lines` reads them; `spells` classes the time of a guest; `watch` gathers what each guest showed; `profile` has the
//! numbers of a kind, `interval` how far they may be off; `common` what all kinds share in time; `apply` puts the
//! numbers into a lab, and `answer` is what reports are written from. `observed` sets a plan beside such lines: `moments` has
//! them side by side, `replay` draws from them.

pub mod answer;
pub mod apply;
mod builder;
pub mod common;
pub mod estimates;
pub mod interval;
pub mod lines;
mod memory;
mod moments;
pub mod observed;
pub mod profile;
mod replay;
mod sharing;
pub mod spells;
pub mod table;
mod time;
pub mod watch;
