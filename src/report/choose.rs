//! The document of `compare` where hosts are ranked.

use super::document::{Document, Rank};
use super::table::{Cell, Rows, Table};
use crate::lab::Lab;
use crate::purchase::choose::ChoiceAnswer;
use crate::purchase::choose::candidate::Candidate;
use crate::purchase::choose::multiple::Multiple;
use crate::purchase::choose::replace::{Replacement, Replacing};
use crate::unit::format;
use crate::words::choose::{
    ENERGY_ESTIMATE, NOTHING_REPLACES, REWIRING, after_failure, break_even, left_out, old_host,
    passed, pays_back, sentence, several,
};
use crate::words::growth;
use crate::words::host::CIRCUITS;
use crate::words::name::{or_dash, titled};

/// Hosts that a page shows, and a short screen; the sheet and JSON have all.
const SHOWN: [usize; 2] = [20, 6];

/// Builds the document of ranked hosts.
pub fn document(answer: &ChoiceAnswer, lab: &Lab) -> Document {
    let mut document = Document::new();
    document.heading(1, titled("Which host to choose", &lab.name));
    document.section(Rank::Answer);
    document.lead(sentence(answer, lab));
    let mut cautions = vec![ENERGY_ESTIMATE];
    if let Some(replacing) = &answer.replacing {
        document.paragraph(old_host(replacing, &lab.currency));
        if replacing.by.is_empty() {
            document.paragraph(NOTHING_REPLACES);
        } else {
            document.table(replaced(replacing, lab));
            cautions.insert(0, REWIRING);
        }
    } else if answer.ranking.iter().any(|one| one.watts.is_some()) {
        cautions.insert(0, CIRCUITS);
    }
    for (rank, shown) in [Rank::Full, Rank::Brief].into_iter().zip(SHOWN) {
        document.section(rank);
        ranking(&mut document, answer, lab, shown);
    }
    document.section(Rank::Answer);
    if let Some(several) = several(&answer.multiples, &lab.currency) {
        document.paragraph(several);
    }
    for note in left_out(answer) {
        document.paragraph(note);
    }
    document.caution_lines(&cautions, "Everything: --full.");
    several_of_a_kind(&mut document, &answer.multiples, lab);
    if !answer.break_even.is_empty() {
        document.heading(2, "When the dearer one has paid back");
        let pairs = answer.break_even.iter();
        document.list(pairs.map(|pair| break_even(pair, &lab.currency, &[])));
    }
    document.cautions(2, &cautions);
    document
}

/// The leading hosts, and how many more there are.
fn ranking(document: &mut Document, answer: &ChoiceAnswer, lab: &Lab, shown: usize) {
    if answer.ranking.is_empty() {
        return;
    }
    document.table(table(answer, lab, shown));
    let more = answer.ranking.len().saturating_sub(shown);
    if more > 0 {
        document.paragraph(format!(
            "And {} more by {}, all of them in the csv and json formats.",
            format::count(more as u64),
            answer.sort.replace('-', " ")
        ));
    }
}

fn table<'a>(answer: &'a ChoiceAnswer, lab: &'a Lab, shown: usize) -> Rows<&'a Candidate> {
    let full = shown == SHOWN[0];
    let is_cheapest = |one: &Candidate| answer.cheapest.as_ref() == Some(&one.name);
    let strong = |one: &Candidate, text: String| Cell::strong_if(is_cheapest(one), text);
    let money = |amount| or_dash(amount, |amount| format::money(amount, &lab.currency));
    let table = Table::of(answer.ranking.iter().take(shown))
        .left("host", |one| {
            let mark = if is_cheapest(one) { " (cheapest)" } else { "" };
            strong(one, format!("{}{mark}", one.name))
        })
        .right("guests", |one| strong(one, format::count(one.guests)))
        .right("price", |one| strong(one, money(one.price)))
        .right("at the wall", |one| {
            strong(one, or_dash(one.watts, format::power))
        })
        .right(format::years(answer.years), |one| {
            strong(one, money(one.total))
        })
        .left("past its limit", |one| strong(one, passed(one)));
    let table = match answer
        .ranking
        .iter()
        .any(|one| one.full_in_months.is_some())
    {
        true => table.right("full in", |one| {
            strong(one, or_dash(one.full_in_months, growth::lasts))
        }),
        false => table,
    };
    if !full {
        return table;
    }
    table
        .right("energy a year", |one| {
            strong(one, money(one.running_per_year))
        })
        .right("per guest", |one| strong(one, money(one.per_guest)))
}

/// How many of each kind hold what is needed, and what they cost.
pub(super) fn several_of_a_kind(document: &mut Document, multiples: &[Multiple], lab: &Lab) {
    let Some(guests) = multiples.first().map(|one| one.guests) else {
        return;
    };
    let guests = format::plural(guests, "guest", "guests");
    document.heading(2, format!("How many of each kind hold {guests}"));
    let money = |amount| or_dash(amount, |amount| format::money(amount, &lab.currency));
    let table = Table::of(multiples)
        .left("hosts", |one| format!("{} × {}", one.hosts, one.name))
        .right("price", |one| money(one.price))
        .right("at the wall", |one| or_dash(one.watts, format::power))
        .right("energy a year", |one| money(one.running_per_year))
        .right(format::years(lab.years), |one| money(one.total))
        .left("runs on if one fails", |one| {
            after_failure(one.after_failure, one.guests)
        });
    document.table(table);
}

/// Old against new.
fn replaced<'a>(replacing: &'a Replacing, lab: &'a Lab) -> Rows<&'a Replacement> {
    let money = |amount| or_dash(amount, |amount| format::money(amount, &lab.currency));
    Table::of(&replacing.by)
        .left(format!("in place of {}", replacing.old), |one| {
            format!("{} × {}", one.hosts, one.name)
        })
        .right("price", |one| money(one.price))
        .right("at the wall", |one| or_dash(one.watts, format::power))
        .right("saves a year", |one| money(one.saved_per_year))
        .right("pays back in", |one| Cell::strong(pays_back(one)))
        .left("runs on if one fails", |one| {
            after_failure(one.after_failure, replacing.guests)
        })
}
