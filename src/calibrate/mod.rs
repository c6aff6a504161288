//! Readings of a running host → what its guests really hold, and what that means for the plan.
//!
//! [`readings`] reads the table; [`classify`] decides how each reading is used; [`memory`] has the memory of a number of
//! guests as a linear function of the unknowns; [`least_squares`] fits them within the bounds of sound numbers; [`fit`]
//! and [`estimate`] join them; [`apply`] puts the result into the lab, and [`predict`] asks that lab again; [`answer`] is
//! the one value that reports are written from.

pub mod answer;
pub mod apply;
pub mod cautions;
pub mod classify;
mod consistency;
pub mod equations;
pub mod error;
pub mod estimate;
pub mod estimates;
pub mod fit;
pub mod guests;
pub mod least_squares;
pub mod memory;
pub mod next_reading;
pub mod notes;
pub mod parameters;
pub mod predict;
pub mod prior;
pub mod question;
pub mod readings;
pub mod smaller_memory;
pub mod swap;
pub mod usage;
pub mod written;
