//! `--set PATH=VALUE`: one value put over the files.

use toml::de::DeValue;

use crate::diagnose::Diagnostic;
use crate::diagnose::source::{Medium, Place, Sources};
use crate::lab::OTHERWISE;
use crate::lab::keys::{Kind, Section, read_path};

use super::problem::sets;
use super::tree::{self, Base, Entry, Node, Table, Value};
use super::value::RANGE;

type Outcome = Result<(), Diagnostic>;

/// One part of the path and where it was written.
struct PathPart {
    word: String,
    place: Place,
}

/// Puts one argument over the values.
pub(super) fn apply(argument: &str, values: &mut Table, sources: &mut Sources) -> Outcome {
    let source = sources.add("--set", argument, Medium::CommandLine);
    let start = Base { source, offset: 0 };
    let whole = start.place(0..argument.len());
    let (path, _) = argument
        .split_once('=')
        .ok_or_else(|| sets::no_sign(argument, whole))?;
    let read = read_path(argument).filter(|(_, end)| *end < argument.len());
    let (steps, sign) = read.ok_or_else(|| sets::not_a_path(path, start.place(0..path.len())))?;
    let text = &argument[sign + 1..];
    let offset = sign + 1 + text.len() - text.trim_start().len();
    let (base, text) = (Base { source, offset }, text.trim());
    let (parsed, errors) = DeValue::parse_recoverable(text);
    if !errors.is_empty() || text.is_empty() {
        return Err(sets::not_a_value(text, base.place(0..text.len())));
    }
    let value = tree::node(&parsed, base);
    let steps = steps.into_iter().map(|step| PathPart {
        place: start.place(step.at),
        word: step.word,
    });
    let steps: Vec<PathPart> = steps.collect();
    Assignment { value, whole }.into_table(values, Section::Top, &steps)
}

/// An entry of a table, by the part of the path that names it.
fn entry(step: &PathPart, node: Node) -> Entry {
    Entry {
        key: step.word.clone(),
        key_place: step.place,
        node,
    }
}

/// A value on its way to where it belongs.
struct Assignment {
    value: Node,
    /// The whole argument.
    whole: Place,
}

impl Assignment {
    /// A path that stops before it has named a value.
    fn unfinished(&self, at: &str, example: &str) -> Outcome {
        Err(sets::unfinished(at, example, self.whole))
    }

    fn empty_table(&self) -> Node {
        Node {
            value: Value::Table(Table::default()),
            place: self.whole,
        }
    }

    /// Continues in the one of several tables that has the name of the next part.
    fn into_named(self, list: &mut [Node], section: Section, steps: &[PathPart]) -> Outcome {
        let Some((name, rest)) = steps.split_first() else {
            return self.unfinished(section.header(), "guest.web.memory");
        };
        let named = |node: &Node| node.table()?.node("name")?.text().map(str::to_owned);
        let found = list
            .iter_mut()
            .find(|node| named(node).as_deref() == Some(&name.word));
        if let Some(Value::Table(table)) = found.map(|node| &mut node.value) {
            return self.into_table(table, section, rest);
        }
        let names: Vec<String> = list.iter().filter_map(named).collect();
        Err(sets::no_table(section, &name.word, &names, name.place))
    }

