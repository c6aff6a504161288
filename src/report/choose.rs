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
use crate::words::name::{only_if, or_dash, titled};

/// Hosts that a page shows, and a short screen; the sheet and JSON have all.
const SHOWN: [usize; 2] = [20, 6];

/// Builds the document of ranked hosts.
pub fn document(answer: &ChoiceAnswer, lab: &Lab) -> Document {
    let title = titled("Which host to choose", &lab.name);
    let mut document = Document::answering(title, sentence(answer, lab));
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
    document.say(several(&answer.multiples, &lab.currency));
    document.say(left_out(answer));
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
        let (more, by) = (format::count(more as u64), answer.sort.replace('-', " "));
        document.paragraph(format!(
            "And {more} more by {by}, all of them in the csv and json formats."
        ));
    }
}

fn table<'a>(answer: &'a ChoiceAnswer, lab: &'a Lab, shown: usize) -> Rows<&'a Candidate> {
    let full = shown == SHOWN[0];
    let mut all = answer.ranking.iter();
    let fills = all.any(|one| one.full_in_months.is_some());
    let is_cheapest = |one: &&Candidate| answer.cheapest.as_ref() == Some(&one.name);
    let money = |amount| or_dash(amount, |amount| format::money(amount, &lab.currency));
    Table::of(answer.ranking.iter().take(shown))
        .left("host", |one| {
            format!("{}{}", one.name, only_if(is_cheapest(one), " (cheapest)"))
        })
        .right("guests", |one| format::count(one.guests))
        .right("price", |one| money(one.price))
        .right("at the wall", |one| or_dash(one.watts, format::power))
        .right(format::years(answer.years), |one| money(one.total))
        .left("past its limit", |one| passed(one))
        .right_if(fills, "full in", |one| {
            or_dash(one.full_in_months, growth::lasts)
        })
        .right_if(full, "energy a year", |one| money(one.running_per_year))
        .right_if(full, "per guest", |one| money(one.per_guest))
        .strong_if(is_cheapest)
}

/// How many of each kind hold what is needed, and what they cost.
pub(super) fn several_of_a_kind(document: &mut Document, multiples: &[Multiple], lab: &Lab) {
    let Some(guests) = multiples.first().map(|one| one.guests) else {
        return;
    };
    let title = format!("How many of each kind hold {}", format::guests(guests));
    document.heading(2, title);
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
