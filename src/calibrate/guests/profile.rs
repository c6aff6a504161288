//! All that the lines say of a kind.

use schemars::JsonSchema;
use serde::Serialize;

use super::builder::ProfileBuilder;
use super::common::PeriodAnswer;
use super::estimates::{Estimates, Needs, NotMeasured};
use super::lines::Record;
use super::spells::usual_step;
use super::watch::{ClassedGuest, GuestKind};
use crate::lab::Guest;

/// What is known of a kind.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "CalibratedProfile")]
pub struct ProfileAnswer {
    /// Its name.
    pub guest: String,
    /// Whether the lab has no guest of that name, so that one is added.
    pub added: bool,
    /// How many were watched.
    pub guests: usize,
    /// How many ran at the end.
    pub running: u64,
    /// How many times they were busy.
    pub spells: usize,
    /// What the lines say, by key; `unique` is what one more settled guest holds, its process with it.
    pub estimates: Estimates,
    /// What they do not say, and what would tell it.
    #[serde(rename = "untold")]
    pub not_measured: Vec<NotMeasured>,
    /// The periods that it is busy in with other chances: name, chance and where that lies. The answer's `periods` has them.
    #[serde(skip)]
    pub busy: Vec<(String, f64, [f64; 2])>,
}

/// What is known of the kinds of a record beside the guests that a lab has.
pub fn profiles(guests: &[Guest], record: &Record) -> Vec<ProfileAnswer> {
    let usual = usual_step(&record.guests);
    let kinds = GuestKind::all(&record.guests, usual);
    let kinds = kinds.iter();
    kinds
        .map(|kind| profile(guests, kind, usual, &[]))
        .collect()
}

/// What is known of one kind beside the guests that a lab has.
pub(super) fn profile(
    guests: &[Guest],
    kind: &GuestKind,
    usual: f64,
    periods: &[PeriodAnswer],
) -> ProfileAnswer {
    let known = guests.iter().find(|guest| guest.name == kind.name);
    let lab = known.cloned().unwrap_or_else(|| {
        let memory = kind.each(|guest| guest.watched.memory).into_iter();
        Guest::with_defaults(kind.name, memory.fold(0.0, f64::max))
    });
    let mut builder = ProfileBuilder {
        kind,
        lab: &lab,
        found: Estimates::new(),
        not_measured: Vec::new(),
    };
    builder.given();
    builder.memory();
    builder.shared();
    builder.time();
    builder.traffic();
    let busy = periods.iter().filter_map(|period| {
        let ends = *period.intervals.get(kind.name)?;
        Some((period.name.clone(), *period.busy.get(kind.name)?, ends))
    });
    let busy: Vec<_> = busy.collect();
    if lab.busy.is_by_period() && busy.is_empty() && builder.found.remove("busy").is_some() {
        builder.needs("busy", Needs::Periods);
    }
    // A guest whose last line is as late as any runs still.
    let last = |guest: &ClassedGuest| Some(guest.watched.moments().last()?.at);
    let mut running = kind.each(last);
    running.retain(|at| *at >= kind.span[1] - 3.0 * usual);
    ProfileAnswer {
        guest: kind.name.to_owned(),
        added: known.is_none(),
        guests: kind.guests.len(),
        running: running.len() as u64,
        spells: kind.spells(),
        estimates: builder.found,
        not_measured: builder.not_measured,
        busy,
    }
}

impl ProfileAnswer {
    /// A guest with the memory, vCPUs and number of the lines, and defaults for all else.
    pub fn default_guest(&self) -> Guest {
        let of = |key: &str| self.estimates.get(key).map(|one| one.value);
        let mut guest = Guest::with_defaults(&self.guest, of("memory").unwrap_or(0.0));
        guest.vcpus = of("vcpus").map_or(1, |vcpus| vcpus as u64);
        guest.count = self.running.max(1);
        guest.share = None;
        guest
    }
}
