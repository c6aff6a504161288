//! The document of `compare` where hosts are ranked.

use super::document::{Align, Cell, Document, Sheet, Table};
use super::pay_back::replaced;
use crate::lab::Lab;
use crate::purchase::choose::ChoiceAnswer;
use crate::unit::format;
use crate::words::choose::{break_even, left_out, passed, pays_back, sentence};
use crate::words::name::or_dash;

/// Hosts that a person is shown; the sheet and JSON have all.
const SHOWN: usize = 20;

/// Builds the document of ranked hosts.
#[must_use]
pub fn document(answer: &ChoiceAnswer, lab: &Lab) -> Document {
    let mut document = Document::new();
    document.heading(
        1,
        if lab.name.is_empty() {
            "Which host to choose".to_owned()
        } else {
            format!("Which host to choose: {}", lab.name)
        },
    );
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
    document.heading(2, "Cautions");
    if answer.ranking.iter().any(|one| one.watts.is_some()) {
        document.caution(
            "circuits",
            "A wall circuit and its wiring have limits of their own: local codes decide, and a licensed electrician \
             settles what a circuit may carry.",
        );
    }
    document.caution(
        "estimate",
        "This is an estimate from the numbers given; energy is counted at the busy hour's load all year, an upper bound.",
    );
    document.sheet = sheet(answer);
    document
}

fn table(answer: &ChoiceAnswer, lab: &Lab) -> Table {
    let total = format::years(answer.years);
    let money = |amount| format::money(amount, &lab.currency);
    let mut table = Table::new(&[
        ("host", Align::Left),
        ("guests", Align::Right),
        ("price", Align::Right),
        ("at the wall", Align::Right),
        ("energy a year", Align::Right),
        (&total, Align::Right),
        ("per guest", Align::Right),
        ("past its limit", Align::Left),
    ]);
    for one in answer.ranking.iter().take(SHOWN) {
        let strong = answer.cheapest.as_ref() == Some(&one.name);
        let cell = |text: String| {
            if strong {
                Cell::strong(text)
            } else {
                Cell::text(text)
            }
        };
        let mark = if strong { " (cheapest)" } else { "" };
        table.row([
            cell(format!("{}{mark}", one.name)),
            cell(format::count(one.guests)),
            cell(or_dash(one.price, money)),
            cell(or_dash(one.watts, format::power)),
            cell(or_dash(one.running_per_year, money)),
            cell(or_dash(one.total, money)),
            cell(or_dash(one.per_guest, money)),
            cell(passed(one)),
        ]);
    }
    table
}

fn sheet(answer: &ChoiceAnswer) -> Sheet {
    let mut sheet = Sheet::new([
        "section",
        "host",
        "hosts",
        "holds",
        "breaks",
        "guests",
        "price",
        "watts",
        "running_per_year",
        "total",
        "per_guest",
        "saved_per_year",
        "years",
    ]);
    let text = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
    for one in &answer.ranking {
        sheet.row([
            "ranking".to_owned(),
            one.name.clone(),
            "1".to_owned(),
            one.holds.to_string(),
            {
                let names = one.passed.iter().map(|one| one.name.as_str());
                names.collect::<Vec<_>>().join(" ")
            },
            one.guests.to_string(),
            text(one.price),
            text(one.watts),
            text(one.running_per_year),
            text(one.total),
            text(one.per_guest),
        ]);
    }
    let blank = String::new;
    for pair in &answer.break_even {
        sheet.row([
            "break_even".to_owned(),
            format!("{} over {}", pair.dearer, pair.cheaper),
            blank(),
            blank(),
            blank(),
            blank(),
            pair.more.to_string(),
            blank(),
            blank(),
            blank(),
            blank(),
            pair.saved_per_year.to_string(),
            pair.years
                .map_or_else(|| "never".to_owned(), |years| years.to_string()),
        ]);
    }
    if let Some(replacing) = &answer.replacing {
        for one in &replacing.by {
            sheet.row([
                format!("in place of {}", replacing.old),
                one.name.clone(),
                one.hosts.to_string(),
                "true".to_owned(),
                blank(),
                replacing.guests.to_string(),
                text(one.price),
                text(one.watts),
                blank(),
                text(one.total),
                blank(),
                text(one.saved_per_year),
                pays_back(one),
            ]);
        }
    }
    sheet
}
