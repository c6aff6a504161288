//! `--set PATH=VALUE`: one value put over the files.

use toml::de::DeValue;

use crate::diagnose::source::{Medium, Place, Sources};
use crate::lab::keys::{Key, Kind, Section};

use super::locate::{self, Step};
use super::problem::{SetFault, SetProblem};
use super::tree::{self, Base, Entry, Node, Table, Value, Values};

type Outcome = Result<(), SetProblem>;

/// Puts one argument over the values.
pub(super) fn apply(argument: &str, values: &mut Values, sources: &mut Sources) -> Outcome {
    let source = sources.add("--set", argument, Medium::CommandLine);
    let start = Base { source, offset: 0 };
    let whole = start.place(0..argument.len());
    let Some(sign) = locate::equals_sign(argument) else {
        return fail(whole, SetFault::NoEquals(argument.to_owned()));
    };
    let (path, text) = (&argument[..sign], &argument[sign + 1..]);
    let Some(steps) = locate::steps(path, start) else {
        return fail(start.place(0..sign), SetFault::NotAPath(path.to_owned()));
    };
    let offset = sign + 1 + text.len() - text.trim_start().len();
    let (base, text) = (Base { source, offset }, text.trim());
    let (parsed, errors) = DeValue::parse_recoverable(text);
    if !errors.is_empty() || text.is_empty() {
        let place = base.place(0..text.len());
        return fail(place, SetFault::NotAValue(text.to_owned()));
    }
    let value = tree::node(&parsed, base);
    Put { value, whole }.into_values(values, &steps)
}

fn fail(place: Place, fault: SetFault) -> Outcome {
    Err(SetProblem { place, fault })
}

/// An entry of a table, by the step that names it.
fn entry(step: &Step, node: Node) -> Entry {
    Entry {
        key: step.word.clone(),
        key_place: step.place,
        node,
    }
}

/// A value on its way to where it belongs.
struct Put {
    value: Node,
    /// The whole argument.
    whole: Place,
}

impl Put {
    /// Finds what the first step names and goes on there.
    fn into_values(self, values: &mut Values, steps: &[Step]) -> Outcome {
        let Some((first, rest)) = steps.split_first() else {
            return self.unfinished("nothing", "guest.web.memory".to_owned());
        };
        let (section, list) = match first.word.as_str() {
            "lab" => return self.into_top(&mut values.lab, Section::Lab, rest),
            "policy" => return self.into_top(&mut values.policy, Section::Policy, rest),
            "host" => (Section::Host, &mut values.hosts),
            "image" => (Section::Image, &mut values.images),
            "guest" => (Section::Guest, &mut values.guests),
            _ => return fail(first.place, SetFault::NoStart(first.word.clone())),
        };
        self.into_named(list, section, rest)
    }

    /// A path that stops before it has named a value.
    fn unfinished(&self, at: &'static str, example: String) -> Outcome {
        fail(self.whole, SetFault::Unfinished(at, example))
    }

    fn empty_table(&self) -> Node {
        Node {
            value: Value::Table(Table::default()),
            place: self.whole,
        }
    }

    /// Goes on in `[lab]` or `[policy]`, which may not be in the file yet.
    fn into_top(self, table: &mut Option<Node>, section: Section, steps: &[Step]) -> Outcome {
        let node = table.get_or_insert_with(|| self.empty_table());
        match &mut node.value {
            Value::Table(table) => self.into_table(table, section, steps),
            _ => Ok(()),
        }
    }

    /// Goes on in the one of several tables that has the name of the next step.
    fn into_named(self, list: &mut [Node], section: Section, steps: &[Step]) -> Outcome {
        let Some((name, rest)) = steps.split_first() else {
            return self.unfinished(section.header(), "guest.web.memory".to_owned());
        };
        let named = |node: &Node| {
            let entry = node.table()?.get("name")?;
            entry.node.text().map(str::to_owned)
        };
        let found = list
            .iter_mut()
            .find(|node| named(node).as_deref() == Some(&name.word));
        if let Some(Value::Table(table)) = found.map(|node| &mut node.value) {
            return self.into_table(table, section, rest);
        }
        let names = list.iter().filter_map(named).collect();
        fail(
            name.place,
            SetFault::NoName(section, name.word.clone(), names),
        )
    }

    /// Puts the value under the key of the next step, or goes on below it.
    fn into_table(self, table: &mut Table, section: Section, steps: &[Step]) -> Outcome {
        let Some((step, rest)) = steps.split_first() else {
            let key = section.keys().first().map_or("name", |key| key.name);
            return self.unfinished(section.header(), format!("….{key}"));
        };
        let Some(key) = section.key(&step.word) else {
            return fail(step.place, SetFault::NoKey(section, step.word.clone()));
        };
        match (key.kind, rest) {
            (Kind::Table(inner), _) => match self.inner(table, step) {
                Some(table) => self.into_table(table, inner, rest),
                None => Ok(()),
            },
            (Kind::Tables(Section::Disk), _) | (Kind::Tables(_), [_, ..]) => {
                self.into_list(table, key, step, rest)
            }
            (Kind::Prices, [size]) => {
                if let Some(prices) = self.inner(table, step) {
                    prices.put(entry(size, self.value));
                }
                Ok(())
            }
            (Kind::Prices, [_, ..]) => {
                self.unfinished("module_prices", "module_prices.\"48 GiB\"".to_owned())
            }
            (_, [next, ..]) => fail(next.place, SetFault::NothingInside(key.name)),
            (_, []) => {
                // Nothing can be taken away with --set, so the one of the two that is set replaces the other.
                let rival = match (section, key.name) {
                    (Section::Guest, "count") => "share",
                    (Section::Guest, "share") => "count",
                    _ => "",
                };
                table.entries.retain(|entry| entry.key != rival);
                table.put(entry(step, self.value));
                Ok(())
            }
        }
    }

    /// The table under a key, made if it is not there; none where something else is, which will be reported.
    fn inner<'t>(&self, table: &'t mut Table, step: &Step) -> Option<&'t mut Table> {
        if table.get(&step.word).is_none() {
            table.put(entry(step, self.empty_table()));
        }
        match &mut table.get_mut(&step.word)?.node.value {
            Value::Table(inner) => Some(inner),
            _ => None,
        }
    }

    /// Goes on in a list of tables: pools by name, groups of cores by number.
    fn into_list(self, table: &mut Table, key: &Key, step: &Step, rest: &[Step]) -> Outcome {
        let Some(entry) = table.get_mut(key.name) else {
            return fail(step.place, SetFault::NoList(step.word.clone()));
        };
        match (&mut entry.node.value, key.kind) {
            (Value::List(list), Kind::Tables(Section::Group)) => self.into_group(list, rest),
            (Value::List(list), Kind::Tables(inner)) => self.into_named(list, inner, rest),
            _ => Ok(()),
        }
    }

    /// Goes on in the group of cores with the number of the next step, counted from 1.
    fn into_group(self, list: &mut [Node], steps: &[Step]) -> Outcome {
        let Some((step, rest)) = steps.split_first() else {
            return self.unfinished("groups", "groups.1.cores".to_owned());
        };
        let count = list.len();
        let index = step.word.parse::<usize>().ok();
        let index = index.and_then(|number| number.checked_sub(1));
        let node = index.and_then(|index| list.get_mut(index));
        match node.map(|node| &mut node.value) {
            Some(Value::Table(table)) => self.into_table(table, Section::Group, rest),
            _ => fail(step.place, SetFault::NoGroup(step.word.clone(), count)),
        }
    }
}
