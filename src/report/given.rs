//! What the owner gave, for a page that stands alone.

use super::document::{Align, Cell, Document, Table};
use super::fit_guesses;
use crate::lab::key_path;
use crate::lab::keys::Command;
use crate::lab::{Host, Lab, Source};
use crate::sizing::answer::{DefaultUsed, Guess};
use crate::sizing::guesses::defaults_for;

/// Adds what was guessed for a command about these hosts, and then what was given.
pub fn append_with_guesses(document: &mut Document, lab: &Lab, hosts: &[&Host], command: Command) {
    let (mut guesses, mut defaults): (Vec<Guess>, Vec<DefaultUsed>) = (Vec::new(), Vec::new());
    for host in hosts {
        // What belongs to no host comes with each of them.
        let (guessed, used) = defaults_for(lab, host, command);
        guesses.extend(guessed);
        defaults.extend(used);
    }
    guesses.sort_by(|one, other| one.key.cmp(&other.key));
    guesses.dedup_by(|one, other| one.key == other.key);
    fit_guesses::append(document, 2, lab, &guesses, &defaults);
    append(document, lab, hosts);
}

/// Adds what was given about these hosts, the images, the guests and the policy, a table each.
pub fn append(document: &mut Document, lab: &Lab, hosts: &[&Host]) {
    document.heading(2, "As given");
    let named =
        |kind: &'static str| move |name: &str| (format!("{kind} {name}"), key_path(&[kind, name]));
    let subjects = hosts
        .iter()
        .map(|host| named("host")(&host.name))
        .chain(lab.guests.iter().map(|guest| named("guest")(&guest.name)))
        .chain(lab.images.iter().map(|image| named("image")(&image.name)))
        .chain([
            ("policy".to_owned(), "policy".to_owned()),
            ("lab".to_owned(), "lab".to_owned()),
        ]);
    for (subject, path) in subjects {
        let table = given(lab, &subject, &path);
        if !table.rows.is_empty() {
            document.table(table);
        }
    }
}

/// The values given below a path. Their names are in the heading, and what `--set` put in is marked.
fn given(lab: &Lab, subject: &str, path: &str) -> Table {
    let mut table = Table::new(&[(subject, Align::Left), ("given", Align::Left)]);
    let below = format!("{path}.");
    for (key, origin) in &lab.origins {
        let Some(key) = key.strip_prefix(&below) else {
            continue;
        };
        // Names stand in the path of everything they hold, and core groups are given as one list.
        let is_said = key == "name" || key.ends_with(".name") || key.starts_with("cpu.groups.");
        if is_said {
            continue;
        }
        let value = match origin.source {
            Source::File { .. } => origin.text.clone(),
            Source::CommandLine => format!("{} (by --set)", origin.text),
            Source::Default(_) => continue,
        };
        table.row([Cell::text(key), Cell::text(value)]);
    }
    table
}
