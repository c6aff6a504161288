//! All that the lines say of a kind.

use super::estimates::{Estimates, Untold};
use super::made::Made;
use super::watch::Kind;
use crate::lab::Guest;

/// What the lines say of a kind, and what they do not; `lab` is the guest as the lab has it.
#[must_use]
pub fn estimates(kind: &Kind, lab: &Guest) -> (Estimates, Vec<Untold>) {
    let mut made = Made {
        kind,
        lab,
        found: Estimates::new(),
        untold: Vec::new(),
    };
    made.given();
    made.memory();
    made.shared();
    made.time();
    made.traffic();
    (made.found, made.untold)
}
