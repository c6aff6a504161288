//! berthage: how many guests a small virtualization host holds, what runs out first, and how to get there.
//!
//! One direction, no way back, each step a value that could be printed:
//!
//! ```text
//! TOML files ──inventory──▶ Lab ──sizing, rollout, calibrate──▶ Answer ──report──▶ Document ──▶ terminal | markdown | json | csv
//! what was typed ──cli──▶ request ─┘  (pure; model has the laws)
//! ```
//!
//! - [`inventory`] turns text into a valid [`lab::Lab`]: after it nothing can be wrong with the numbers.
//! - [`model`] holds the laws: small pure functions in the symbols of their sources.
//! - [`sizing`] asks questions of the laws: what is the largest N, what runs out first.
//! - [`survey`] reads a running host's own files, [`calibrate`] fits what its guests hold to such readings.
//! - [`report`] builds one document from an answer and writes it in each markup.
//! - [`pipe`] reads and writes what may be a pipe, and reports a long wait.
//! - [`command`] joins them; only [`cli`] knows the argument parser, only [`report`] and [`diagnose`] colour and width.
#![forbid(unsafe_code)]

pub mod calibrate;
pub mod cli;
pub mod command;
pub mod diagnose;
pub mod explain;
pub mod fleet;
pub mod inventory;
pub mod lab;
pub mod model;
pub mod pipe;
pub mod purchase;
pub mod report;
pub mod rollout;
pub mod sizing;
pub mod survey;
pub mod unit;
pub mod words;
