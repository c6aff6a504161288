//! Values that are right alone and do not go together.

use crate::diagnose::source::Sources;
use crate::diagnose::{Diagnostic, ErrorKind};
use crate::inventory::fields::Fields;
use crate::inventory::written::shorten;

/// Values of one table that do not go together: which, as far as they are given, and what is to be seen at each.
pub(in crate::inventory) fn conflict(
    kind: ErrorKind,
    message: impl Into<String>,
    fields: &Fields<'_>,
    keys: &[(&str, &str)],
) -> Diagnostic {
    let error = Diagnostic::new(kind, message);
    keys.iter().fold(error, |error, (key, words)| {
        error.at_any(fields.node(key).map(|node| node.place), *words)
    })
}

/// The first key is more than the second.
pub(in crate::inventory) fn out_of_order(
    fields: &Fields<'_>,
    [low, high]: [&str; 2],
    sources: &Sources,
) -> Diagnostic {
    let words = |key| {
        let place = fields.node(key).map(|node| node.place);
        place.map_or(String::new(), |place| {
            shorten(sources.text(place).trim_matches('"'))
        })
    };
    let message = format!(
        "`{low}` must be at most `{high}`, but is {} against {}",
        words(low),
        words(high)
    );
    let labels = [
        (low, &*format!("more than `{high}`")),
        (high, &*format!("`{high}`")),
    ];
    conflict(ErrorKind::PartExceedsWhole, message, fields, &labels)
        .hint("lower the one or raise the other")
}

/// `common` and `repeats` are more than `touched`.
pub(in crate::inventory) fn parts(fields: &Fields<'_>) -> Diagnostic {
    let (names, labels): (_, &[(&str, &str)]) =
        match ["common", "repeats"].map(|key| fields.node(key).is_some()) {
            [true, true] => (
                "`common` and `repeats` together",
                &[
                    ("common", "a part of `touched`"),
                    ("repeats", "another part of it"),
                ],
            ),
            [true, false] => ("`common`", &[("common", "a part of `touched`")]),
            _ => ("`repeats`", &[("repeats", "a part of `touched`")]),
        };
    let without = match fields.node("touched") {
        Some(_) => "",
        None => ", which is 40 % of memory if left out",
    };
    let message = format!("{names} must be at most `touched`{without}, but more is given");
    let labels = [labels, &[("touched", "`touched`")]].concat();
    conflict(ErrorKind::PartExceedsWhole, message, fields, &labels)
        .hint("both are parts of what the guest holds when idle; lower them, or raise `touched`")
}

/// `common_busy` is more than a busy spell leaves behind.
pub(in crate::inventory) fn left_behind(fields: &Fields<'_>) -> Diagnostic {
    let message = "`common_busy` must be at most keeps · (touched_busy − touched), what a busy spell leaves behind";
    let labels = [
        ("common_busy", "more than a busy spell leaves behind"),
        ("touched", "`touched`"),
        ("touched_busy", "`touched_busy`"),
    ];
    conflict(ErrorKind::PartExceedsWhole, message, fields, &labels)
        .hint("lower it, or raise `touched_busy`")
}
