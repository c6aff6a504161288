//! The document of `compare` where hosts are ranked.

use super::document::{Document, Rank};
use super::table::{Cell, Rows, Table};
use crate::lab::Lab;
use crate::purchase::choose::ChoiceAnswer;
use crate::purchase::choose::candidate::Candidate;
use crate::purchase::choose::replace::Replacing;
use crate::unit::format;
use crate::words::choose::{
    ENERGY_ESTIMATE, NOTHING_REPLACES, REWIRING, break_even, left_out, old_host, passed, pays_back,
    sentence,
};
use crate::words::host::CIRCUITS;
use crate::words::name::{or_dash, titled};

/// Hosts that a person is shown; the sheet and JSON have all.
const SHOWN: usize = 20;

/// Builds the document of ranked hosts.
#[must_use]
pub fn document(answer: &ChoiceAnswer, lab: &Lab) -> Document {
    let mut document = Document::new();
    document.heading(1, titled("Which host to choose", &lab.name));
    document.lead(sentence(answer, lab));
    if let Some(replacing) = &answer.replacing {
        replaced(&mut document, replacing, lab);
    }
    if !answer.ranking.is_empty() {
        document.heading(2, format!("Hosts by {}", answer.sort.replace('-', " ")));
        document.table(table(answer, lab));
        let more = answer.ranking.len().saturating_sub(SHOWN);
        if more > 0 {
            document.paragraph(format!(
                "And {} more, all of them in the csv and json formats.",
                format::count(more as u64)
            ));
        }
    }
    document.list(left_out(answer));
    if !answer.break_even.is_empty() {
        document.heading(2, "When the dearer one has paid back");
        let pairs = answer.break_even.iter();
        document.list(pairs.map(|pair| break_even(pair, &lab.currency)));
    }
    document.section(Rank::Reasons, 2, "Cautions");
    if answer.ranking.iter().any(|one| one.watts.is_some()) {
        document.caution("circuits", CIRCUITS);
    }
    document.caution("estimate", ENERGY_ESTIMATE);
    document
}

fn table<'a>(answer: &'a ChoiceAnswer, lab: &'a Lab) -> Rows<&'a Candidate> {
    let is_cheapest = |one: &Candidate| answer.cheapest.as_ref() == Some(&one.name);
    let strong = |one: &Candidate, text: String| Cell::strong_if(is_cheapest(one), text);
    let money = |amount| or_dash(amount, |amount| format::money(amount, &lab.currency));
    Table::of(answer.ranking.iter().take(SHOWN))
        .left("host", |one| {
            let mark = if is_cheapest(one) { " (cheapest)" } else { "" };
            strong(one, format!("{}{mark}", one.name))
        })
        .right("guests", |one| strong(one, format::count(one.guests)))
        .right("price", |one| strong(one, money(one.price)))
        .right("at the wall", |one| {
            strong(one, or_dash(one.watts, format::power))
        })
        .right("energy a year", |one| {
            strong(one, money(one.running_per_year))
        })
        .right(format::years(answer.years), |one| {
            strong(one, money(one.total))
        })
        .right("per guest", |one| strong(one, money(one.per_guest)))
        .left("past its limit", |one| strong(one, passed(one)))
}

/// Old against new.
fn replaced(document: &mut Document, replacing: &Replacing, lab: &Lab) {
    document.heading(2, format!("In place of {}", replacing.old));
    document.paragraph(old_host(replacing, &lab.currency));
    if replacing.by.is_empty() {
        document.paragraph(NOTHING_REPLACES);
        return;
    }
    let money = |amount| or_dash(amount, |amount| format::money(amount, &lab.currency));
    let table = Table::of(&replacing.by)
        .left("new", |one| format!("{} × {}", one.hosts, one.name))
        .right("price", |one| money(one.price))
        .right("at the wall", |one| or_dash(one.watts, format::power))
        .right("saves a year", |one| money(one.saved_per_year))
        .right("pays back in", |one| Cell::strong(pays_back(one)));
    document.table(table);
    document.caution("circuits", REWIRING);
}
