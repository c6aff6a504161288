//! The document of `compare` where hosts are ranked.

use super::document::{Align, Cell, Document, Sheet, Table};
use super::pay_back::{money, pay_backs, pays_back, replaced};
use crate::lab::Lab;
use crate::purchase::choose::ChoiceAnswer;
use crate::purchase::choose::candidate::Candidate;
use crate::unit::format;
use crate::unit::format::listed;
use crate::words::name::resource_label;

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
    let pairs = pay_backs(&answer.break_even, lab);
    if !pairs.is_empty() {
        document.heading(2, "When the dearer one has paid back");
        document.list(pairs);
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

/// "small is the cheapest that holds 40 web and 6 build: 1,190 EUR over 4 years, 620 EUR of it energy."
fn sentence(answer: &ChoiceAnswer, lab: &Lab) -> String {
    let verb = |one: &str| match answer.holding {
        1 => format!("{one}s"),
        _ => one.to_owned(),
    };
    let what = match &answer.need {
        Some(need) => {
            let parts: Vec<String> = lab
                .guests
                .iter()
                .filter_map(|guest| Some((guest, need.get(&guest.name)?)))
                .map(|(guest, n)| format!("{} {}", format::count(*n), guest.name))
                .collect();
            format!("{} {}", verb("hold"), listed(&parts))
        }
        None => format!("{} guests of this mix", verb("hold")),
    };
    let limits: Vec<String> = [
        answer.budget.map(|budget| {
            format!(
                "{} at most {}",
                verb("cost"),
                format::money(budget, &lab.currency)
            )
        }),
        answer
            .max_watts
            .map(|watts| format!("{} at most {}", verb("draw"), format::power(watts))),
    ]
    .into_iter()
    .flatten()
    .collect();
    let what = if limits.is_empty() {
        what
    } else {
        format!("{what} and {}", limits.join(" and "))
    };
    let holding = format!(
        "{} of {} {what}",
        format::count(answer.holding as u64),
        format::plural(answer.considered as u64, "host", "hosts")
    );
    let cheapest = answer
        .cheapest
        .as_ref()
        .and_then(|name| answer.ranking.iter().find(|one| one.name == *name));
    match cheapest.and_then(|one| Some((one, one.total?))) {
        Some((one, total)) => {
            let energy = one.running_per_year.map_or_else(
                || "to buy".to_owned(),
                |yearly| {
                    format!(
                        "over {}, {} of it energy",
                        format::years(answer.years),
                        format::money(yearly * answer.years, &lab.currency)
                    )
                },
            );
            format!(
                "{} is the cheapest: {} {energy}. {holding}.",
                one.name,
                format::money(total, &lab.currency)
            )
        }
        None => format!("{holding}."),
    }
}

fn table(answer: &ChoiceAnswer, lab: &Lab) -> Table {
    let total = format::years(answer.years);
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
            cell(money(one.price, lab)),
            cell(one.watts.map_or_else(|| "–".to_owned(), format::power)),
            cell(money(one.running_per_year, lab)),
            cell(money(one.total, lab)),
            cell(money(one.per_guest, lab)),
            cell(past(one)),
        ]);
    }
    table
}

/// What it does not hold, in words.
fn past(one: &Candidate) -> String {
    let labels: Vec<String> = one
        .passed
        .iter()
        .map(|one| resource_label(one.resource, &one.name))
        .collect();
    match (labels.is_empty(), one.holds) {
        (true, true) => "nothing".to_owned(),
        (true, false) => "holds none".to_owned(),
        (false, _) => listed(&labels),
    }
}

fn left_out(answer: &ChoiceAnswer) -> Vec<String> {
    let hosts = |n: usize| format::plural(n as u64, "host", "hosts");
    let mut notes = Vec::new();
    if answer.over_budget > 0 {
        notes.push(format!(
            "Left out for the budget: {} that cost more or have no price.",
            hosts(answer.over_budget)
        ));
    }
    if answer.over_watts > 0 {
        notes.push(format!(
            "Left out for --max-watts: {} that draw more or whose power is not known.",
            hosts(answer.over_watts)
        ));
    }
    notes
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
