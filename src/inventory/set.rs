//! `--set PATH=VALUE`: one value put over the files.

use toml::de::DeValue;

use crate::diagnose::ErrorKind;
use crate::diagnose::source::{Medium, Place, Sources};
use crate::diagnose::{Diagnostic, suggest};

use super::locate::{self, Step};
use super::tree::{self, Base, Entry, Node, Table, Value, Values};
use crate::lab::keys::{Kind, Section};

/// Boxed, because it is large and rare.
type Outcome = Result<(), Box<Diagnostic>>;

/// Puts one argument over the values.
pub(super) fn apply(argument: &str, values: &mut Values, sources: &mut Sources) -> Outcome {
    let source = sources.add("--set", argument, Medium::CommandLine);
    let whole = Base { source, offset: 0 }.place(0..argument.len());
    let form = "write --set 'guest.web.memory=\"4 GiB\"': a path, `=`, and a TOML value, quoted for the shell as well";
    let Some(sign) = locate::equals_sign(argument) else {
        return fail(
            ErrorKind::InvalidSet,
            format!("--set needs PATH=VALUE, but `{argument}` has no `=`"),
            whole,
            form,
        );
    };
    let (path, text) = (&argument[..sign], &argument[sign + 1..]);
    let Some(steps) = locate::steps(path, Base { source, offset: 0 }) else {
        let place = Base { source, offset: 0 }.place(0..sign);
        let hint = "separate the parts with dots, and quote names that hold dots, blanks or odd characters";
        return fail(
            ErrorKind::InvalidSet,
            format!("`{path}` is not a path"),
            place,
            hint,
        );
    };
    let blank = text.len() - text.trim_start().len();
    let (base, text) = (
        Base {
            source,
            offset: sign + 1 + blank,
        },
        text.trim(),
    );
    let (parsed, errors) = DeValue::parse_recoverable(text);
    if !errors.is_empty() || text.is_empty() {
        let place = base.place(0..text.len());
        return fail(
            ErrorKind::InvalidSet,
            format!("`{text}` is not a TOML value"),
            place,
            form,
        );
    }
    put(values, &steps, tree::node(&parsed, base), whole)
}

fn fail(kind: ErrorKind, message: String, place: Place, hint: &str) -> Outcome {
    Err(Box::new(
        Diagnostic::new(kind, message).at(place, "").hint(hint),
    ))
}

/// Finds what the first steps name and puts the value there.
fn put(values: &mut Values, steps: &[Step], value: Node, whole: Place) -> Outcome {
    let Some((first, rest)) = steps.split_first() else {
        return unfinished(whole, "nothing", "guest.web.memory");
    };
    let (section, list) = match first.word.as_str() {
        "lab" => return put_in_table(&mut values.lab, Section::Lab, rest, value, whole),
        "policy" => return put_in_table(&mut values.policy, Section::Policy, rest, value, whole),
        "host" => (Section::Host, &mut values.hosts),
        "image" => (Section::Image, &mut values.images),
        "guest" => (Section::Guest, &mut values.guests),
        _ => {
            return unknown(
                first,
                format!("no path starts with `{}`", first.word),
                ["lab", "policy", "host", "image", "guest"].into_iter(),
            );
        }
    };
    put_in_list(list, section, rest, value, whole)
}

/// Puts a value into `[lab]` or `[policy]`, which may not be in the file yet.
fn put_in_table(
    table: &mut Option<Node>,
    section: Section,
    steps: &[Step],
    value: Node,
    whole: Place,
) -> Outcome {
    let node = table.get_or_insert_with(|| Node {
        value: Value::Table(Table::default()),
        place: whole,
    });
    match &mut node.value {
        Value::Table(table) => put_key(table, section, steps, value, whole),
        _ => Ok(()),
    }
}

/// Puts a value into the one of several tables that has the name of the next step.
fn put_in_list(
    list: &mut [Node],
    section: Section,
    steps: &[Step],
    value: Node,
    whole: Place,
) -> Outcome {
    let Some((name, rest)) = steps.split_first() else {
        return unfinished(whole, section.header(), "guest.web.memory");
    };
    let named = |node: &Node| {
        node.table()
            .and_then(|table| table.get("name")?.node.text().map(str::to_owned))
    };
    match list
        .iter_mut()
        .find(|node| named(node).as_deref() == Some(&name.word))
    {
        Some(Node {
            value: Value::Table(table),
            ..
        }) => put_key(table, section, rest, value, whole),
        _ => {
            let names: Vec<String> = list.iter().filter_map(named).collect();
            unknown(
                name,
                format!("no {} has the name `{}`", section.header(), name.word),
                names.iter().map(String::as_str),
            )
        }
    }
}

