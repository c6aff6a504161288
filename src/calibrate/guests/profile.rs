//! All that the lines say of a kind.

use super::builder::ProfileBuilder;
use super::estimates::{Estimates, NotMeasured};
use super::watch::GuestKind;
use crate::lab::Guest;

/// What the lines say of a kind, and what they do not; `lab` is the guest as the lab has it.
pub fn estimates(kind: &GuestKind, lab: &Guest) -> (Estimates, Vec<NotMeasured>) {
    let mut builder = ProfileBuilder {
        kind,
        lab,
        found: Estimates::new(),
        not_measured: Vec::new(),
    };
    builder.given();
    builder.memory();
    builder.shared();
    builder.time();
    builder.traffic();
    (builder.found, builder.not_measured)
}
