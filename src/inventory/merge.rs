//! Puts the files of one inventory together.

use crate::diagnose::ErrorKind;
use crate::diagnose::{Diagnostic, MOST_KEPT, suggest};

use super::Values;
use super::quantity::shorten;
use super::tree::{Entry, Node, Table, Value};
use crate::lab::keys::Section;

/// How many hosts, images or guests one inventory may have, each.
pub(super) const MOST_TABLES: usize = 20_000;

/// The values of all files, in the order of the files; what is wrong at their top goes to `errors`.
pub(super) fn files(files: Vec<Table>, errors: &mut Vec<Diagnostic>) -> Values {
    let mut values = Values::default();
    for entry in files.into_iter().flat_map(|file| file.entries) {
        match entry.key.as_str() {
            "include" => check_include(&entry.node, errors),
            "lab" => join(&mut values.lab, entry, errors),
            "policy" => join(&mut values.policy, entry, errors),
            "host" => append(&mut values.hosts, entry, errors),
            "image" => append(&mut values.images, entry, errors),
            "guest" => append(&mut values.guests, entry, errors),
            _ if errors.len() >= MOST_KEPT => {}
            _ => errors.push(unknown(Section::Top, &entry)),
        }
    }
    values
}

/// A key that its section does not have; the error names the likely one.
pub(super) fn unknown(section: Section, entry: &Entry) -> Diagnostic {
    let name = entry.key.as_str();
    let here = |section: Section| section.keys().iter().map(|key| key.name);
    let error = Diagnostic::new(
        ErrorKind::UnknownKey,
        format!("`{}` is not a key of {}", shorten(name), section.header()),
    )
    .at(entry.key_place, "unknown key");
    let near_here = suggest::closest(name, here(section));
    let elsewhere: Vec<&str> = Section::ALL
        .into_iter()
        .filter(|other| other.key(name).is_some())
        .map(Section::header)
        .collect();
    let hint = match (near_here, elsewhere.as_slice()) {
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
    error.hint(hint)
}

/// Adds the keys of a `[lab]` or `[policy]` to those of the files before.
fn join(into: &mut Option<Node>, entry: Entry, errors: &mut Vec<Diagnostic>) {
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
        let hint = format!("open it with [{}] on a line of its own", entry.key);
        errors.push(
            Diagnostic::new(ErrorKind::WrongType, message)
                .at(entry.node.place, "not a table")
                .hint(hint),
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
            let error = Diagnostic::new(ErrorKind::Duplicate, message)
                .at(new.key_place, "given again here")
                .at(old.key_place, "first given here");
            errors.push(error.hint("keep one of the two; --set changes a value for one run"));
        } else {
            known.entries.push(new);
        }
    }
}

/// Adds hosts, images or guests to those of the files before.
fn append(into: &mut Vec<Node>, entry: Entry, errors: &mut Vec<Diagnostic>) {
    let key = entry.key;
    let wrong = |node: &Node, what: &str| {
        let message = format!(
            "`{key}` must be a list of tables, but {what} {}",
            node.noun()
        );
        Diagnostic::new(ErrorKind::WrongType, message)
            .at(node.place, "not a list of tables")
            .hint(format!("open each {key} with [[{key}]], in two brackets"))
    };
    match entry.node.value {
        Value::List(list) if list.len() > MOST_TABLES - into.len() => {
            let message = format!("there are more than {MOST_TABLES} tables [[{key}]]");
            let error = Diagnostic::new(ErrorKind::OutOfRange, message);
            errors.push(
                error
                    .at(entry.node.place, "the first of them")
                    .hint("split the inventory"),
            );
        }
        Value::List(list) => {
            for node in list {
                if node.table().is_some() {
                    into.push(node);
                } else if errors.len() < MOST_KEPT {
                    errors.push(wrong(&node, "holds"));
                }
            }
        }
        _ => {
            errors.push(wrong(&entry.node, "is"));
            // Read as if in two brackets, so that one slip does not hide others or say that there is no host.
            if entry.node.table().is_some() {
                into.push(entry.node);
            }
        }
    }
}

/// `include` must be a list of names; the files themselves were read before.
fn check_include(node: &Node, errors: &mut Vec<Diagnostic>) {
    let wrong = |node: &Node, what: &str| {
        Diagnostic::new(
            ErrorKind::WrongType,
            format!(
                "`include` must be a list of file names, but {what} {}",
                node.noun()
            ),
        )
        .at(node.place, "not a list of file names")
        .hint("write include = [\"guests.toml\"]")
    };
    match &node.value {
        Value::List(list) => {
            errors.extend(
                list.iter()
                    .filter(|item| item.text().is_none())
                    .map(|item| wrong(item, "holds")),
            );
        }
        _ => errors.push(wrong(node, "is")),
    }
}
