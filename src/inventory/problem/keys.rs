//! What can be wrong with keys, tables and names, as data, and the one place of their texts.

use crate::diagnose::source::Place;
use crate::diagnose::{Diagnostic, ErrorKind, suggest};
use crate::inventory::fields::Fields;
use crate::inventory::tree::{Entry, Node};
use crate::inventory::written::shorten;
use crate::lab::keys::{Key, Section};
use crate::lab::{Host, OTHERWISE};

/// A key, a table or a name that is wrong or not there.
#[derive(Debug)]
pub(in crate::inventory) enum KeyProblem<'t> {
    /// What is there is not the table that the section needs.
    NotATable(Section, &'t Node),
    /// The section has no such key.
    Unknown(Section, &'t Entry),
    /// A key that has to be given.
    Missing(&'t Fields<'t>, &'t Key),
    /// The key is given again, in another file or the same.
    GivenTwice(&'t Entry, &'t Entry),
    /// What is wanted under the key, how it stands there ("is", "holds"), the value, and how to write it.
    NotA(&'t str, &'t str, &'t str, &'t Node, String),
    /// More than so many tables of a list.
    TooMany(usize, &'t str, Place),
    /// Two of these things have one name, seen there.
    Twice(&'t str, &'t str, [Place; 2]),
    /// No image has that name; those that there are.
    NoImage(&'t str, Place, Vec<&'t str>),
    /// The host, and so many others, have no pool of that name.
    NoPool(&'t str, Place, &'t Host, usize),
    /// A lab without a host or a guest.
    Nothing(&'t str),
    /// No period has the name that a share is given for; those that there are.
    NoPeriod(&'t Key, &'t Entry, &'t [String]),
    /// No share is given for the period.
    NoShare(&'t Key, &'t Node, &'t str),
    /// The hours of two periods have some in common; they stand there.
    Overlapping([&'t str; 2], [Option<Place>; 2]),
}

impl From<KeyProblem<'_>> for Diagnostic {
    fn from(problem: KeyProblem<'_>) -> Diagnostic {
        use KeyProblem as Is;
        match problem {
            Is::NotATable(section, node) => not_a_table(section, node),
            Is::Unknown(section, entry) => unknown(section, entry),
            Is::Missing(fields, key) => missing(fields, key),
            Is::GivenTwice(new, old) => twice(
                format!("`{}` is given twice", new.key),
                [new.key_place, old.key_place],
                "given",
                "keep one of the two; --set changes a value for one run",
            ),
            Is::NotA(wanted, key, how, node, hint) => {
                let message = format!("`{key}` must be {wanted}, but {how} {}", node.noun());
                Diagnostic::new(ErrorKind::WrongType, message)
                    .at(node.place, format!("not {wanted}"))
                    .hint(hint)
            }
            Is::TooMany(most, key, place) => Diagnostic::new(
                ErrorKind::OutOfRange,
                format!("there are more than {most} tables [[{key}]]"),
            )
            .at(place, "the first of them")
            .hint("split the inventory"),
            Is::Twice(things, name, places) => twice(
                format!("two {things} have the name `{name}`"),
                places,
                "named",
                "give each a name of its own",
            ),
            Is::NoImage(name, place, names) => no_image(name, place, &names),
            Is::NoPool(pool, place, host, others) => no_pool(pool, place, host, others),
            Is::Nothing(what) => nothing(what),
            Is::NoPeriod(key, entry, names) => no_period(key, entry, names),
            Is::NoShare(key, node, period) => Diagnostic::new(
                ErrorKind::InvalidPeriod,
                format!("`{}` gives no share for the period `{period}`", key.name),
            )
            .at(node.place, "a share for each period")
            .hint(format!(
                "add {period} = \"8 %\", or {OTHERWISE} = \"3 %\" for all that are not named"
            )),
            Is::Overlapping([first, second], [earlier, later]) => Diagnostic::new(
                ErrorKind::InvalidPeriod,
                format!("the hours of `{first}` and `{second}` overlap"),
            )
            .at_any(later, "overlaps")
            .at_any(earlier, format!("the hours of `{first}`"))
            .hint("let one end where the other starts"),
        }
    }
}

/// Something that is given or named once more.
fn twice(message: String, [again, first]: [Place; 2], how: &str, hint: &str) -> Diagnostic {
    Diagnostic::new(ErrorKind::Duplicate, message)
        .at(again, format!("{how} again here"))
        .at(first, format!("first {how} here"))
        .hint(hint)
}

/// A section is no table.
fn not_a_table(section: Section, node: &Node) -> Diagnostic {
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
fn unknown(section: Section, entry: &Entry) -> Diagnostic {
    let name = shorten(&entry.key);
    let message = format!("`{name}` is not a key of {}", section.header());
    Diagnostic::new(ErrorKind::UnknownKey, message)
        .at(entry.key_place, "unknown key")
        .hint(likely_key(section, &entry.key))
}

/// A key that has to be given.
fn missing(fields: &Fields<'_>, key: &Key) -> Diagnostic {
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

/// An image that is not there, and those that are.
fn no_image(name: &str, place: Place, names: &[&str]) -> Diagnostic {
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
fn no_pool(pool: &str, place: Place, host: &Host, others: usize) -> Diagnostic {
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
fn nothing(what: &str) -> Diagnostic {
    let hint = if what == "host" {
        "add [[host]] with name, cpu.groups = [{ cores = 8 }] and memory.modules = [\"32 GiB\"]"
    } else {
        "add [[guest]] with name and memory = \"2 GiB\""
    };
    let message = format!("there is no {what}: a lab needs at least one host and one guest");
    Diagnostic::new(ErrorKind::EmptyLab, message).hint(hint)
}

/// A busy share for a period that is not there.
fn no_period(key: &Key, entry: &Entry, names: &[String]) -> Diagnostic {
    let (name, period) = (key.name, &entry.key);
    let known = || names.iter().map(String::as_str);
    let hint = match suggest::closest(period, known()) {
        Some(near) => format!("did you mean `{near}`?"),
        None if names.is_empty() => {
            format!("define it: [[period]] with name = \"{period}\" and its hours or share")
        }
        None => format!("there is {}", suggest::list(known(), 20)),
    };
    let message = format!("`{name}` gives a share for `{period}`, but there is no such period");
    Diagnostic::new(ErrorKind::UnknownReference, message)
        .at(entry.key_place, "names no period")
        .hint(hint)
}
