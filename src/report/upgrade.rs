//! The document of `upgrade`.

use super::document::{Document, Rank};
use super::table::{Cell, Rows, Table};
use crate::lab::Lab;
use crate::purchase::upgrade::answer::{Choice, UpgradeAnswer};
use crate::purchase::upgrade::change::Note;
use crate::unit::format;
use crate::words::growth;
use crate::words::name::or_dash;
use crate::words::purchase::{
    ESTIMATE, NO_PRICES, PRICES, binds_then, gain, gain_nothing, held, left_out, not_worth_it,
    sentence, stopped,
};

/// Options that a short screen shows.
const SHOWN: usize = 6;

/// Builds the document of an answer of `upgrade`.
pub fn document(answer: &UpgradeAnswer, lab: &Lab) -> Document {
    let mut document = Document::new();
    document.heading(1, format!("What to buy next for {}", answer.host));
    document.section(Rank::Answer);
    document.lead(sentence(answer, lab));
    if let Some(stopped) = stopped(answer) {
        document.paragraph(stopped);
    }
    if let Some(months) = answer.now.full_in_months {
        document.paragraph(growth::as_it_is(months));
    }
    if answer.options.is_empty() {
        document.paragraph(NO_PRICES);
    } else {
        short(&mut document, answer, lab);
        document.heading(
            2,
            "What each purchase adds, most guests for the money first",
        );
        let all = answer.options.iter().enumerate().collect();
        document.table(table(answer, lab, all, true));
        for said in [not_worth_it(answer), left_out(answer)]
            .into_iter()
            .flatten()
        {
            document.paragraph(said);
        }
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
    if more > 0 {
        document.paragraph(format!("And {more} more that gain something."));
    }
    for said in [gain_nothing(answer), left_out(answer)]
        .into_iter()
        .flatten()
    {
        document.paragraph(said);
    }
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
    let mark = if answer.budget.is_some() {
        " (most)"
    } else {
        " (best)"
    };
    let price = |price| format::money(price, &lab.currency);
    let per = format!("per 100 {}", lab.currency);
    let strong = |index: usize, text: String| Cell::strong_if(is_best(index), text);
    let table = Table::of(options)
        .left("purchase", |(index, one)| {
            let mark = if is_best(*index) { mark } else { "" };
            strong(*index, format!("{}{mark}", one.change))
        })
        .right("price", |(index, one)| {
            let price = one.price.map_or_else(|| "no price".to_owned(), price);
            strong(*index, price)
        })
        .right("holds", |(index, one)| strong(*index, held(one)));
    // How much longer the host lasts takes the place of the gain where there is no room for both.
    let grows = answer.now.full_in_months.is_some();
    let table = match full || !grows {
        true => table.right("gain", |(index, one)| strong(*index, gain(one))),
        false => table,
    };
    let table = match grows {
        true => table
            .right("full in", |(index, one)| {
                strong(*index, or_dash(one.full_in_months, growth::lasts))
            })
            .right("a month more", move |(index, one)| {
                strong(*index, or_dash(answer.month_more(one), price))
            }),
        false => table,
    };
    if !full {
        return table;
    }
    table
        .right(per.trim_end(), |(index, one)| {
            strong(*index, or_dash(one.gain_per_100, format::number))
        })
        .left("runs out first then", |(index, one)| {
            strong(*index, binds_then(one))
        })
}
