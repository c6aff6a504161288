//! The values of a file as written, each with its place.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::diagnose::source::{Place, position};

/// A value and its place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Node {
    /// The value.
    pub value: Value,
    /// Its place.
    pub place: Place,
}

/// A value as TOML has it.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Value {
    /// A text.
    Text(String),
    /// A number without a decimal point.
    Whole(f64),
    /// A number with one, or `nan` or `inf`.
    Real(f64),
    /// `true` or `false`.
    Flag(bool),
    /// A date or a time, which no key takes.
    Date,
    /// A list.
    List(Vec<Node>),
    /// A table.
    Table(Table),
}

/// A table, in no particular order.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Table {
    /// Its keys and values, each key once.
    pub entries: Vec<Entry>,
}

/// A key and its value.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Entry {
    /// The key.
    pub key: String,
    /// Place of the key.
    pub key_place: Place,
    /// The value.
    pub node: Node,
}

impl Table {
    /// The entry of that key.
    pub fn get(&self, key: &str) -> Option<&Entry> {
        self.entries.iter().find(|entry| entry.key == key)
    }

    /// The entry of that key, to change it.
    pub fn get_mut(&mut self, key: &str) -> Option<&mut Entry> {
        self.entries.iter_mut().find(|entry| entry.key == key)
    }

    /// The value of that key.
    pub fn node(&self, key: &str) -> Option<&Node> {
        self.get(key).map(|entry| &entry.node)
    }

    /// The list of that key; an empty one where there is none.
    pub fn list(&self, key: &str) -> &[Node] {
        match self.node(key).map(|node| &node.value) {
            Some(Value::List(list)) => list,
            _ => &[],
        }
    }

    /// Puts a value in place of the one the key had, if any.
    pub fn put(&mut self, entry: Entry) {
        match self.get_mut(&entry.key) {
            Some(old) => *old = entry,
            None => self.entries.push(entry),
        }
    }
}

impl Node {
    /// The table it is.
    pub fn table(&self) -> Option<&Table> {
        match &self.value {
            Value::Table(table) => Some(table),
            _ => None,
        }
    }

    /// The text it is.
    pub fn text(&self) -> Option<&str> {
        match &self.value {
            Value::Text(text) => Some(text),
            _ => None,
        }
    }

    /// What it is, in words with an article.
    pub fn noun(&self) -> &'static str {
        match self.value {
            Value::Text(_) => "a text",
            Value::Whole(_) => "a whole number",
            Value::Real(_) => "a number",
            Value::Flag(_) => "true or false",
            Value::Date => "a date or time",
            Value::List(_) => "a list",
            Value::Table(_) => "a table",
        }
    }
}

/// Which source a parsed text is, and at which byte of it the text starts.
#[derive(Debug, Clone, Copy)]
pub(super) struct Base {
    /// The source.
    pub source: u32,
    /// First byte of the parsed text.
    pub offset: usize,
}

impl Base {
    /// The place of a span.
    pub fn place(self, span: std::ops::Range<usize>) -> Place {
        Place {
            source: self.source,
            start: position(span.start + self.offset),
            end: position(span.end + self.offset),
        }
    }
}

/// A parsed table as a tree; the parser limits its depth.
pub(super) fn table(parsed: &DeTable<'_>, base: Base) -> Table {
    let mut entries: Vec<Entry> = parsed
        .iter()
        .map(|(key, value)| Entry {
            key: key.get_ref().to_string(),
            key_place: base.place(key.span()),
            node: node(value, base),
        })
        .collect();
    entries.sort_by_key(|entry| entry.key_place);
    Table { entries }
}

/// A parsed value as a tree.
pub(super) fn node(parsed: &Spanned<DeValue<'_>>, base: Base) -> Node {
    let value = match parsed.get_ref() {
        DeValue::String(text) => Value::Text(text.to_string()),
        DeValue::Integer(whole) => Value::Whole(integer(whole.as_str(), whole.radix())),
        DeValue::Float(real) => Value::Real(real.as_str().parse().unwrap_or(f64::NAN)),
        DeValue::Boolean(flag) => Value::Flag(*flag),
        DeValue::Datetime(_) => Value::Date,
        DeValue::Array(list) => Value::List(list.iter().map(|item| node(item, base)).collect()),
        DeValue::Table(inner) => Value::Table(table(inner, base)),
    };
    Node {
        value,
        place: base.place(parsed.span()),
    }
}

/// A whole number of any length; one too long for 128 bits is infinite and is refused as such later.
fn integer(digits: &str, radix: u32) -> f64 {
    match i128::from_str_radix(digits, radix) {
        #[expect(
            clippy::cast_precision_loss,
            reason = "quantities need no more than 53 bits"
        )]
        Ok(whole) => whole as f64,
        Err(_) => f64::INFINITY,
    }
}
