//! What the TOML parser found wrong, in our words and once each.

use toml::de::{DeTable, DeValue, Error};

use super::hint;
use crate::diagnose::{Diagnostic, MOST_KEPT};
use crate::inventory::problem::files;
use crate::inventory::tree::Base;

/// Texts longer than this are probed first `[B]`.
const PROBE: usize = 64 * 1024;
/// So many errors in the probe mean that the rest is no TOML either.
const MOST_ERRORS: usize = 50;

/// The errors at the start of a long text that is clearly no TOML, so that megabytes of garbage are not parsed.
pub(super) fn not_toml(text: &str, base: Base) -> Option<Vec<Diagnostic>> {
    if text.len() <= PROBE {
        return None;
    }
    // The cut may split one value in two, which makes a few errors, never this many. A text of one endless line is cut
    // between two letters.
    let line_end = text.as_bytes()[..PROBE]
        .iter()
        .rposition(|byte| *byte == b'\n');
    let end = line_end.map_or_else(|| last_letter_before(text, PROBE), |at| at + 1);
    let head = text.get(..end)?;
    let (parsed, errors) = DeTable::parse_recoverable(head);
    if errors.len() < MOST_ERRORS {
        return None;
    }
    let mut all = vec![files::not_toml(MOST_ERRORS, PROBE / 1024)];
    all.extend(diagnostics(&errors, parsed.get_ref(), head, base));
    Some(all)
}

/// The last place up to `at` that is between two letters.
fn last_letter_before(text: &str, at: usize) -> usize {
    (0..=at)
        .rev()
        .find(|place| text.is_char_boundary(*place))
        .unwrap_or(0)
}

/// The parser's errors, the first of each line: what follows on the same line is mostly its consequence.
pub(super) fn diagnostics(
    errors: &[Error],
    parsed: &DeTable<'_>,
    text: &str,
    base: Base,
) -> Vec<Diagnostic> {
    let mut ordered: Vec<&Error> = errors.iter().collect();
    ordered.sort_by_key(|error| error.span().map_or(0, |span| span.start));
    let mut last_end = None;
    let mut all = Vec::new();
    for error in ordered {
        if all.len() >= MOST_KEPT {
            break;
        }
        let span = error.span().unwrap_or(0..0);
        let between = last_end.and_then(|end: usize| text.get(end..span.start));
        // The next error looks no further back than this one, or a long line would be read once for each of its errors.
        last_end = Some(span.start);
        if between.is_some_and(|between| !between.contains('\n')) {
            continue;
        }
        all.push(diagnostic(error, span, parsed, text, base));
    }
    all
}

fn diagnostic(
    error: &Error,
    span: std::ops::Range<usize>,
    parsed: &DeTable<'_>,
    text: &str,
    base: Base,
) -> Diagnostic {
    let place = base.place(span.clone());
    if error.message() == "duplicate key" {
        let key = text.get(span.clone()).unwrap_or("");
        let first =
            earlier_key(parsed, key, span.start).or_else(|| earlier_header(text, key, span.start));
        let first = first.map(|start| base.place(start..start + key.len()));
        let hint = hint::twice(key, text, span.start);
        return files::given_twice(key, hint)
            .at(place, "given again here")
            .at_any(first, "first given here");
    }
    let (what, allowed) = match error.message().split_once(", expected ") {
        Some((what, "nothing" | "literal string")) => (what, String::new()),
        Some((what, expected)) => (what, format!("expected {expected}")),
        None => (error.message(), String::new()),
    };
    let (what, hint) = hint::advice(what, text, &span);
    files::syntax(what, hint).at(place, allowed)
}

/// Where the nearest key of that name is before byte `before`.
fn earlier_key(table: &DeTable<'_>, name: &str, before: usize) -> Option<usize> {
    let mine = table.iter().filter_map(|(key, value)| {
        let here = (key.get_ref() == name && key.span().start < before).then_some(key.span().start);
        here.max(earlier_in(value.get_ref(), name, before))
    });
    mine.max()
}

fn earlier_in(value: &DeValue<'_>, name: &str, before: usize) -> Option<usize> {
    match value {
        DeValue::Table(table) => earlier_key(table, name, before),
        DeValue::Array(list) => list
            .iter()
            .filter_map(|item| earlier_in(item.get_ref(), name, before))
            .max(),
        _ => None,
    }
}

/// Where the table header that ends in that name is before byte `before`.
fn earlier_header(text: &str, name: &str, before: usize) -> Option<usize> {
    let head = text.get(..before)?;
    let wanted = format!("{name}]");
    let at = head.rfind(&wanted)?;
    let line_start = head
        .get(..at)?
        .rfind('\n')
        .map_or(0, |line_break| line_break + 1);
    head.get(line_start..at)?
        .trim_start()
        .starts_with('[')
        .then_some(at)
}
