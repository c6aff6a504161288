//! What can be wrong with keys, tables and names: the one place of these errors' texts.

use crate::diagnose::source::Place;
use crate::diagnose::{Diagnostic, ErrorKind, suggest};
use crate::inventory::fields::Fields;
use crate::inventory::tree::{Entry, Node};
use crate::inventory::written::shorten;
use crate::lab::keys::{Key, Section};
use crate::lab::{Host, OTHERWISE};

/// The key is given again, in another file or the same.
pub fn given_twice(new: &Entry, old: &Entry) -> Diagnostic {
    twice(
        format!("`{}` is given twice", new.key),
        [new.key_place, old.key_place],
        "given",
        "keep one of the two; --set changes a value for one run",
    )
}

/// Two of these things have one name, first at the second place.
pub fn same_name(things: &str, name: &str, places: [Place; 2]) -> Diagnostic {
    twice(
        format!("two {things} have the name `{name}`"),
        places,
        "named",
        "give each a name of its own",
    )
}

/// Something that is given or named once more.
fn twice(message: String, [again, first]: [Place; 2], how: &str, hint: &str) -> Diagnostic {
    Diagnostic::new(ErrorKind::Duplicate, message)
        .at(again, format!("{how} again here"))
        .at(first, format!("first {how} here"))
        .hint(hint)
}

/// What is there is not the table that the section needs.
pub fn not_a_table(section: Section, node: &Node) -> Diagnostic {
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
pub fn unknown(section: Section, entry: &Entry) -> Diagnostic {
    let name = shorten(&entry.key);
    let message = format!("`{name}` is not a key of {}", section.header());
    Diagnostic::new(ErrorKind::UnknownKey, message)
        .at(entry.key_place, "unknown key")
        .hint(likely_key(section, &entry.key))
}

/// A key that has to be given.
pub fn missing(fields: &Fields<'_>, key: &Key) -> Diagnostic {
    // A thing without a name is shown by its place only.
    let whose = if fields.path.contains("\"\"") {
        String::new()
    } else {
        format!(" of `{}`", fields.path)
    };
    let words = if fields.is_present() {
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

/// No image has that name; `names` are those of the images that there are.
pub fn no_image(name: &str, place: Place, names: &[&str]) -> Diagnostic {
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

/// The host, and so many others, have no pool of that name.
pub fn no_pool(pool: &str, place: Place, host: &Host, others: usize) -> Diagnostic {
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

/// A lab without a host or a guest.
pub fn none_given(what: &str) -> Diagnostic {
    let hint = if what == "host" {
        "add [[host]] with name, cpu.groups = [{ cores = 8 }] and memory.modules = [\"32 GiB\"]"
    } else {
        "add [[guest]] with name and memory = \"2 GiB\""
    };
    let message = format!("there is no {what}: a lab needs at least one host and one guest");
    Diagnostic::new(ErrorKind::EmptyLab, message).hint(hint)
}

/// No period has the name that a share is given for; `names` are those of the periods that there are.
pub fn no_period(key: &Key, entry: &Entry, names: &[String]) -> Diagnostic {
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

/// No share is given for the period.
pub fn no_share(key: &Key, node: &Node, period: &str) -> Diagnostic {
    let message = format!("`{}` gives no share for the period `{period}`", key.name);
    Diagnostic::new(ErrorKind::InvalidPeriod, message)
        .at(node.place, "a share for each period")
        .hint(format!(
            "add {period} = \"8 %\", or {OTHERWISE} = \"3 %\" for all that are not named"
        ))
}

/// The hours of two periods overlap; they are at these places.
pub fn overlapping([first, second]: [&str; 2], [earlier, later]: [Option<Place>; 2]) -> Diagnostic {
    let message = format!("the hours of `{first}` and `{second}` overlap");
    Diagnostic::new(ErrorKind::InvalidPeriod, message)
        .at_any(later, "overlaps")
        .at_any(earlier, format!("the hours of `{first}`"))
        .hint("let one end where the other starts")
}

/// What the value of a key is not, how it is there instead ("is", "holds"), and how to write it.
pub fn not_a(expected: &str, key: &str, how: &str, node: &Node, hint: String) -> Diagnostic {
    let message = format!("`{key}` must be {expected}, but {how} {}", node.noun());
    Diagnostic::new(ErrorKind::WrongType, message)
        .at(node.place, format!("not {expected}"))
        .hint(hint)
}

/// More than so many tables in a list.
pub fn too_many(most: usize, key: &str, place: Place) -> Diagnostic {
    let message = format!("there are more than {most} tables [[{key}]]");
    Diagnostic::new(ErrorKind::OutOfRange, message)
        .at(place, "the first of them")
        .hint("split the inventory")
}
