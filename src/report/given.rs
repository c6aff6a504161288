//! What the owner gave, for a page that is read by itself.

use super::document::Document;
use super::guesses;
use super::table::Table;
use crate::lab::key_path;
use crate::lab::keys::Command;
use crate::lab::{Host, Lab, Origin, Source};
use crate::sizing::answer::{DefaultUsed, Guess};
use crate::sizing::guesses::defaults_for;

/// Adds what was guessed for a command about these hosts, and then what was given.
pub fn append_with_guesses(document: &mut Document, lab: &Lab, hosts: &[&Host], command: Command) {
    let (mut guessed, mut defaults): (Vec<Guess>, Vec<DefaultUsed>) = (Vec::new(), Vec::new());
    for host in hosts {
        // What belongs to no host comes with each of them.
        let (own, used) = defaults_for(lab, host, command);
        guessed.extend(own);
        defaults.extend(used);
    }
    guessed.sort_by(|one, other| one.key.cmp(&other.key));
    guessed.dedup_by(|one, other| one.key == other.key);
    guesses::append(document, 2, lab, &guessed, &defaults);
    append(document, lab, hosts);
}

/// Adds what was given about these hosts, the images, the guests and the policy, a table each.
pub fn append(document: &mut Document, lab: &Lab, hosts: &[&Host]) {
    document.heading(2, "As given");
    let hosts = hosts.iter().map(|host| ["host", &host.name]);
    let guests = lab.guests.iter().map(|guest| ["guest", &guest.name]);
    let images = lab.images.iter().map(|image| ["image", &image.name]);
    let named = hosts.chain(guests).chain(images);
    let named = named.map(|path| (path.join(" "), key_path(&path)));
    let others = ["policy", "lab"].map(|name| (name.to_owned(), name.to_owned()));
    for (subject, path) in named.chain(others) {
        let values = given(lab, &path);
        if !values.is_empty() {
            let table = Table::of(values)
                .left(subject, |(key, _)| *key)
                .left("given", |(_, value)| value.clone());
            document.table(table);
        }
    }
}

/// The values given below a path, by key. What `--set` put in is marked.
fn given<'a>(lab: &'a Lab, path: &str) -> Vec<(&'a str, String)> {
    let below = format!("{path}.");
    let value = |origin: &Origin| match origin.source {
        Source::File { .. } => Some(origin.text.clone()),
        Source::CommandLine => Some(format!("{} (by --set)", origin.text)),
        Source::Default(_) => None,
    };
    // Names stand in the path of everything they hold, and core groups are given as one list.
    let stands_elsewhere =
        |key: &str| key == "name" || key.ends_with(".name") || key.starts_with("cpu.groups.");
    lab.origins
        .iter()
        .filter_map(|(key, origin)| Some((key.strip_prefix(&below)?, value(origin)?)))
        .filter(|(key, _)| !stands_elsewhere(key))
        .collect()
}
