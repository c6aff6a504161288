//! The document of `upgrade`.

use super::document::{Document, Rank};
use super::table::{Cell, Rows, Table};
use crate::lab::Lab;
use crate::purchase::upgrade::answer::{Choice, UpgradeAnswer};
use crate::purchase::upgrade::change::Note;
use crate::unit::format;
use crate::words::name::or_dash;
use crate::words::purchase::{ESTIMATE, NO_PRICES, PRICES, binds_then, gain, held, sentence};

/// Builds the document of an answer of `upgrade`.
#[must_use]
pub fn document(answer: &UpgradeAnswer, lab: &Lab) -> Document {
    let mut document = Document::new();
    document.heading(1, format!("What to buy next for {}", answer.host));
    document.lead(sentence(answer, lab));
    if answer.options.is_empty() {
        document.paragraph(NO_PRICES);
    } else {
        document.heading(
            2,
            "What each purchase adds, most guests for the money first",
        );
        document.table(table(answer, lab));
        document.list(notes(answer).iter().map(Note::to_string));
    }
    document.section(Rank::Reasons, 2, "Cautions");
    document.caution("prices", PRICES);
    document.caution("estimate", ESTIMATE);
    document
}

/// The notes of all options, each once; several changes at once have only those that one of them has by itself.
fn notes(answer: &UpgradeAnswer) -> Vec<Note> {
    let mut notes = Vec::new();
    for option in &answer.options {
        if let [note] = option.note.0[..]
            && !notes.contains(&note)
        {
            notes.push(note);
        }
    }
    notes
}

fn table<'a>(answer: &'a UpgradeAnswer, lab: &'a Lab) -> Rows<(usize, &'a Choice)> {
    let is_best = |index: usize| answer.best == Some(index);
    let mark = if answer.budget.is_some() {
        " (most)"
    } else {
        " (best)"
    };
    let price = |price| format::money(price, &lab.currency);
    let per = format!("per 100 {}", lab.currency);
    let strong = |index: usize, text: String| Cell::strong_if(is_best(index), text);
    Table::of(answer.options.iter().enumerate())
        .left("purchase", |(index, one)| {
            let mark = if is_best(*index) { mark } else { "" };
            strong(*index, format!("{}{mark}", one.change))
        })
        .right("price", |(index, one)| {
            let price = one.price.map_or_else(|| "no price".to_owned(), price);
            strong(*index, price)
        })
        .right("holds", |(index, one)| strong(*index, held(one)))
        .right("gain", |(index, one)| strong(*index, gain(one)))
        .right(per.trim_end(), |(index, one)| {
            strong(*index, or_dash(one.gain_per_100, format::number))
        })
        .left("runs out first then", |(index, one)| {
            strong(*index, binds_then(one))
        })
}
