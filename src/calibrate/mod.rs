//! Readings of a running host → what its guests really hold, and what that means for the plan.
//!
//! [`readings`] reads the table; [`classify`] says what each reading can tell; [`law`] writes each as a linear equation
//! in what is sought; [`solve`] fits them by least squares that keep every part at or above nothing; [`estimate`] joins
//! them; [`apply`] puts the result into the lab, and [`predict`] asks that lab again.

pub mod advice;
pub mod answer;
pub mod apply;
mod cautions;
pub mod cells;
pub mod classify;
pub mod doubt;
mod equations;
pub mod estimate;
pub mod estimates;
pub mod join;
mod judge;
pub mod law;
mod notes;
pub mod plan;
pub mod predict;
pub mod readings;
pub mod refuse;
pub mod solve;
pub mod written;
