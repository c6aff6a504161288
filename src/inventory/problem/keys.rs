//! Keys that are missing or unknown, and names that are twice or not there.

use crate::diagnose::source::Place;
use crate::diagnose::{Diagnostic, ErrorKind, suggest};
use crate::inventory::fields::Fields;
use crate::inventory::tree::{Entry, Node};
use crate::inventory::written::shorten;
use crate::lab::Host;
use crate::lab::keys::{Key, Section};

/// A section is no table.
pub(in crate::inventory) fn not_a_table(section: Section, node: &Node) -> Diagnostic {
    let header = section.header();
    let example = section.keys().first().map(Key::example).unwrap_or_default();
    let message = format!("{header} must be a table, but is {}", node.noun());
    Diagnostic::new(ErrorKind::WrongType, message)
        .at(node.place, "not a table")
        .hint(format!(
            "open it with {header} and write its keys below, for example {example}"
        ))
}

/// A key that the section does not have.
pub(in crate::inventory) fn unknown(section: Section, entry: &Entry) -> Diagnostic {
    let name = shorten(&entry.key);
    let message = format!("`{name}` is not a key of {}", section.header());
    Diagnostic::new(ErrorKind::UnknownKey, message)
        .at(entry.key_place, "unknown key")
        .hint(likely_key(section, &entry.key))
}

/// A key that has to be given.
pub(in crate::inventory) fn missing(fields: &Fields<'_>, key: &Key) -> Diagnostic {
    // A thing without a name is shown by its place only.
    let whose = if fields.path.contains("\"\"") {
        String::new()
    } else {
        format!(" of `{}`", fields.path)
    };
    let words = if fields.stands() {
        "it belongs below this"
    } else {
        "this has none"
    };
    let message = format!("`{}`{whose} is missing: {}", key.name, key.meaning);
    let header = fields.section.header();
    Diagnostic::new(ErrorKind::MissingKey, message)
        .at_any(fields.header, words)
        .hint(format!("add {} to {header}", key.example()))
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

/// A name that another thing has: what they are, the name, the second place and the first.
pub(in crate::inventory) fn twice(things: &str, name: &str, places: [Place; 2]) -> Diagnostic {
    let message = format!("two {things} have the name `{name}`");
    Diagnostic::new(ErrorKind::Duplicate, message)
        .at(places[0], "named again here")
        .at(places[1], "first named here")
        .hint("give each a name of its own")
}

/// An image that is not there, and those that are.
pub(in crate::inventory) fn no_image(name: &str, place: Place, names: &[&str]) -> Diagnostic {
    let hint = match suggest::closest(name, names.iter().copied()) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None if names.is_empty() => {
            format!("define it: [[image]] with name = \"{name}\" and its size")
        }
        None => format!("there is {}", suggest::list(names.iter().copied(), 20)),
    };
    let message = format!("there is no image `{name}`");
    Diagnostic::new(ErrorKind::UnknownReference, message)
        .at(place, "names no image")
        .hint(hint)
}

/// A pool that a host does not have, and so many others neither.
pub(in crate::inventory) fn no_pool(
    pool: &str,
    place: Place,
    host: &Host,
    others: usize,
) -> Diagnostic {
    let pools = host.disks.iter().map(|disk| disk.name.as_str());
    let others = match others {
        0 => String::new(),
        1 => " and 1 other host".to_owned(),
        count => format!(" and {count} other hosts"),
    };
    let host = &host.name;
    let hint = match suggest::closest(pool, pools.clone()) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None => format!(
            "host `{host}` has {}; a pool must be there in every host that has disks",
            suggest::list(pools, 10)
        ),
    };
    let message = format!("there is no pool `{pool}` in host `{host}`{others}");
    Diagnostic::new(ErrorKind::UnknownReference, message)
        .at(place, "names no pool there")
        .hint(hint)
}

/// No host, or no guest.
pub(in crate::inventory) fn nothing(what: &str) -> Diagnostic {
    let hint = if what == "host" {
        "add [[host]] with name, cpu.groups = [{ cores = 8 }] and memory.modules = [\"32 GiB\"]"
    } else {
        "add [[guest]] with name and memory = \"2 GiB\""
    };
    let message = format!("there is no {what}: a lab needs at least one host and one guest");
    Diagnostic::new(ErrorKind::EmptyLab, message).hint(hint)
}
