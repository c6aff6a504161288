//! Puts the files of one inventory together.

use crate::diagnose::source::Sources;
use crate::diagnose::{Diagnostic, MOST_KEPT};
use crate::lab::keys::Section;

use super::problem::{KeyProblem, MOST_TABLES, Problem, TopProblem};
use super::tree::{Entry, Node, Table, Value, Values};

/// The values of all files, in the order of the files; what is wrong at their top goes to `errors`.
pub(super) fn files(files: Vec<Table>, sources: &Sources, errors: &mut Vec<Diagnostic>) -> Values {
    let mut values = Values::default();
    let mut report = |problem: &dyn Problem| {
        if errors.len() < MOST_KEPT {
            errors.push(problem.diagnostic(sources));
        }
    };
    for entry in files.into_iter().flat_map(|file| file.entries) {
        match entry.key.as_str() {
            "include" => check_include(&entry.node, &mut report),
            "lab" => join(&mut values.lab, entry, &mut report),
            "policy" => join(&mut values.policy, entry, &mut report),
            "host" => append(&mut values.hosts, entry, &mut report),
            "image" => append(&mut values.images, entry, &mut report),
            "guest" => append(&mut values.guests, entry, &mut report),
            _ => report(&KeyProblem::Unknown(Section::Top, &entry)),
        }
    }
    values
}

/// Takes what is wrong.
type Report<'r> = dyn FnMut(&dyn Problem) + 'r;

/// Adds the keys of a `[lab]` or `[policy]` to those of the files before.
fn join(into: &mut Option<Node>, entry: Entry, report: &mut Report<'_>) {
    if entry.node.table().is_none() {
        return report(&TopProblem::NotATable(&entry.key, &entry.node));
    }
    let node = into.get_or_insert(Node {
        value: Value::Table(Table::default()),
        place: entry.node.place,
    });
    if let (Value::Table(known), Value::Table(table)) = (&mut node.value, entry.node.value) {
        for new in table.entries {
            match known.get(&new.key) {
                Some(old) => {
                    report(&TopProblem::Twice(&new.key, [new.key_place, old.key_place]));
                }
                None => known.entries.push(new),
            }
        }
    }
}

/// Adds hosts, images or guests to those of the files before.
fn append(into: &mut Vec<Node>, entry: Entry, report: &mut Report<'_>) {
    let Entry { key, node, .. } = entry;
    match node.value {
        Value::List(list) if list.len() > MOST_TABLES - into.len() => {
            report(&TopProblem::TooMany(&key, node.place));
        }
        Value::List(list) => {
            for node in list {
                if node.table().is_some() {
                    into.push(node);
                } else {
                    report(&TopProblem::NotTables(&key, "holds", &node));
                }
            }
        }
        _ => {
            report(&TopProblem::NotTables(&key, "is", &node));
            // Read as if in two brackets, so that one slip does not hide others or say that there is no host.
            if node.table().is_some() {
                into.push(node);
            }
        }
    }
}

/// `include` must be a list of names; the files themselves were read before.
fn check_include(node: &Node, report: &mut Report<'_>) {
    let Value::List(list) = &node.value else {
        return report(&TopProblem::NotIncludes("is", node));
    };
    for item in list.iter().filter(|item| item.text().is_none()) {
        report(&TopProblem::NotIncludes("holds", item));
    }
}
