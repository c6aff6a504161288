//! What is not given: guesses, and defaults with an origin, gathered by the table they belong to.

use std::collections::BTreeMap;

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
    lines(all.iter().map(|(owner, text)| {
        let everyone = owner.starts_with("guest.") && of_every_guest(text);
        // A space sorts before every name of a table.
        let owner = if everyone { " every guest" } else { owner };
        (owner, text.clone())
    }))
}

/// One line for each origin that other defaults rest on, with the values.
fn defaults(defaults: &[DefaultUsed]) -> Vec<String> {
    lines(defaults.iter().map(|default| {
        let key = default.key.rsplit('.').next().unwrap_or(&default.key);
        let origin = default.origin.trim_start_matches("default, ");
        (origin, format!("{key} = {}", default.value))
    }))
}

/// A line for each heading, with its texts once each in their order.
fn lines<'a>(texts: impl Iterator<Item = (&'a str, String)>) -> Vec<String> {
    let mut gathered: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for (heading, text) in texts {
        let seen = gathered.entry(heading).or_default();
        if !seen.contains(&text) {
            seen.push(text);
        }
    }
    let lines = gathered.into_iter();
    lines
        .map(|(heading, texts)| format!("{}: {}", heading.trim_start(), texts.join(", ")))
        .collect()
}
