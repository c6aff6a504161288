//! What is not given: guesses, and defaults with an origin, gathered by the table they belong to.

use std::collections::{BTreeMap, BTreeSet};

use super::document::Document;
use crate::lab::Lab;
use crate::sizing::answer::{DefaultUsed, Guess};

/// Adds both lists, where there is something to list.
pub(super) fn append(
    document: &mut Document,
    level: u8,
    lab: &Lab,
    guessed: &[Guess],
    used: &[DefaultUsed],
) {
    if !guessed.is_empty() {
        document.heading(level, "Guesses (values not given)");
        document.list(guesses(guessed, lab));
    }
    if !used.is_empty() {
        document.heading(level, "Other defaults used");
        document.list(defaults(used));
    }
}

/// One line for what was guessed alike for every guest, then one for each table with guesses of its own.
fn guesses(guesses: &[Guess], lab: &Lab) -> Vec<String> {
    let split = |guess: &Guess| {
        let (owner, key) = guess.key.rsplit_once('.').unwrap_or(("", &guess.key));
        (owner.to_owned(), format!("{key} = {}", guess.value))
    };
    let all: Vec<(String, String)> = guesses.iter().map(split).collect();
    let of_every_guest = |text: &str| {
        let guests = all.iter().filter(|(owner, _)| owner.starts_with("guest."));
        let alike = guests.filter(|(_, other)| other == text).count();
        lab.guests.len() > 1 && alike == lab.guests.len()
    };
    let owned = all.iter().map(|(owner, text)| {
        let everyone = owner.starts_with("guest.") && of_every_guest(text);
        // A space sorts before every name of a table.
        (if everyone { " every guest" } else { owner }, text)
    });
    lines(owned)
}

/// One line for each origin that other defaults rest on, with the values.
fn defaults(defaults: &[DefaultUsed]) -> Vec<String> {
    let texts: Vec<String> = defaults
        .iter()
        .map(|default| {
            let key = default.key.rsplit('.').next().unwrap_or(&default.key);
            format!("{key} = {}", default.value)
        })
        .collect();
    let origins = defaults
        .iter()
        .map(|default| default.origin.trim_start_matches("default, "));
    lines(origins.zip(&texts))
}

/// A line for each heading, with its texts once each in their order.
fn lines<'a>(texts: impl Iterator<Item = (&'a str, &'a String)>) -> Vec<String> {
    let mut seen = BTreeSet::new();
    let mut gathered: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (heading, text) in texts {
        if seen.insert((heading, text)) {
            gathered.entry(heading).or_default().push(text);
        }
    }
    let lines = gathered.into_iter();
    lines
        .map(|(heading, texts)| format!("{}: {}", heading.trim_start(), texts.join(", ")))
        .collect()
}
