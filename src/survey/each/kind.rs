//! Which guests are alike: by patterns of their names, else by memory, vCPUs and the name without its number.

use std::collections::BTreeMap;

use super::line::{Line, without_number};
use crate::unit::format;

/// A kind and the pattern of its guests' names; `*` matches any letters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pattern {
    /// The kind.
    pub kind: String,
    /// The pattern.
    pub names: String,
}

/// Whether a name matches a pattern, in which `*` matches any letters.
///
/// # Example
/// ```
/// use berthage::survey::each::kind::matches_pattern;
/// assert!(matches_pattern("web-12", "web-*") && matches_pattern("web", "web*") && !matches_pattern("db-1", "web-*"));
/// assert!(matches_pattern("a-web-b", "*web*") && !matches_pattern("aXb", "a*c"));
/// ```
pub fn matches_pattern(name: &str, pattern: &str) -> bool {
    let Some((start, rest)) = pattern.split_once('*') else {
        return name == pattern;
    };
    let Some(mut left) = name.strip_prefix(start) else {
        return false;
    };
    let mut parts: Vec<&str> = rest.split('*').collect();
    let end = parts.pop().unwrap_or_default();
    for part in parts {
        match left.find(part) {
            Some(at) => left = &left[at + part.len()..],
            None => return false,
        }
    }
    left.ends_with(end)
}

/// The kinds of guests seen so far.
#[derive(Debug)]
pub(super) struct Kinds {
    pub patterns: Vec<Pattern>,
    /// By name without number: what guests of that name were given, in whole bytes and vCPUs, in the order they were seen.
    pub seen: BTreeMap<String, Vec<[u64; 2]>>,
}

impl Kinds {
    /// The kind of a guest with the figures of a line.
    pub fn kind(&mut self, line: &Line) -> String {
        let mut patterns = self.patterns.iter();
        if let Some(pattern) = patterns.find(|pattern| matches_pattern(&line.guest, &pattern.names))
        {
            return pattern.kind.clone();
        }
        let stem = without_number(&line.guest);
        let given = ["memory", "vcpus"].map(|name| line.figure(name).unwrap_or(0.0) as u64);
        let seen = self.seen.entry(stem.to_owned()).or_default();
        if !seen.contains(&given) {
            seen.push(given);
        }
        // The first size seen has the bare name.
        if seen.first() == Some(&given) {
            return stem.to_owned();
        }
        let (memory, vcpus) = (format::bytes(given[0] as f64), given[1]);
        format!("{stem} {memory} {}", format::plural(vcpus, "vCPU", "vCPUs"))
    }
}
