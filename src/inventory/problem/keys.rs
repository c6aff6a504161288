//! Keys that are missing or unknown, and names that are twice or not there.

use crate::diagnose::source::{Place, Sources};
use crate::diagnose::{Diagnostic, ErrorKind, suggest};
use crate::inventory::tree::{Entry, Node};
use crate::inventory::written::shorten;
use crate::lab::keys::{Key, Section};

use super::text::Problem;

/// Something wrong with the keys of a table.
#[derive(Debug)]
pub(in crate::inventory) enum KeyProblem<'t> {
    /// A section is no table.
    NotATable(Section, &'t Node),
    /// A key that the section does not have.
    Unknown(Section, &'t Entry),
    /// A key that has to be given.
    Missing {
        section: Section,
        key: &'static Key,
        /// Key path of the table.
        table: &'t str,
        /// Where the table starts, or the one around it.
        header: Option<Place>,
        /// Whether the table stands in the file.
        is_there: bool,
    },
}

impl Problem for KeyProblem<'_> {
    fn diagnostic(&self, _: &Sources) -> Diagnostic {
        match self {
            KeyProblem::NotATable(section, node) => {
                let header = section.header();
                let example = section.keys().first().map(Key::example).unwrap_or_default();
                let message = format!("{header} must be a table, but is {}", node.noun());
                Diagnostic::new(ErrorKind::WrongType, message)
                    .at(node.place, "not a table")
                    .hint(format!(
                        "open it with {header} and write its keys below, for example {example}"
                    ))
            }
            KeyProblem::Unknown(section, entry) => {
                let name = shorten(&entry.key);
                let message = format!("`{name}` is not a key of {}", section.header());
                Diagnostic::new(ErrorKind::UnknownKey, message)
                    .at(entry.key_place, "unknown key")
                    .hint(likely_key(*section, &entry.key))
            }
            KeyProblem::Missing {
                section,
                key,
                table,
                header,
                is_there,
            } => {
                // A thing without a name is shown by its place only.
                let whose = if table.contains("\"\"") {
                    String::new()
                } else {
                    format!(" of `{table}`")
                };
                let words = if *is_there {
                    "it belongs below this"
                } else {
                    "this has none"
                };
                let message = format!("`{}`{whose} is missing: {}", key.name, key.meaning);
                Diagnostic::new(ErrorKind::MissingKey, message)
                    .at_any(*header, words)
                    .hint(format!("add {} to {}", key.example(), section.header()))
            }
        }
    }
}

/// The key that was likely meant, or the sections that have it, or all keys there are.
fn likely_key(section: Section, name: &str) -> String {
    let names = |section: Section| section.keys().iter().map(|key| key.name);
    let elsewhere: Vec<&str> = Section::all()
        .filter(|other| other.key(name).is_some())
        .map(Section::header)
        .collect();
    match (suggest::closest(name, names(section)), elsewhere.as_slice()) {
        (Some(near), []) => format!("did you mean `{near}`?"),
        (Some(near), _) => format!(
            "did you mean `{near}`? `{name}` belongs in {}",
            elsewhere.join(" or ")
        ),
        (None, []) => {
            let near = Section::all()
                .find_map(|other| Some((other, suggest::closest(name, names(other))?)));
            match near {
                Some((other, near)) => format!("did you mean `{near}` of {}?", other.header()),
                None => format!(
                    "keys of {}: {}",
                    section.header(),
                    suggest::list(names(section), 50)
                ),
            }
        }
        (None, _) => format!("`{name}` belongs in {}", elsewhere.join(" or ")),
    }
}

/// Something wrong with the names of things.
#[derive(Debug)]
pub(in crate::inventory) enum NameProblem<'t> {
    /// A name that another has: what they are, the name, the second place and the first.
    Twice(&'static str, &'t str, [Place; 2]),
    /// An image that is not there, and those that are.
    NoImage(&'t str, Place, Vec<&'t str>),
    /// A pool that a host does not have.
    NoPool {
        pool: &'t str,
        place: Place,
        host: &'t str,
        /// The pools it has.
        pools: Vec<&'t str>,
        /// How many other hosts do not have it either.
        others: usize,
    },
    /// No host, or no guest.
    Nothing(&'static str),
}

impl Problem for NameProblem<'_> {
    fn diagnostic(&self, _: &Sources) -> Diagnostic {
        match self {
            NameProblem::Twice(things, name, [second, first]) => {
                let message = format!("two {things} have the name `{name}`");
                Diagnostic::new(ErrorKind::Duplicate, message)
                    .at(*second, "named again here")
                    .at(*first, "first named here")
                    .hint("give each a name of its own")
            }
            NameProblem::NoImage(name, place, names) => {
                let message = format!("there is no image `{name}`");
                Diagnostic::new(ErrorKind::UnknownReference, message)
                    .at(*place, "names no image")
                    .hint(likely_image(name, names))
            }
            NameProblem::NoPool {
                pool,
                place,
                host,
                pools,
                others,
            } => {
                let others = match others {
                    0 => String::new(),
                    1 => " and 1 other host".to_owned(),
                    count => format!(" and {count} other hosts"),
                };
                let hint = match suggest::closest(pool, pools.iter().copied()) {
                    Some(near) => format!("did you mean \"{near}\"?"),
                    None => format!(
                        "host `{host}` has {}; a pool must be there in every host that has disks",
                        suggest::list(pools.iter().copied(), 10)
                    ),
                };
                let message = format!("there is no pool `{pool}` in host `{host}`{others}");
                Diagnostic::new(ErrorKind::UnknownReference, message)
                    .at(*place, "names no pool there")
                    .hint(hint)
            }
            NameProblem::Nothing(what) => {
                let hint = if *what == "host" {
                    "add [[host]] with name, cpu.groups = [{ cores = 8 }] and memory.modules = [\"32 GiB\"]"
                } else {
                    "add [[guest]] with name and memory = \"2 GiB\""
                };
                let message =
                    format!("there is no {what}: a lab needs at least one host and one guest");
                Diagnostic::new(ErrorKind::EmptyLab, message).hint(hint)
            }
        }
    }
}

/// The image that was likely meant, or all there are.
fn likely_image(name: &str, names: &[&str]) -> String {
    match suggest::closest(name, names.iter().copied()) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None if names.is_empty() => {
            format!("define it: [[image]] with name = \"{name}\" and its size")
        }
        None => format!("there is {}", suggest::list(names.iter().copied(), 20)),
    }
}
