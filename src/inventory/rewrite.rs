//! Puts values into the text of an inventory and leaves every other byte as it is.

use std::ops::Range;

use toml_edit::{Document, Item, TableLike};

use crate::lab::{key_of, key_steps};

/// A value to put into the file.
#[derive(Debug, Clone, PartialEq)]
pub struct Edit {
    /// Key path: a key of a guest, of the policy, or of the memory of a host.
    pub path: String,
    /// The value as TOML.
    pub value: String,
    /// Low, likely and high as TOML, for where the file has a range or nothing now; where it has one value, and where
    /// there is no range, the value is put.
    pub range: Option<[String; 3]>,
    /// A comment for it, without the `#`.
    pub comment: String,
}

impl Edit {
    /// The key, without its table.
    pub fn key(&self) -> &'static str {
        key_of(&self.path).map_or("", |key| key.name)
    }

    /// The key with its value or range, as a line of TOML.
    pub fn given(&self) -> String {
        let value = match &self.range {
            Some(range) if range[0] != range[2] => range_as_toml(range),
            _ => self.value.clone(),
        };
        format!("{} = {value}", self.key())
    }
}

/// Low, likely and high as a table of TOML.
pub fn range_as_toml([low, likely, high]: &[String; 3]) -> String {
    format!("{{ low = {low}, likely = {likely}, high = {high} }}")
}

/// Puts values into the text of an inventory file.
///
/// A value that is there is replaced in its place, a range by a range; one that is not there is put below a key that every
/// such table has, as a range where there is one. Each gets a line of comment above it. Nothing else changes, not even line ends.
///
/// # Errors
/// Why there is no place for a value, in words.
///
/// # Example
/// ```
/// use berthage::inventory::rewrite::{Edit, rewrite};
/// let text = "[[guest]]\nname = \"web\"   # mine\nmemory = \"2 GiB\"\n";
/// let edit = Edit {
///     path: "guest.web.touched".into(), value: "\"300 MiB\"".into(), range: None, comment: "measured".into(),
/// };
/// let new = rewrite(text, &[edit]).expect("there is a place");
/// assert_eq!(new, "[[guest]]\nname = \"web\"   # mine\n# measured\ntouched = \"300 MiB\"\nmemory = \"2 GiB\"\n");
/// ```
pub fn rewrite(text: &str, edits: &[Edit]) -> Result<String, String> {
    let body = text.strip_prefix('\u{feff}').unwrap_or(text);
    let document =
        Document::parse(body).map_err(|error| format!("it is no TOML: {}", error.message()))?;
    let mut splices: Vec<(Range<usize>, String)> = Vec::new();
    for edit in edits {
        splices.extend(splice(body, document.as_table(), edit)?);
    }
    splices.sort_by_key(|(range, _)| (range.start, range.end));
    let mut new = text[..text.len() - body.len()].to_owned();
    let mut done = 0;
    for (range, words) in splices {
        new.push_str(
            body.get(done..range.start)
                .ok_or("two values have the same place")?,
        );
        new.push_str(&words);
        done = range.end;
    }
    new.push_str(&body[done..]);
    Ok(new)
}

/// Whether the text of a file has a table of that name with keys in it.
///
/// # Example
/// ```
/// use berthage::inventory::rewrite::has_table;
/// assert!(has_table("policy.slow_risk = 0.1\n", "policy") && !has_table("[policy]\n", "policy"));
/// ```
pub fn has_table(text: &str, name: &str) -> bool {
    let body = text.strip_prefix('\u{feff}').unwrap_or(text);
    let document = Document::parse(body).ok();
    let has_keys = |document: Document<&str>| {
        let table = document.get(name).and_then(Item::as_table_like);
        table.is_some_and(|table| !table.is_empty())
    };
    document.is_some_and(has_keys)
}

/// A table that a value belongs to.
struct FoundTable<'a> {
    table: &'a dyn TableLike,
    /// Where the value starts that a table in braces belongs to; none under headers and by dotted keys, where each key
    /// has a line of its own.
    inline: Option<usize>,
}

/// Bytes of the text and what takes their place.
type Splice = (Range<usize>, String);

/// What to change for one edit.
fn splice(text: &str, root: &dyn TableLike, edit: &Edit) -> Result<Vec<Splice>, String> {
    let steps = key_steps(&edit.path);
    let steps: Vec<&str> = steps.iter().map(String::as_str).collect();
    let (found, sibling) = match steps.as_slice() {
        ["guest", name, _] => (named(root, "guest", name)?, "name"),
        ["policy", _] => {
            let found = inner(
                &FoundTable {
                    table: root,
                    inline: None,
                },
                "policy",
            )?;
            let first = found.table.iter().next();
            return put(text, &found, first.map_or("", |(key, _)| key), edit);
        }
        ["host", name, "memory", _] => (inner(&named(root, "host", name)?, "memory")?, "modules"),
        _ => return Err(no_place(&edit.path)),
    };
    put(text, &found, sibling, edit)
}

