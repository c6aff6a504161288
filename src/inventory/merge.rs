//! Puts the files of one inventory together.

use crate::diagnose::{Diagnostic, MOST_KEPT};
use crate::lab::keys::{Kind, Section};

use super::problem::keys;
use super::tree::{Entry, Node, Table, Value};

/// How many hosts one inventory may have: as many as a catalogue that is ranked.
const MOST_HOSTS: usize = 10_000;
/// How many images, guests or periods one inventory may have, each: they are weighed together.
const MOST_TABLES: usize = 1_000;

/// The values of all files as those of one; what is wrong at their top goes to `errors`.
pub(super) fn files(files: Vec<Table>, errors: &mut Vec<Diagnostic>) -> Table {
    let mut values = Table::default();
    for entry in files.into_iter().flat_map(|file| file.entries) {
        match Section::Top.key(&entry.key).map(|key| key.kind) {
            Some(Kind::Files) => check_include(&entry.node, errors),
            Some(Kind::Table(_)) => merge_table(&mut values, entry, errors),
            Some(_) => append_tables(&mut values, entry, errors),
            None if errors.len() >= MOST_KEPT => {}
            None => errors.push(keys::unknown(Section::Top, &entry)),
        }
    }
    errors.truncate(MOST_KEPT);
    values
}

/// Adds the keys of a `[lab]` or `[policy]` to those of the files before.
fn merge_table(values: &mut Table, entry: Entry, errors: &mut Vec<Diagnostic>) {
    let key = &entry.key;
    if entry.node.table().is_none() {
        let hint = format!("open it with [{key}] on a line of its own");
        return errors.push(keys::not_a("a table", key, "is", &entry.node, hint));
    }
    let known = values.get_mut(key).map(|known| &mut known.node.value);
    let (Some(Value::Table(known)), Value::Table(table)) = (known, &entry.node.value) else {
        return values.entries.push(entry);
    };
    for new in &table.entries {
        match known.get(&new.key) {
            Some(old) => errors.push(keys::given_twice(new, old)),
            None => known.entries.push(new.clone()),
        }
    }
}

/// Adds hosts, images or guests to those of the files before.
fn append_tables(values: &mut Table, entry: Entry, errors: &mut Vec<Diagnostic>) {
    let Entry {
        key,
        key_place,
        node,
    } = entry;
    let not_tables = |how, node: &Node| {
        let hint = format!("open each {key} with [[{key}]], in two brackets");
        keys::not_a("a list of tables", &key, how, node, hint)
    };
    let (place, mut tables) = (node.place, Vec::new());
    let most = if key == "host" {
        MOST_HOSTS
    } else {
        MOST_TABLES
    };
    match node.value {
        Value::List(list) if list.len() + values.list(&key).len() > most => {
            errors.push(keys::too_many(most, &key, place));
        }
        Value::List(list) => {
            for node in list {
                if node.table().is_some() {
                    tables.push(node);
                } else {
                    errors.push(not_tables("holds", &node));
                }
            }
        }
        _ => {
            errors.push(not_tables("is", &node));
            // Read as if in two brackets, so that one mistake does not hide others or report that there is no host.
            if node.table().is_some() {
                tables.push(node);
            }
        }
    }
    match values.get_mut(&key).map(|known| &mut known.node.value) {
        Some(Value::List(known)) => known.append(&mut tables),
        _ => values.entries.push(Entry {
            key,
            key_place,
            node: Node {
                value: Value::List(tables),
                place,
            },
        }),
    }
}

/// `include` must be a list of names; the files themselves were read before.
fn check_include(node: &Node, errors: &mut Vec<Diagnostic>) {
    let mut wrong = |how, node| {
        let hint = "write include = [\"guests.toml\"]".to_owned();
        errors.push(keys::not_a(
            "a list of file names",
            "include",
            how,
            node,
            hint,
        ));
    };
    let Value::List(list) = &node.value else {
        return wrong("is", node);
    };
    for item in list.iter().filter(|item| item.text().is_none()) {
        wrong("holds", item);
    }
}
