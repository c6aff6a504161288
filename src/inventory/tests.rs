//! Tests of the inventory.

mod bad_input;
mod files;
mod garbage;
mod sets;
mod valid;

use crate::diagnose::Diagnostics;
use crate::diagnose::ErrorKind;

use super::load_text;
use crate::lab::Lab;

/// A host to put guests on.
pub(super) const HOST: &str = r#"
[[host]]
name = "shelf-a"
cpu.groups = [{ cores = 8, threads = 2 }]
memory.modules = ["32 GiB", "32 GiB"]
"#;

/// A guest to put on hosts.
pub(super) const GUEST: &str = r#"
[[guest]]
name = "web"
memory = "2 GiB"
"#;

/// A lab that gives every key there is.
pub(super) const EVERYTHING: &str = include_str!("tests/everything.toml");

/// Reads a text that has to be right.
#[track_caller]
pub(super) fn right(text: &str) -> Lab {
    load_text("lab.toml", text, &[]).unwrap_or_else(|errors| panic!("{errors}"))
}

/// Reads a text that has to be wrong.
#[track_caller]
pub(super) fn wrong(text: &str) -> Diagnostics {
    match load_text("lab.toml", text, &[]) {
        Ok(_) => panic!("taken for right:\n{text}"),
        Err(errors) => errors,
    }
}

/// Demands that a text has exactly these errors, in this order.
#[track_caller]
pub(super) fn codes(text: &str, expected: &[ErrorKind]) -> Diagnostics {
    let errors = wrong(text);
    let found: Vec<ErrorKind> = errors
        .list()
        .iter()
        .map(|diagnostic| diagnostic.kind)
        .collect();
    assert_eq!(found, expected, "{errors}");
    errors
}