/// Replaces a value, or puts it below a key that is there.
fn put(
    text: &str,
    found: &FoundTable<'_>,
    sibling: &str,
    edit: &Edit,
) -> Result<Vec<Splice>, String> {
    let Some((key, item)) = found.table.get_key_value(edit.key()) else {
        return insert_below(text, found, sibling, edit);
    };
    let start = match found.inline {
        None => key.span().ok_or_else(|| no_place(edit.key()))?.start,
        Some(start) => start,
    };
    let mut splices = vec![comment(text, start, edit)];
    splices.extend(replace_value(item, edit)?);
    Ok(splices)
}

/// The comment of an edit, on a line of its own above the line of that byte.
fn comment(text: &str, at: usize, edit: &Edit) -> Splice {
    let line = line_start(text, at);
    let words = format!(
        "{}# {}{}",
        indent(&text[line..]),
        edit.comment,
        line_end(text)
    );
    (line..line, words)
}

/// The blanks that a line begins with.
fn indent(line: &str) -> &str {
    &line[..line.len() - line.trim_start_matches([' ', '\t']).len()]
}

/// A value that is not there yet, below a key that is.
fn insert_below(
    text: &str,
    found: &FoundTable<'_>,
    sibling: &str,
    edit: &Edit,
) -> Result<Vec<Splice>, String> {
    let spans = found.table.get_key_value(sibling);
    let spans = spans.and_then(|(key, item)| Some((key.span()?, item.span()?)));
    let (key, value) = spans.ok_or_else(|| no_place(sibling))?;
    let given = edit.given();
    if let Some(start) = found.inline {
        // Dotted keys in braces repeat their prefix, which is between the last divider and the key.
        let before = &text[..key.start];
        let prefix = before.rfind([',', '{', '\n']).map_or(0, |at| at + 1);
        let prefix = before[prefix..].trim_start();
        let added = (value.end..value.end, format!(", {prefix}{given}"));
        return Ok(vec![comment(text, start, edit), added]);
    }
    // Dotted keys repeat their prefix: memory.modules is followed by memory.base.
    let prefix = &text[line_start(text, key.start)..key.start];
    let end = line_end(text);
    let after = text[value.end..]
        .find('\n')
        .map_or(text.len(), |at| value.end + at + 1);
    let (open, close) = if text[..after].ends_with('\n') {
        ("", end)
    } else {
        (end, "")
    };
    let (indent, words) = (indent(prefix), &edit.comment);
    let line = format!("{open}{indent}# {words}{end}{prefix}{given}{close}");
    Ok(vec![(after..after, line)])
}

/// Replaces a value that is there.
fn replace_value(item: &Item, edit: &Edit) -> Result<Vec<(Range<usize>, String)>, String> {
    let parts = item
        .as_table_like()
        .map(|table| ["low", "likely", "high"].map(|part| table.get(part).and_then(Item::span)));
    let is_value = item.is_value()
        && !item
            .as_inline_table()
            .is_some_and(toml_edit::InlineTable::is_dotted);
    match (parts, &edit.range) {
        // Only the three numbers change, so that the text between them stays.
        (Some([Some(low), Some(likely), Some(high)]), Some(range)) => {
            Ok([low, likely, high].into_iter().zip(range.clone()).collect())
        }
        _ if is_value => Ok(vec![(
            item.span().ok_or_else(|| no_place(edit.key()))?,
            edit.value.clone(),
        )]),
        _ => Err(format!(
            "`{}` is a table of its own; write it as {{ low, likely, high }} on one line",
            edit.key()
        )),
    }
}

fn no_place(key: &str) -> String {
    format!("the place of `{key}` cannot be found")
}

/// The table of that name in a list of tables, written under headers or in braces.
fn named<'a>(root: &'a dyn TableLike, list: &str, name: &str) -> Result<FoundTable<'a>, String> {
    let missing = || format!("no [[{list}]] of the name {name:?} stands in this file itself");
    let (key, item) = root.get_key_value(list).ok_or_else(missing)?;
    let is_it = |table: &dyn TableLike| table.get("name").and_then(Item::as_str) == Some(name);
    let (inline, tables): (_, Vec<&dyn TableLike>) = if let Item::ArrayOfTables(tables) = item {
        (None, tables.iter().map(|table| table as _).collect())
    } else {
        let start = key.span().ok_or_else(missing)?.start;
        let values = item.as_array().ok_or_else(missing)?.iter();
        let tables = values.filter_map(|value| value.as_inline_table());
        (Some(start), tables.map(|table| table as _).collect())
    };
    let table = tables.into_iter().find(|table| is_it(*table));
    let table = table.ok_or_else(missing)?;
    Ok(FoundTable { table, inline })
}

/// A table within another.
fn inner<'a>(outer: &FoundTable<'a>, name: &str) -> Result<FoundTable<'a>, String> {
    let missing = || format!("there is no table `{name}`");
    let (key, item) = outer.table.get_key_value(name).ok_or_else(missing)?;
    let table = item.as_table_like().ok_or_else(missing)?;
    let braces = item
        .as_inline_table()
        .is_some_and(|table| !table.is_dotted());
    let inline = match outer.inline {
        None if braces => Some(key.span().ok_or_else(missing)?.start),
        inline => inline,
    };
    Ok(FoundTable { table, inline })
}

