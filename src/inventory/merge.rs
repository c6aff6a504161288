//! Puts the files of one inventory together.

use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, MOST_KEPT, suggest};

use super::Values;
use super::keys::Section;
use super::quantity::shorten;
use super::tree::{Entry, Node, Table, Value};

/// How many hosts, images or guests one inventory may have, each.
pub(super) const MOST_TABLES: usize = 20_000;

/// The values of all files, in the order of the files; what is wrong at their top goes to `complaints`.
pub(super) fn files(files: Vec<Table>, complaints: &mut Vec<Diagnostic>) -> Values {
    let mut values = Values::default();
    for entry in files.into_iter().flat_map(|file| file.entries) {
        match entry.key.as_str() {
            "include" => check_include(&entry.node, complaints),
            "lab" => join(&mut values.lab, entry, complaints),
            "policy" => join(&mut values.policy, entry, complaints),
            "host" => append(&mut values.hosts, entry, complaints),
            "image" => append(&mut values.images, entry, complaints),
            "guest" => append(&mut values.guests, entry, complaints),
            _ if complaints.len() >= MOST_KEPT => {}
            _ => complaints.push(unknown(Section::Top, &entry)),
        }
    }
    values
}

/// A key that its section does not have; the complaint names the likely one.
pub(super) fn unknown(section: Section, entry: &Entry) -> Diagnostic {
    let name = entry.key.as_str();
    let here = |section: Section| section.keys().iter().map(|key| key.name);
    let complaint = Diagnostic::new(
        Code::UnknownKey,
        format!("`{}` is not a key of {}", shorten(name), section.header()),
    )
    .at(entry.key_place, "unknown key");
    let near_here = suggest::closest(name, here(section));
    let elsewhere: Vec<&str> = Section::ALL
        .into_iter()
        .filter(|other| other.key(name).is_some())
        .map(Section::header)
        .collect();
    let help = match (near_here, elsewhere.as_slice()) {
        (Some(near), []) => format!("did you mean `{near}`?"),
        (Some(near), _) => format!(
            "did you mean `{near}`? `{name}` belongs in {}",
            elsewhere.join(" or ")
        ),
        (None, []) => {
            let near = Section::ALL
                .into_iter()
                .find_map(|other| Some((other, suggest::closest(name, here(other))?)));
            match near {
                Some((other, near)) => format!("did you mean `{near}` of {}?", other.header()),
                None => format!(
                    "keys of {}: {}",
                    section.header(),
                    suggest::list(here(section), 50)
                ),
            }
        }
        (None, _) => format!("`{name}` belongs in {}", elsewhere.join(" or ")),
    };
    complaint.help(help)
}

/// Adds the keys of a `[lab]` or `[policy]` to those of the files before.
fn join(into: &mut Option<Node>, entry: Entry, complaints: &mut Vec<Diagnostic>) {
    let Node {
        value: Value::Table(table),
        place,
    } = entry.node
    else {
        let message = format!(
            "`{}` must be a table, but is {}",
            entry.key,
            entry.node.noun()
        );
        let help = format!("open it with [{}] on a line of its own", entry.key);
        complaints.push(
            Diagnostic::new(Code::WrongType, message)
                .at(entry.node.place, "not a table")
                .help(help),
        );
        return;
    };
    let node = into.get_or_insert(Node {
        value: Value::Table(Table::default()),
        place,
    });
    let Value::Table(known) = &mut node.value else {
        return;
    };
    for new in table.entries {
        if let Some(old) = known.get(&new.key) {
            let message = format!("`{}` is given twice", new.key);
            let complaint = Diagnostic::new(Code::SaidTwice, message)
                .at(new.key_place, "given again here")
                .at(old.key_place, "first given here");
            complaints
                .push(complaint.help("keep one of the two; --set changes a value for one run"));
        } else {
            known.entries.push(new);
        }
    }
}

/// Adds hosts, images or guests to those of the files before.
fn append(into: &mut Vec<Node>, entry: Entry, complaints: &mut Vec<Diagnostic>) {
    let key = entry.key;
    let wrong = |node: &Node, what: &str| {
        let message = format!(
            "`{key}` must be a list of tables, but {what} {}",
            node.noun()
        );
        Diagnostic::new(Code::WrongType, message)
            .at(node.place, "not a list of tables")
            .help(format!("open each {key} with [[{key}]], in two brackets"))
    };
    match entry.node.value {
        Value::List(list) if list.len() > MOST_TABLES - into.len() => {
            let message = format!("there are more than {MOST_TABLES} tables [[{key}]]");
            let complaint = Diagnostic::new(Code::OutOfRange, message);
            complaints.push(
                complaint
                    .at(entry.node.place, "the first of them")
                    .help("split the inventory"),
            );
        }
        Value::List(list) => {
            for node in list {
                if node.table().is_some() {
                    into.push(node);
                } else if complaints.len() < MOST_KEPT {
                    complaints.push(wrong(&node, "holds"));
                }
            }
        }
        _ => {
            complaints.push(wrong(&entry.node, "is"));
            // Read as if in two brackets, so that one slip does not hide others or say that there is no host.
            if entry.node.table().is_some() {
                into.push(entry.node);
            }
        }
    }
}

/// `include` must be a list of names; the files themselves were read before.
fn check_include(node: &Node, complaints: &mut Vec<Diagnostic>) {
    let wrong = |node: &Node, what: &str| {
        Diagnostic::new(
            Code::WrongType,
            format!(
                "`include` must be a list of file names, but {what} {}",
                node.noun()
            ),
        )
        .at(node.place, "not a list of file names")
        .help("write include = [\"guests.toml\"]")
    };
    match &node.value {
        Value::List(list) => {
            complaints.extend(
                list.iter()
                    .filter(|item| item.text().is_none())
                    .map(|item| wrong(item, "holds")),
            );
        }
        _ => complaints.push(wrong(node, "is")),
    }
}