    /// Puts the value under the key of the next part of the path, or continues below it.
    fn into_table(self, table: &mut Table, section: Section, steps: &[PathPart]) -> Outcome {
        let Some((step, rest)) = steps.split_first() else {
            let key = section.keys().first().map_or("name", |key| key.name);
            return self.unfinished(section.header(), &format!("….{key}"));
        };
        // What files include was read before.
        let mut keys = section.keys().iter().filter(|key| key.kind != Kind::Files);
        let names = keys.clone().map(|key| key.name);
        let Some(key) = keys.find(|key| key.name == step.word) else {
            return Err(sets::no_key(section, &step.word, names, step.place));
        };
        match (key.kind, rest) {
            (Kind::Table(child_table), _) => match self.child_table(table, step) {
                Some(table) => self.into_table(table, child_table, rest),
                None => Ok(()),
            },
            (Kind::Tables(child_table), _) if child_table != Section::Group || !rest.is_empty() => {
                self.into_list(table, section, child_table, step, rest)
            }
            (Kind::Prices, [size]) => {
                if let Some(prices) = self.child_table(table, step) {
                    prices.put(entry(size, self.value));
                }
                Ok(())
            }
            (Kind::Prices, [_, ..]) => self.unfinished("module_prices", "module_prices.\"48 GiB\""),
            (Kind::ShareByPeriod, [period]) if !RANGE.contains(&&*period.word) => {
                self.in_period(table, step, period);
                Ok(())
            }
            (_, [next, ..]) => Err(sets::within_value(key.name, next.place)),
            (_, []) => {
                // Nothing can be taken away with --set, so one of the two that is set replaces the other, unless the
                // file gives both.
                let rival = match (section, key.name) {
                    (Section::Guest, "count") => "share",
                    (Section::Guest, "share") => "count",
                    _ => "",
                };
                if table.get(&step.word).is_none() {
                    table.entries.retain(|entry| entry.key != rival);
                }
                table.put(entry(step, self.value));
                Ok(())
            }
        }
    }

    /// Sets a share for a period; one share for all periods becomes that of the others.
    fn in_period(&self, table: &mut Table, step: &PathPart, period: &PathPart) {
        let plain = table.get(&step.word).map(|entry| entry.node.clone());
        if let Some(plain) = plain.filter(|node| node.table().is_none()) {
            let mut shares = entry(step, self.empty_table());
            if let Value::Table(child_table) = &mut shares.node.value {
                let key = OTHERWISE.to_owned();
                let key_place = plain.place;
                child_table.put(Entry {
                    key,
                    key_place,
                    node: plain,
                });
            }
            table.put(shares);
        }
        if let Some(shares) = self.child_table(table, step) {
            shares.put(entry(period, self.value.clone()));
        }
    }

    /// The table under a key, made if it is not there; none where something else is, which will be reported.
    fn child_table<'t>(&self, table: &'t mut Table, step: &PathPart) -> Option<&'t mut Table> {
        if table.get(&step.word).is_none() {
            table.put(entry(step, self.empty_table()));
        }
        match &mut table.get_mut(&step.word)?.node.value {
            Value::Table(child_table) => Some(child_table),
            _ => None,
        }
    }

    /// Continues in a list of tables: groups of cores by number, others by name.
    fn into_list(
        self,
        table: &mut Table,
        around: Section,
        section: Section,
        step: &PathPart,
        rest: &[PathPart],
    ) -> Outcome {
        match table.get_mut(&step.word).map(|entry| &mut entry.node.value) {
            Some(Value::List(list)) if section == Section::Group => self.into_group(list, rest),
            Some(Value::List(list)) => self.into_named(list, section, rest),
            Some(_) => Ok(()),
            None if around == Section::Top => self.into_named(&mut [], section, rest),
            None => Err(sets::not_given(&step.word, step.place)),
        }
    }

    /// Continues in the group of cores with the number of the next part, counted from 1.
    fn into_group(self, list: &mut [Node], steps: &[PathPart]) -> Outcome {
        let Some((step, rest)) = steps.split_first() else {
            return self.unfinished("groups", "groups.1.cores");
        };
        let count = list.len();
        let index = step.word.parse::<usize>().ok();
        let index = index.and_then(|number| number.checked_sub(1));
        let node = index.and_then(|index| list.get_mut(index));
        if let Some(Value::Table(table)) = node.map(|node| &mut node.value) {
            return self.into_table(table, Section::Group, rest);
        }
        Err(sets::no_group(&step.word, count, step.place))
    }
}