/// First byte of the line of a byte.
fn line_start(text: &str, at: usize) -> usize {
    text[..at].rfind('\n').map_or(0, |line| line + 1)
}

/// How lines end in this text.
fn line_end(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}

#[cfg(test)]
mod tests {
    use super::{Edit, rewrite};
    use crate::lab::key_path;

    fn guest(key: &'static str, value: &str) -> Edit {
        Edit {
            path: key_path(&["guest", "web", key]),
            value: value.into(),
            range: None,
            comment: "new".into(),
        }
    }

    fn base(value: &str) -> Edit {
        Edit {
            path: key_path(&["host", "box", "memory", "base"]),
            value: value.into(),
            range: None,
            comment: "new".into(),
        }
    }

    #[test]
    fn a_range_takes_the_place_of_a_range_and_a_value_of_a_value() {
        let ranged = Edit {
            range: Some(["7", "8", "9"].map(str::to_owned)),
            ..guest("touched", "8")
        };
        for (old, wanted) in [
            (
                "touched = { low = 1, likely = 2, high = 3 } # mine\n",
                "touched = { low = 7, likely = 8, high = 9 } # mine\n",
            ),
            (
                "touched = { high = 3,low=1 , likely = 2 }\n",
                "touched = { high = 9,low=7 , likely = 8 }\n",
            ),
            (
                "touched.low = 1 # a\ntouched.likely = 2\ntouched.high = 3\n",
                "touched.low = 7 # a\ntouched.likely = 8\ntouched.high = 9\n",
            ),
            ("touched = 2 # mine\n", "touched = 8 # mine\n"),
        ] {
            let head = "[[guest]]\nname = \"web\"\n";
            let new = rewrite(&format!("{head}{old}"), std::slice::from_ref(&ranged)).unwrap();
            assert_eq!(new, format!("{head}# new\n{wanted}"));
        }
        let header = "[[guest]]\nname = \"web\"\n[guest.touched]\nlow = 1\nlikely = 2\nhigh = 3\n";
        let new = rewrite(header, &[ranged]).unwrap();
        assert!(new.contains("low = 7\nlikely = 8\nhigh = 9\n"), "{new}");
        assert!(
            rewrite(header, &[guest("touched", "8")])
                .unwrap_err()
                .contains("on one line")
        );
    }

    #[test]
    fn values_are_replaced_where_they_stand() {
        let text = "\u{feff}# lab\r\n[[guest]]\r\nname = \"db\"\r\ntouched = 1\r\n[[guest]]\r\n  name = \"web\"\r\n  touched = { low = 1, likely = 2, high = 3 } # mine\r\n";
        let new = rewrite(text, &[guest("touched", "9")]).unwrap();
        let wanted = text.replace(
            "  touched = { low = 1, likely = 2, high = 3 }",
            "  # new\r\n  touched = 9",
        );
        assert_eq!(new, wanted);
    }

    #[test]
    fn every_way_to_write_a_table_has_a_place() {
        for (text, wanted) in [
            (
                "[[host]]\nname = \"box\"\nmemory.modules = [\n  \"1 GiB\", # one\n] # two\n[x]\n",
                "[[host]]\nname = \"box\"\nmemory.modules = [\n  \"1 GiB\", # one\n] # two\n# new\nmemory.base = 7\n[x]\n",
            ),
            (
                "[[host]]\nname = \"box\"\nmemory = { modules = [\"1 GiB\"] }",
                "[[host]]\nname = \"box\"\n# new\nmemory = { modules = [\"1 GiB\"], base = 7 }",
            ),
            (
                "[[host]]\nname = \"box\"\n[host.memory]\nmodules = [\"1 GiB\"]",
                "[[host]]\nname = \"box\"\n[host.memory]\nmodules = [\"1 GiB\"]\n# new\nbase = 7",
            ),
            (
                "host = [{ name = \"a\" }, { name = \"box\", memory = { base = 3, modules = [] } }]\n",
                "# new\nhost = [{ name = \"a\" }, { name = \"box\", memory = { base = 7, modules = [] } }]\n",
            ),
            (
                "host = [\n  { name = \"box\", memory.modules = [] },\n]\n",
                "# new\nhost = [\n  { name = \"box\", memory.modules = [], memory.base = 7 },\n]\n",
            ),
        ] {
            assert_eq!(rewrite(text, &[base("7")]).as_deref(), Ok(wanted), "{text}");
        }
    }

    #[test]
    fn what_stands_elsewhere_is_refused() {
        for text in [
            "include = [\"g.toml\"]\n",
            "[[guest]]\nname = \"db\"\n",
            "guest = 3\n",
            "[[guest]\n",
        ] {
            assert!(rewrite(text, &[guest("touched", "9")]).is_err(), "{text}");
        }
    }
}
