//! Lines of the guests that run, to set a plan beside.

use std::collections::BTreeSet;
use std::path::Path;

use super::{calibrate_guests, call_error, one_host};
use crate::calibrate::guests::lines::{Record, read};
use crate::cli::CommonArgs;
use crate::diagnose::{Diagnostic, Diagnostics};
use crate::lab::Lab;
use crate::sizing::answer::FitAnswer;

/// What a file recorded of the guests of the one host that is asked about.
///
/// # Errors
/// Several hosts, a file without lines of guests, and one without any kind of the lab.
pub(super) fn record(file: &Path, lab: &Lab, common: &CommonArgs) -> Result<Record, Diagnostics> {
    one_host(lab, common)?;
    let record =
        read(&file.display().to_string(), &calibrate_guests::lines(file)?)?.by_names(&lab.guests);
    let kinds: BTreeSet<&str> = record.guests.iter().map(|guest| &*guest.kind).collect();
    if lab.guests.iter().any(|guest| kinds.contains(&*guest.name)) {
        return Ok(record);
    }
    Err(call_error::not_recorded(file, kinds, lab).into())
}

/// Refuses a record of a single moment, which shows no load.
pub(super) fn has_moments(file: &Path, answer: &FitAnswer) -> Result<(), Diagnostic> {
    let is_shown = answer.hosts.iter().all(|host| host.observed.is_some());
    is_shown
        .then_some(())
        .ok_or_else(|| call_error::one_moment(file))
}
