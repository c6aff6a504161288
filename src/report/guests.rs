//! The document of `calibrate` about lines of guests.

use super::calibrate::Copy;
use super::document::{Document, Rank};
use super::table::{Rows, Table};
use crate::calibrate::estimates::Provenance;
use crate::calibrate::guests::answer::{GuestsAnswer, ProfileAnswer};
use crate::calibrate::guests::estimates::Estimated;
use crate::unit::format;
use crate::words::guests as words;

/// Builds the document; `written` is the copy of the lab.
#[must_use]
pub fn document(answer: &GuestsAnswer, written: Option<&Copy>) -> Document {
    let mut document = Document::new();
    document.heading(1, format!("What the guests of {} really hold", answer.host));
    document.lead(words::lead(answer));
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
    if let Some(one) = &answer.correlation {
        document.paragraph(format!(
            "Correlation of busy spells: {:.2} ({:.2} to {:.2}), {}.",
            one.value, one.low, one.high, one.how
        ));
    }
    if let Some(Copy { path, .. }) = written {
        document.paragraph(format!(
            "A copy of the lab with these profiles was written to {path}."
        ));
    }
    document.section(Rank::Reasons, 2, "What the lines do not tell");
    document.list(answer.profiles.iter().flat_map(words::untold));
    document.section(Rank::Reasons, 2, "Cautions");
    document.cautions(&answer.cautions);
    document
}

fn estimates(profile: &ProfileAnswer) -> Rows<(&str, &Estimated)> {
    Table::of(profile.estimates.iter().map(|(key, one)| (*key, one)))
        .left("", |(key, _)| *key)
        .right("found", |(key, one)| words::value(key, one.value))
        .right("nine times of ten between", |(key, one)| {
            words::interval(key, one)
        })
        .left("how", |(_, one)| match one.from {
            Provenance::Both => format!("{} (and the lab)", one.how),
            _ => one.how.to_string(),
        })
}
