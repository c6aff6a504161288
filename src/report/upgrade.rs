//! The document of `upgrade`.

use super::document::{Align, Cell, Document, Sheet, Table};
use crate::lab::Lab;
use crate::purchase::upgrade::answer::UpgradeAnswer;
use crate::purchase::upgrade::change::Note;
use crate::sizing::named::Named;
use crate::unit::format;
use crate::words::name::or_dash;
use crate::words::purchase::{binds_then, gain, held, sentence};

/// Builds the document of an answer of `upgrade`.
#[must_use]
pub fn document(answer: &UpgradeAnswer, lab: &Lab) -> Document {
    let mut document = Document::new();
    document.heading(1, format!("What to buy next for {}", answer.host));
    document.lead(sentence(answer, lab));
    if answer.options.is_empty() {
        document.paragraph(
            "Nothing can be bought that the lab names a price for: add module_prices with slots and max_module, the \
             price and capacity_prices of a pool, link_prices, or the price of the host.",
        );
    } else {
        document.heading(
            2,
            "What each purchase adds, most guests for the money first",
        );
        document.table(table(answer, lab));
        document.list(notes(answer).iter().map(Note::to_string));
    }
    document.heading(2, "Cautions");
    document.caution(
        "prices",
        "Prices are those of the lab. What old parts sell for, and the power that new ones draw, is not counted.",
    );
    document.caution(
        "estimate",
        "This is an estimate from the numbers given. Measure a first handful of guests before you spend money on it.",
    );
    document.sheet = sheet(answer);
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

fn table(answer: &UpgradeAnswer, lab: &Lab) -> Table {
    let per = format!("per 100 {}", lab.currency);
    let mut table = Table::new(&[
        ("purchase", Align::Left),
        ("price", Align::Right),
        ("holds", Align::Right),
        ("gain", Align::Right),
        (per.trim_end(), Align::Right),
        ("runs out first then", Align::Left),
    ]);
    for (index, one) in answer.options.iter().enumerate() {
        let strong = answer.best == Some(index);
        let cell = |text: String| {
            if strong {
                Cell::strong(text)
            } else {
                Cell::text(text)
            }
        };
        let mark = match (strong, answer.budget) {
            (true, Some(_)) => " (most)",
            (true, None) => " (best)",
            (false, _) => "",
        };
        table.row([
            cell(format!("{}{mark}", one.change)),
            cell(one.price.map_or_else(
                || "no price".to_owned(),
                |price| format::money(price, &lab.currency),
            )),
            cell(held(one)),
            cell(gain(one)),
            cell(or_dash(one.gain_per_100, format::number)),
            cell(binds_then(one)),
        ]);
    }
    table
}

fn sheet(answer: &UpgradeAnswer) -> Sheet {
    let mut sheet = Sheet::new([
        "host",
        "change",
        "price",
        "fits",
        "gain",
        "gain_per_100",
        "binds",
        "replaces",
        "note",
    ]);
    let text = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
    let whole = |value: Option<u64>| value.map_or_else(String::new, |value| value.to_string());
    sheet.row([
        answer.host.clone(),
        "now".to_owned(),
        String::new(),
        whole(answer.now.fits),
        String::new(),
        String::new(),
        names(&answer.now.binds),
    ]);
    for one in &answer.options {
        sheet.row([
            answer.host.clone(),
            one.change.to_string(),
            text(one.price),
            whole(one.fits),
            one.gain.map_or_else(String::new, |gain| gain.to_string()),
            text(one.gain_per_100),
            names(&one.binds),
            texts(&one.replaces),
            texts(&one.note.0),
        ]);
    }
    sheet
}

fn names(binding: &[Named]) -> String {
    let names = binding.iter().map(|one| one.name.as_str());
    names.collect::<Vec<_>>().join(" ")
}

fn texts<T: ToString>(all: &[T]) -> String {
    let texts = all.iter().map(T::to_string);
    texts.collect::<Vec<_>>().join(" ")
}
