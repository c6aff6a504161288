//! The document of `calibrate` about lines of guests.

use super::calibrate::Copy;
use super::document::{Document, Rank};
use super::table::{Rows, Table};
use crate::calibrate::estimates::Provenance;
use crate::calibrate::guests::answer::GuestsAnswer;
use crate::calibrate::guests::common::PeriodAnswer;
use crate::calibrate::guests::estimates::Estimated;
use crate::calibrate::guests::profile::ProfileAnswer;
use crate::unit::format;
use crate::words::guests as words;
use crate::words::interval::beside;
use crate::words::name::{only_if, or_dash};

/// Builds the document; `written` is the copy of the lab.
pub fn document(answer: &GuestsAnswer, written: Option<&Copy>) -> Document {
    let title = format!("What the guests of {} really hold", answer.host);
    let mut document = Document::answering(title, words::lead(answer));
    document.section(Rank::Brief).table(short(answer));
    document.section(Rank::Answer);
    document.say(answer.correlation.as_ref().map(words::correlation));
    let copied = |copy: &Copy| {
        format!(
            "A copy of the lab with these profiles was written to {}.",
            copy.path
        )
    };
    document.say(written.map(copied));
    let more = "Intervals and the rest: --full. Into the lab: --write NEW.toml.";
    document.caution_lines(&answer.cautions, more);
    for profile in &answer.profiles {
        let added = only_if(profile.added, ", new in the lab");
        let count = format::guests(profile.guests as u64);
        document.heading(2, format!("{}: {count}{added}", profile.guest));
        document.table(estimates(profile));
    }
    if !answer.periods.is_empty() {
        document.heading(2, "When guests are busy");
        document.table(periods(answer));
    }
    document.heading(2, "What the lines do not say");
    document.list(answer.profiles.iter().flat_map(words::not_measured));
    document.say(answer.draws.map(|draws| beside(draws, "lines")));
    document.cautions(2, &answer.cautions);
    document
}

/// The periods with how much each kind is busy in them.
fn periods(answer: &GuestsAnswer) -> Rows<&PeriodAnswer> {
    let kinds = answer.periods.iter().take(1);
    let kinds = kinds.flat_map(|one| one.busy.keys());
    let table = Table::of(&answer.periods)
        .left("period", |one| one.name.as_str())
        .right("of the time", |one| format::share(one.share));
    kinds.fold(table, |table, kind| {
        table.right(format!("{kind} busy"), |one| words::busy_in(one, kind))
    })
}

/// A line a profile, the keys that matter most.
fn short(answer: &GuestsAnswer) -> Rows<&ProfileAnswer> {
    let mut table = Table::of(&answer.profiles)
        .left("profile", |one| one.guest.as_str())
        .right("guests", |one| format::count(one.guests as u64));
    for key in ["unique", "touched_busy", "busy", "written"] {
        table = table.right(key, |one| {
            let found = one.estimates.get(key).map(|found| found.value);
            or_dash(found, |found| words::value(key, found))
        });
    }
    table
}

fn estimates(profile: &ProfileAnswer) -> Rows<(&str, &Estimated)> {
    Table::of(profile.estimates.iter().map(|(key, one)| (*key, one)))
        .left("", |(key, _)| *key)
        .right("value", |(key, one)| words::value(key, one.value))
        .right("90 % interval", |(key, one)| words::interval(key, one))
        .left("how", |(_, one)| match one.from {
            Provenance::Both => format!("{} (and the lab)", one.how),
            _ => one.how.to_string(),
        })
}
