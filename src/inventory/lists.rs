//! Lists of tables that have names.

use std::collections::HashMap;
use std::collections::hash_map::Entry;

use crate::diagnose::source::Place;
use crate::lab::is_name;

use super::check::{Checker, join};
use super::problem::keys;
use super::tree::Node;

/// Longest name that is shown in a path; longer ones are no names.
const LONGEST_SHOWN: usize = 256;

/// Each table of a list, whose names must differ.
pub(super) fn named_tables<'t, T>(
    checker: &mut Checker<'t>,
    nodes: &'t [Node],
    things: &'static str,
    mut one: impl FnMut(&mut Checker<'t>, &'t Node, usize) -> T,
) -> Vec<T> {
    let mut all = Vec::with_capacity(nodes.len());
    let mut seen: HashMap<&str, Place> = HashMap::new();
    for (index, node) in nodes.iter().enumerate() {
        if checker.is_full() {
            break;
        }
        all.push(one(checker, node, index));
        // A text that is no name was reported.
        let named = node.table().and_then(|table| table.node("name"));
        let named = named.and_then(|node| Some((node.text()?, node.place)));
        if let Some((name, second)) = named.filter(|(name, _)| is_name(name)) {
            match seen.entry(name) {
                Entry::Occupied(first) => {
                    checker.report(keys::same_name(things, name, [second, *first.get()]));
                }
                Entry::Vacant(free) => {
                    free.insert(second);
                }
            }
        }
    }
    all
}

/// The path of a named table, without a name where it is none, which is reported elsewhere.
pub(super) fn table_path(around: &str, node: &Node) -> String {
    let name = node
        .table()
        .and_then(|table| table.node("name")?.text())
        .filter(|name| name.len() <= LONGEST_SHOWN);
    join(around, name.unwrap_or(""))
}
