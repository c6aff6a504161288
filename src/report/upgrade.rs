//! The document of `upgrade`.

use super::document::{Document, Rank};
use super::table::{Rows, Table};
use crate::lab::Lab;
use crate::purchase::upgrade::answer::{Choice, UpgradeAnswer};
use crate::purchase::upgrade::change::Note;
use crate::unit::format;
use crate::words::growth;
use crate::words::name::{only_if, or_dash};
use crate::words::purchase::{
    ESTIMATE, NO_PRICES, PRICES, binds_then, gain, gain_nothing, held, left_out, not_worth_it,
    sentence, stopped,
};

/// Options that a short screen shows.
const SHOWN: usize = 6;

/// Builds the document of an answer of `upgrade`.
pub fn document(answer: &UpgradeAnswer, lab: &Lab) -> Document {
    let title = format!("What to buy next for {}", answer.host);
    let mut document = Document::answering(title, sentence(answer, lab));
    document.say(stopped(answer));
    document.say(answer.now.full_in_months.map(growth::as_it_is));
    if answer.options.is_empty() {
        document.paragraph(NO_PRICES);
    } else {
        short(&mut document, answer, lab);
        let title = "What each purchase adds, most guests for the money first";
        document.heading(2, title);
        let all = answer.options.iter().enumerate().collect();
        document.table(table(answer, lab, all, true));
        document.say(not_worth_it(answer));
        document.say(left_out(answer));
        document.list(notes(answer).iter().map(Note::to_string));
    }
    let cautions = [PRICES, ESTIMATE];
    document.caution_lines(&cautions, "Everything: --full.");
    document.cautions(2, &cautions);
    document
}

/// The purchases that gain something in a table, the others in a sentence.
fn short(document: &mut Document, answer: &UpgradeAnswer, lab: &Lab) {
    document.section(Rank::Brief);
    let options = answer.options.iter().enumerate();
    let mut gaining: Vec<_> = options.filter(|(_, one)| answer.adds(one)).collect();
    let shown = SHOWN - usize::from(answer.now.full_in_months.is_some());
    let more = gaining.len().saturating_sub(shown);
    gaining.truncate(shown);
    if !gaining.is_empty() {
        document.table(table(answer, lab, gaining, false));
    }
    document.say((more > 0).then(|| format!("And {more} more that gain something.")));
    document.say(gain_nothing(answer));
    document.say(left_out(answer));
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

fn table<'a>(
    answer: &'a UpgradeAnswer,
    lab: &'a Lab,
    options: Vec<(usize, &'a Choice)>,
    full: bool,
) -> Rows<(usize, &'a Choice)> {
    let is_best = |index: usize| answer.best == Some(index);
    let mark = match answer.budget {
        Some(_) => " (most)",
        None => " (best)",
    };
    let price = |price| format::money(price, &lab.currency);
    let unpriced = || "no price".to_owned();
    let per = format!("per 100 {}", lab.currency);
    // How much longer the host lasts takes the place of the gain where there is no room for both.
    let grows = answer.now.full_in_months.is_some();
    let table = Table::of(options)
        .left("purchase", |(index, one)| {
            format!("{}{}", one.change, only_if(is_best(*index), mark))
        })
        .right("price", |(_, one)| one.price.map_or_else(unpriced, price))
        .right("holds", |(_, one)| held(one))
        .right_if(full || !grows, "gain", |(_, one)| gain(one))
        .right_if(grows, "full in", |(_, one)| {
            or_dash(one.full_in_months, growth::lasts)
        })
        .right_if(grows, "a month more", |(_, one)| {
            or_dash(answer.month_more(one), price)
        })
        .right_if(full, per.trim_end(), |(_, one)| {
            or_dash(one.gain_per_100, format::number)
        });
    let table = match full {
        true => table.left("runs out first then", |(_, one)| binds_then(one)),
        false => table,
    };
    table.strong_if(|(index, _)| is_best(*index))
}
