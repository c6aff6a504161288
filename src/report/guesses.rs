//! What is not given: guesses, and defaults with an origin, gathered by the table they belong to.

use std::collections::BTreeMap;

use super::document::Document;
use crate::lab::Lab;
use crate::sizing::answer::{DefaultUsed, Guess};

/// Adds both lists, where there is something to tell.
pub(super) fn append(
    document: &mut Document,
    level: u8,
    lab: &Lab,
    guessed: &[Guess],
    used: &[DefaultUsed],
) {
    if let Some(lines) = guesses(guessed, lab) {
        document.heading(level, "Guesses (values not given)");
        document.list(lines);
    }
    if let Some(lines) = defaults(used) {
        document.heading(level, "Other defaults used");
        document.list(lines);
    }
}

/// One line for what was guessed alike for every guest, then one for each table with guesses of its own.
fn guesses(guesses: &[Guess], lab: &Lab) -> Option<Vec<String>> {
    let told = guesses
        .iter()
        .map(|guess| (guess.key.as_str(), guess.value.clone()));
    gathered(told.collect(), lab)
}

/// One line for each origin that other defaults rest on, with the values.
fn defaults(defaults: &[DefaultUsed]) -> Option<Vec<String>> {
    let mut origins: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for default in defaults {
        let origin = default.origin.trim_start_matches("default, ");
        let key = default.key.rsplit('.').next().unwrap_or(&default.key);
        let text = format!("{key} = {}", default.value);
        let texts = origins.entry(origin).or_default();
        if !texts.contains(&text) {
            texts.push(text);
        }
    }
    let lines: Vec<String> = origins
        .into_iter()
        .map(|(origin, texts)| format!("{origin}: {}", texts.join(", ")))
        .collect();
    (!lines.is_empty()).then_some(lines)
}

fn gathered(values: Vec<(&str, String)>, lab: &Lab) -> Option<Vec<String>> {
    let split = |key: &str| match key.rsplit_once('.') {
        Some((owner, key)) => (owner.to_owned(), key.to_owned()),
        None => (String::new(), key.to_owned()),
    };
    let all: Vec<(String, String)> = values
        .into_iter()
        .map(|(path, value)| {
            let (owner, key) = split(path);
            (owner, format!("{key} = {value}"))
        })
        .collect();
    let mut alike: BTreeMap<&str, usize> = BTreeMap::new();
    for (_, text) in all.iter().filter(|(owner, _)| owner.starts_with("guest.")) {
        *alike.entry(text).or_default() += 1;
    }
    let of_every_guest = |owner: &str, text: &str| {
        owner.starts_with("guest.")
            && lab.guests.len() > 1
            && alike.get(text) == Some(&lab.guests.len())
    };
    let mut everyone: Vec<&str> = Vec::new();
    let mut owners: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (owner, text) in &all {
        if of_every_guest(owner, text) {
            if !everyone.contains(&text.as_str()) {
                everyone.push(text);
            }
        } else {
            owners.entry(owner).or_default().push(text);
        }
    }
    let line = |owner: &str, texts: &[&str]| format!("{owner}: {}", texts.join(", "));
    let mut lines = Vec::new();
    if !everyone.is_empty() {
        lines.push(line("every guest", &everyone));
    }
    lines.extend(owners.iter().map(|(owner, texts)| line(owner, texts)));
    (!lines.is_empty()).then_some(lines)
}
