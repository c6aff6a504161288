//! What can be wrong with periods, and with busy shares by period.

use crate::diagnose::suggest;
use crate::diagnose::{Diagnostic, ErrorKind};
use crate::inventory::fields::Fields;
use crate::inventory::tree::{Entry, Node};
use crate::lab::keys::Key;
use crate::lab::{NO_NAMES, OTHERWISE};
use crate::unit::format;

use super::relations::conflict;

/// A name that means something else.
pub(in crate::inventory) fn reserved_name(fields: &Fields<'_>, name: &str) -> Diagnostic {
    let message = format!("a period cannot be called `{name}`");
    let labels = [("name", "it means something else in a table of busy shares")];
    let hint = format!("give it another name than {}", NO_NAMES.join(", "));
    conflict(ErrorKind::InvalidPeriod, message, fields, &labels).hint(hint)
}

/// Both `share` and `hours`.
pub(in crate::inventory) fn share_and_hours(fields: &Fields<'_>) -> Diagnostic {
    let labels = [
        ("share", "its share of the time"),
        ("hours", "says how much of the time it is, too"),
    ];
    let message = "a period has either `share` or `hours`, but this has both";
    conflict(ErrorKind::InvalidPeriod, message, fields, &labels).hint("keep one of the two")
}

/// Neither `share` nor `hours`.
pub(in crate::inventory) fn no_time(fields: &Fields<'_>) -> Diagnostic {
    let message = "a period needs `share` or `hours`, but this has neither";
    Diagnostic::new(ErrorKind::InvalidPeriod, message)
        .at_any(fields.header, "how much of the time it is stays unknown")
        .hint("add hours = \"22-6\" or share = \"30 %\"")
}

/// Hours that are none.
pub(in crate::inventory) fn no_hours(fields: &Fields<'_>, given: &str) -> Diagnostic {
    let message = format!(
        "`hours` must be from and to on the clock, two different times, but is \"{given}\""
    );
    let labels = [("hours", "not from and to")];
    conflict(ErrorKind::InvalidPeriod, message, fields, &labels)
        .hint("write hours = \"22-6\" or hours = \"8:30-17\"")
}

/// Hours that two periods have in common.
pub(in crate::inventory) fn overlapping(
    [earlier, later]: [&Fields<'_>; 2],
    [first, second]: [&str; 2],
) -> Diagnostic {
    let place = |fields: &Fields<'_>| fields.node("hours").map(|node| node.place);
    let message = format!("the hours of `{first}` and `{second}` overlap");
    Diagnostic::new(ErrorKind::InvalidPeriod, message)
        .at_any(place(later), "overlaps")
        .at_any(place(earlier), format!("the hours of `{first}`"))
        .hint("let one end where the other starts")
}

/// Shares that are more than all the time.
pub(in crate::inventory) fn too_much_time(sum: f64, tables: &[Fields<'_>]) -> Diagnostic {
    let sum = format::share(sum);
    let message = format!("the periods together are {sum} of the time");
    let last = tables.last();
    let place = last.and_then(|fields| {
        let node = fields.node("share").or(fields.node("hours"))?;
        Some(node.place)
    });
    Diagnostic::new(ErrorKind::InvalidPeriod, message)
        .at_any(place, "the last of them")
        .hint("lower a share; hours count as their part of 24")
}

/// A busy share for a period that is not there.
pub(in crate::inventory) fn unknown(key: &Key, entry: &Entry, names: &[String]) -> Diagnostic {
    let (name, period) = (key.name, &entry.key);
    let known = || names.iter().map(String::as_str);
    let hint = match suggest::closest(period, known()) {
        Some(near) => format!("did you mean `{near}`?"),
        None if names.is_empty() => {
            format!("define it: [[period]] with name = \"{period}\" and its hours or share")
        }
        None => format!("there is {}", suggest::list(known(), 20)),
    };
    let message = format!("`{name}` gives a share for `{period}`, but there is no such period");
    Diagnostic::new(ErrorKind::UnknownReference, message)
        .at(entry.key_place, "names no period")
        .hint(hint)
}

/// No busy share for a period.
pub(in crate::inventory) fn lacking(key: &Key, node: &Node, period: &str) -> Diagnostic {
    let name = key.name;
    let message = format!("`{name}` gives no share for the period `{period}`");
    Diagnostic::new(ErrorKind::InvalidPeriod, message)
        .at(node.place, "a share for each period")
        .hint(format!(
            "add {period} = \"8 %\", or {OTHERWISE} = \"3 %\" for all that are not named"
        ))
}
