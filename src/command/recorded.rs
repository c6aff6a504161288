//! Lines of the guests that run, to set a plan beside.

use std::path::Path;

use super::call_error::{CallError, guest_names};
use super::{calibrate_guests, one_host};
use crate::calibrate::guests::lines::{Record, read};
use crate::cli::CommonArgs;
use crate::diagnose::Diagnostics;
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
    let known = guest_names(&lab.guests);
    let mut kinds: Vec<String> = record
        .guests
        .iter()
        .map(|guest| guest.kind.clone())
        .collect();
    kinds.dedup();
    if kinds.iter().any(|kind| known.contains(kind)) {
        return Ok(record);
    }
    kinds.sort();
    kinds.dedup();
    Err(CallError::NotRecorded(file.to_owned(), kinds, known).into())
}

/// Refuses a record of a single moment, which shows no load.
pub(super) fn has_moments(file: &Path, answer: &FitAnswer) -> Result<(), CallError> {
    let is_shown = answer.hosts.iter().all(|host| host.observed.is_some());
    is_shown
        .then_some(())
        .ok_or_else(|| CallError::OneMoment(file.to_owned()))
}
