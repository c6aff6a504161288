//! What stands beside a general formula: the formula with its numbers, or what is claimed of them.

use crate::model::tape::Term;

/// A formula with the numbers put in, or words where there is none.
pub(super) enum Filled<'t> {
    /// Worked out: the text and the inputs come from the tape.
    Worked(Term<'t>),
    /// Claimed, or told.
    Words(String),
}

impl<'t> From<Term<'t>> for Filled<'t> {
    fn from(term: Term<'t>) -> Self {
        Filled::Worked(term)
    }
}

impl From<String> for Filled<'_> {
    fn from(text: String) -> Self {
        Filled::Words(text)
    }
}

impl From<&str> for Filled<'_> {
    fn from(text: &str) -> Self {
        Filled::Words(text.to_owned())
    }
}

/// The term, or why there is none.
pub(super) fn term_or<'t>(term: Option<Term<'t>>, why: &str) -> Filled<'t> {
    term.map_or_else(|| why.into(), Filled::Worked)
}

/// A comparison that holds, and where: "at 62: 47.9 GiB ≤ 48.1 GiB".
pub(super) fn claim(place: &str, left: &str, relation: &str, right: &str) -> String {
    format!("{place}: {left} {relation} {right}")
}

/// A sum of counts: "18 + 7".
pub(super) fn sum_of_counts(counts: impl Iterator<Item = u64>) -> String {
    let texts: Vec<String> = counts.map(crate::unit::format::count).collect();
    if texts.is_empty() {
        "0".to_owned()
    } else {
        texts.join(" + ")
    }
}
