//! Old against new, and the dearer against the cheaper host, as blocks of the reports of `compare`.

use super::document::{Align, Cell, Document, Table};
use crate::lab::Lab;
use crate::purchase::choose::break_even::BreakEven;
use crate::purchase::choose::replace::{Replacement, Replacing};
use crate::unit::format;

/// A sentence for each pair: when the dearer host has paid back.
#[must_use]
pub(super) fn pay_backs(pairs: &[BreakEven], lab: &Lab) -> Vec<String> {
    pairs
        .iter()
        .map(|pair| {
            if pair.more <= 0.0 && pair.saved_per_year <= 0.0 {
                return format!(
                    "{} and {} cost the same, and neither saves energy with the same guests: there is nothing to pay back.",
                    pair.dearer, pair.cheaper
                );
            }
            let when = match pair.years {
                Some(0.0) => "pays back at once".to_owned(),
                Some(years) => format!(
                    "pays back in {}",
                    format::seconds(years * crate::model::YEAR)
                ),
                None => "never pays back".to_owned(),
            };
            let saved = if pair.saved_per_year > 0.0 {
                format!(
                    "saves {} a year",
                    format::money(pair.saved_per_year, &lab.currency)
                )
            } else {
                "saves no energy".to_owned()
            };
            format!(
                "{} costs {} more than {} and {saved} with the same guests: it {when}.",
                pair.dearer,
                format::money(pair.more, &lab.currency),
                pair.cheaper
            )
        })
        .collect()
}

/// Old against new.
pub(super) fn replaced(document: &mut Document, replacing: &Replacing, lab: &Lab) {
    document.heading(2, format!("In place of {}", replacing.old));
    let draws = replacing.watts.map_or_else(
        || "its power is not known".to_owned(),
        |watts| format!("it draws {}", format::power(watts)),
    );
    let costs = replacing
        .running_per_year
        .map_or_else(String::new, |yearly| {
            format!(", {} a year", format::money(yearly, &lab.currency))
        });
    let not = if replacing.holds {
        ""
    } else {
        " (more than it holds within its limits)"
    };
    document.paragraph(format!(
        "With {}{not} {draws}{costs}.",
        format::plural(replacing.guests, "guest", "guests")
    ));
    if replacing.by.is_empty() {
        document.paragraph(
            "No host of the lab, and no number of one kind that was tried, holds them within what was asked.",
        );
        return;
    }
    let mut table = Table::new(&[
        ("new", Align::Left),
        ("price", Align::Right),
        ("at the wall", Align::Right),
        ("saves a year", Align::Right),
        ("pays back in", Align::Right),
    ]);
    for one in &replacing.by {
        table.row([
            Cell::text(format!("{} × {}", one.hosts, one.name)),
            Cell::text(money(one.price, lab)),
            Cell::text(one.watts.map_or_else(|| "–".to_owned(), format::power)),
            Cell::text(money(one.saved_per_year, lab)),
            Cell::strong(pays_back(one)),
        ]);
    }
    document.table(table);
    document.caution(
        "circuits",
        "Before an old server is unplugged or new boxes share its outlet: a wall circuit and its wiring have limits of \
         their own; local codes decide, and a licensed electrician settles what a circuit may carry.",
    );
}

pub(super) fn pays_back(one: &Replacement) -> String {
    match (one.years, one.saved_per_year, one.price) {
        (Some(years), _, _) => format::seconds(years * crate::model::YEAR),
        (None, Some(_), Some(_)) => "never".to_owned(),
        (None, _, _) => "–".to_owned(),
    }
}

/// Money, or a dash where it is not known.
pub(super) fn money(amount: Option<f64>, lab: &Lab) -> String {
    amount.map_or_else(
        || "–".to_owned(),
        |amount| format::money(amount, &lab.currency),
    )
}
