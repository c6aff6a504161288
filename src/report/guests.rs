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
use crate::words::caution::Caution;
use crate::words::guests as words;
use crate::words::interval::beside;

/// Builds the document; `written` is the copy of the lab.
pub fn document(answer: &GuestsAnswer, written: Option<&Copy>) -> Document {
    let mut document = Document::new();
    document.heading(1, format!("What the guests of {} really hold", answer.host));
    document.section(Rank::Answer).lead(words::lead(answer));
    document.section(Rank::Brief).table(short(answer));
    document.section(Rank::Answer);
    if let Some(one) = &answer.correlation {
        document.paragraph(format!(
            "Correlation of busy spells: {} ({} to {}), {}.",
            format::number(one.value),
            format::number(one.low),
            format::number(one.high),
            one.how
        ));
    }
    if let Some(Copy { path, .. }) = written {
        document.paragraph(format!(
            "A copy of the lab with these profiles was written to {path}."
        ));
    }
    let cautions: Vec<_> = answer.cautions.iter().map(Caution::worded).collect();
    document.caution_lines(
        &cautions,
        "Intervals and the rest: --full. Into the lab: --write NEW.toml.",
    );
    for profile in &answer.profiles {
        let added = if profile.added {
            ", new in the lab"
        } else {
            ""
        };
        let count = format::plural(profile.guests as u64, "guest", "guests");
        document.heading(2, format!("{}: {count}{added}", profile.guest));
        document.table(estimates(profile));
    }
    if !answer.periods.is_empty() {
        document.heading(2, "When guests are busy");
        document.table(periods(answer));
    }
    document.heading(2, "What the lines do not say");
    document.list(answer.profiles.iter().flat_map(words::not_measured));
    if let Some(draws) = answer.draws {
        document.paragraph(beside(draws, "lines"));
    }
    document.cautions(2, &cautions);
    document
}

/// The periods with how much each kind is busy in them.
fn periods(answer: &GuestsAnswer) -> Rows<&PeriodAnswer> {
    let kinds = answer.periods.first();
    let kinds: Vec<String> = kinds.map_or_else(Vec::new, |one| one.busy.keys().cloned().collect());
    let table = Table::of(&answer.periods)
        .left("period", |one| one.name.as_str())
        .right("of the time", |one| format::share(one.share));
    kinds.into_iter().fold(table, |table, kind| {
        let heading = format!("{kind} busy");
        table.right(heading, move |one| words::busy_in(one, &kind))
    })
}

/// A line a profile, the keys that matter most.
fn short(answer: &GuestsAnswer) -> Rows<&ProfileAnswer> {
    let mut table = Table::of(&answer.profiles)
        .left("profile", |one| one.guest.as_str())
        .right("guests", |one| format::count(one.guests as u64));
    for key in ["unique", "touched_busy", "busy", "written"] {
        let text = |one: &ProfileAnswer| {
            let found = one.estimates.get(key);
            found.map_or_else(|| "–".to_owned(), |found| words::value(key, found.value))
        };
        table = table.right(key, |one| text(one));
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
