//! Old against new, as a part of the report of `compare`.

use super::document::{Align, Cell, Document, Table};
use crate::lab::Lab;
use crate::purchase::choose::replace::Replacing;
use crate::unit::format;
use crate::words::choose::{old_host, pays_back};
use crate::words::name::or_dash;

/// Old against new.
pub(super) fn replaced(document: &mut Document, replacing: &Replacing, lab: &Lab) {
    document.heading(2, format!("In place of {}", replacing.old));
    document.paragraph(old_host(replacing, &lab.currency));
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
    let money = |amount| format::money(amount, &lab.currency);
    for one in &replacing.by {
        table.row([
            Cell::text(format!("{} × {}", one.hosts, one.name)),
            Cell::text(or_dash(one.price, money)),
            Cell::text(or_dash(one.watts, format::power)),
            Cell::text(or_dash(one.saved_per_year, money)),
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