/// Puts a value under the key of the next step, or deeper.
fn put_key(
    table: &mut Table,
    section: Section,
    steps: &[Step],
    value: Node,
    whole: Place,
) -> Outcome {
    let Some((step, rest)) = steps.split_first() else {
        let key = section.keys().first().map_or("name", |key| key.name);
        return unfinished(whole, section.header(), &format!("….{key}"));
    };
    let Some(key) = section.key(&step.word) else {
        return unknown(
            step,
            format!("`{}` is not a key of {}", step.word, section.header()),
            section.keys().iter().map(|key| key.name),
        );
    };
    let empty = |value| Entry {
        key: key.name.to_owned(),
        key_place: step.place,
        node: Node {
            value,
            place: whole,
        },
    };
    match key.kind {
        Kind::Table(inner) => {
            if table.get(key.name).is_none() {
                table.put(empty(Value::Table(Table::default())));
            }
            match table.get_mut(key.name).map(|entry| &mut entry.node.value) {
                Some(Value::Table(table)) => put_key(table, inner, rest, value, whole),
                // What stands there is no table and will be reported.
                _ => Ok(()),
            }
        }
        Kind::Tables(inner) if inner == Section::Disk || !rest.is_empty() => {
            match table.get_mut(key.name).map(|entry| &mut entry.node.value) {
                Some(Value::List(list)) if inner == Section::Group => {
                    put_in_group(list, rest, value, whole)
                }
                Some(Value::List(list)) => put_in_list(list, inner, rest, value, whole),
                Some(_) => Ok(()),
                None => unknown(
                    step,
                    format!("the file gives no `{}` there", step.word),
                    std::iter::empty(),
                ),
            }
        }
        Kind::Prices if !rest.is_empty() => put_price(table, step, rest, value, whole),
        _ if !rest.is_empty() => {
            let text = format!("`{}` is a value, and nothing in it has a name", key.name);
            fail(
                ErrorKind::UnknownPath,
                text,
                rest[0].place,
                &format!("end the path at `{}`", key.name),
            )
        }
        _ => {
            // Nothing can be taken away with --set, so the one of the two that is set replaces the other.
            let rival = match (section, key.name) {
                (Section::Guest, "count") => "share",
                (Section::Guest, "share") => "count",
                _ => "",
            };
            table.entries.retain(|entry| entry.key != rival);
            table.put(Entry {
                key: key.name.to_owned(),
                key_place: step.place,
                node: value,
            });
            Ok(())
        }
    }
}

/// Puts a value into the group of cores with the number of the next step, counted from 1.
fn put_in_group(list: &mut [Node], steps: &[Step], value: Node, whole: Place) -> Outcome {
    let Some((step, rest)) = steps.split_first() else {
        return unfinished(whole, "groups", "groups.1.cores");
    };
    let index = step
        .word
        .parse::<usize>()
        .ok()
        .and_then(|number| number.checked_sub(1));
    let count = list.len();
    match index
        .and_then(|index| list.get_mut(index))
        .map(|node| &mut node.value)
    {
        Some(Value::Table(table)) => put_key(table, Section::Group, rest, value, whole),
        _ => {
            let message = format!("there is no group `{}`", step.word);
            fail(
                ErrorKind::UnknownPath,
                message,
                step.place,
                &format!("groups are numbered from 1 to {count}"),
            )
        }
    }
}

/// Puts a price beside a module size.
fn put_price(table: &mut Table, step: &Step, rest: &[Step], value: Node, whole: Place) -> Outcome {
    let [size] = rest else {
        return unfinished(whole, "module_prices", "module_prices.\"48 GiB\"");
    };
    if table.get(&step.word).is_none() {
        let node = Node {
            value: Value::Table(Table::default()),
            place: whole,
        };
        table.put(Entry {
            key: step.word.clone(),
            key_place: step.place,
            node,
        });
    }
    if let Some(Value::Table(prices)) = table.get_mut(&step.word).map(|entry| &mut entry.node.value)
    {
        prices.put(Entry {
            key: size.word.clone(),
            key_place: size.place,
            node: value,
        });
    }
    Ok(())
}

/// A path that stops before it has named a value.
fn unfinished(whole: Place, at: &str, example: &str) -> Outcome {
    fail(
        ErrorKind::UnknownPath,
        format!("the path stops at {at} and names no value"),
        whole,
        &format!("go on, for example with {example}"),
    )
}

/// A step that names nothing; the error names the likely one.
fn unknown<'a>(
    step: &Step,
    message: String,
    known: impl Iterator<Item = &'a str> + Clone,
) -> Outcome {
    let hint = match suggest::closest(&step.word, known.clone()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("there is {}", suggest::list(known, 50)),
    };
    fail(ErrorKind::UnknownPath, message, step.place, &hint)
}
