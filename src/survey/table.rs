//! The `[[host]]` table that a survey prints: each value with its origin, and what could not be read with the reason.

use super::root::Root;
use crate::lab::keys::{Kind, Section};
use crate::unit::parse::{Dimension, parse};

/// Column that origins start in, where the value leaves room.
const ORIGIN_COLUMN: usize = 36;
/// Widest line with its comment: most terminals have as many columns.
const WIDEST: usize = 80;

/// A value to print.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A number in base units; the key says of what.
    Number(f64),
    /// One of the key's words.
    Word(&'static str),
    /// On or off.
    Flag(bool),
    /// A name.
    Name(String),
    /// Written as it stands: lists and tables.
    Raw(String),
}

impl From<f64> for Value {
    fn from(number: f64) -> Value {
        Value::Number(number)
    }
}

/// A key whose value is the number in one file of a folder.
#[derive(Debug, Clone, Copy)]
pub struct Row {
    key: &'static str,
    file: &'static str,
    takes: Takes,
}

/// What a [`Row`] makes of the number.
#[derive(Debug, Clone, Copy)]
enum Takes {
    /// That many times the number; a file that cannot be read leaves the key out.
    Number(f64),
    /// Whether it is not 0; a file that cannot be read means off, for this reason.
    Flag(&'static str),
}

impl Row {
    /// The number as it stands.
    pub fn number(key: &'static str, file: &'static str) -> Row {
        let takes = Takes::Number(1.0);
        Row { key, file, takes }
    }

    /// The same in another unit.
    pub fn times(self, factor: f64) -> Row {
        let takes = Takes::Number(factor);
        Row { takes, ..self }
    }

    /// On or off, from a file of the key's name; `absent` says why it is off without one.
    pub fn flag(key: &'static str, absent: &'static str) -> Row {
        let (file, takes) = (key, Takes::Flag(absent));
        Row { key, file, takes }
    }
}

/// The table in the making.
#[derive(Debug, Default)]
pub struct HostTable {
    text: String,
    missing: Vec<&'static str>,
    section: Option<Section>,
}

impl HostTable {
    /// Opens a table of the file; what follows belongs to it.
    pub fn open(&mut self, section: Section) {
        if self.section.is_some() {
            self.text.push('\n');
        }
        self.section = Some(section);
        self.line(section.header());
    }

    /// Adds a comment.
    pub fn note(&mut self, text: impl AsRef<str>) {
        self.line(&comment(&clean(text.as_ref())));
    }

    /// Adds the reason why a key was not read; the default of the inventory holds.
    pub fn left_out(&mut self, key: &str, why: impl AsRef<str>) {
        self.note(format!("{key}: not read, {}", why.as_ref()));
    }

    /// Adds the reason why a key was not read that the table is not complete without.
    pub fn incomplete(&mut self, key: &'static str, why: impl AsRef<str>) {
        self.missing.push(key);
        let why = why.as_ref();
        self.note(format!("{key} = ???  HAS TO BE ADDED BY HAND: {why}"));
    }

    /// Adds a value with its origin; a number that the key does not allow is left out, with the reason.
    pub fn put(&mut self, key: &str, value: impl Into<Value>, origin: impl AsRef<str>) {
        let origin = origin.as_ref();
        let text = match value.into() {
            Value::Number(number) => {
                let section = self.section;
                match section.and_then(|section| written(section, key, number)) {
                    Some(text) => text,
                    None => {
                        let why =
                            format!("it would be {number}, which no inventory allows ({origin})");
                        return self.left_out(key, why);
                    }
                }
            }
            Value::Word(word) => format!("\"{word}\""),
            Value::Flag(flag) => flag.to_string(),
            Value::Name(name) => quoted(&name),
            Value::Raw(text) => text,
        };
        self.line(&given(&format!("{key} = {text}"), &clean(origin)));
    }

    /// Adds a key from its file in a folder.
    pub fn put_row(&mut self, root: &Root, folder: &str, row: &Row) {
        let (key, file) = (row.key, format!("{folder}/{}", row.file));
        match (root.number(&file), row.takes) {
            (Ok(number), Takes::Number(factor)) => {
                self.put(key, number * factor, format!("/{file}"));
            }
            (Ok(number), Takes::Flag(_)) => {
                self.put(key, Value::Flag(number != 0.0), format!("/{file}"));
            }
            (Err(why), Takes::Number(_)) => self.left_out(key, format!("/{file}: {why}")),
            (Err(_), Takes::Flag(why)) => {
                self.put(key, Value::Flag(false), format!("no /{file}: {why}"));
            }
        }
    }

    /// Keys that have to be added by hand before the table can be used.
    #[must_use]
    pub fn missing(&self) -> &[&'static str] {
        &self.missing
    }

    /// The text of the table.
    #[must_use]
    pub fn text(&self) -> String {
        self.text.clone()
    }

    fn line(&mut self, text: &str) {
        self.text.push_str(text);
        self.text.push('\n');
    }
}

/// A number as the key takes it; none where the key does not allow it once it is written.
#[must_use]
pub fn written(section: Section, key: &str, number: f64) -> Option<String> {
    let known = section.key(key).filter(|known| known.range.holds(number))?;
    let (text, dimension) = match known.kind {
        Kind::Quantity(dimension) => (quantity(number, dimension), dimension),
        Kind::Sizes => (quantity(number, Dimension::Bytes), Dimension::Bytes),
        _ => (whole(number), Dimension::Number),
    };
    // Rounding may have made a small number into none at all.
    let back = parse(text.trim_matches('"'), dimension).ok()?;
    known.range.holds(back).then_some(text)
}

/// A value and its origin: beside it where there is room, else above it.
fn given(left: &str, origin: &str) -> String {
    let last = left.lines().last().unwrap_or_default().chars().count();
    if left.contains('\n') || last.max(ORIGIN_COLUMN) + origin.chars().count() + 3 > WIDEST {
        format!("{}\n{left}", comment(origin))
    } else {
        format!("{left:ORIGIN_COLUMN$} # {origin}")
    }
}

/// A comment, wrapped.
fn comment(note: &str) -> String {
    let mut text = "#".to_owned();
    let mut column = 1;
    for word in note.split(' ') {
        let length = word.chars().count();
        if column > 1 && column + 1 + length > WIDEST {
            text.push_str("\n#");
            column = 1;
        }
        text.push(' ');
        text.push_str(word);
        column += 1 + length;
    }
    text
}

/// Text without anything that could end a comment or move a cursor.
fn clean(text: &str) -> String {
    text.chars()
        .map(|letter| if letter.is_control() { '?' } else { letter })
        .collect()
}

/// A name in quotes, as TOML writes it.
#[must_use]
pub fn quoted(name: &str) -> String {
    let mut text = String::from("\"");
    for letter in clean(name).chars() {
        if matches!(letter, '"' | '\\') {
            text.push('\\');
        }
        text.push(letter);
    }
    text.push('"');
    text
}

/// A whole number.
fn whole(number: f64) -> String {
    format!("{:.0}", number.round())
}

/// A number with the unit of its dimension, nothing lost.
fn quantity(number: f64, dimension: Dimension) -> String {
    match dimension {
        Dimension::Bytes => format!("\"{}\"", size(number)),
        Dimension::Time => {
            let (unit, name) = match number {
                1.0.. => (1.0, "s"),
                1e-3.. => (1e-3, "ms"),
                _ => (1e-6, "us"),
            };
            format!("\"{} {name}\"", short(number / unit))
        }
        Dimension::BitRate => format!("\"{} Mbit/s\"", short(number / 1e6)),
        Dimension::Share => format!("\"{} %\"", short(number * 100.0)),
        _ => short(number),
    }
}

/// A number to six decimals, without zeros at its end.
fn short(number: f64) -> String {
    let text = format!("{number:.6}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A size in the largest binary unit that it is a whole number of.
///
/// # Example
/// ```
/// use berthage::survey::table::size;
/// assert_eq!(size(34_359_738_368.0), "32 GiB");
/// assert_eq!(size(512_110_190_592.0), "500107608 KiB");
/// assert_eq!(size(1000.0), "1000 B");
/// ```
#[must_use]
pub fn size(bytes: f64) -> String {
    let units = [
        (1_073_741_824.0, "GiB"),
        (1_048_576.0, "MiB"),
        (1024.0, "KiB"),
    ];
    let fitting = units
        .iter()
        .find(|(unit, _)| bytes >= *unit && bytes % unit == 0.0);
    match fitting {
        Some((unit, name)) => format!("{} {name}", whole(bytes / unit)),
        None => format!("{} B", whole(bytes)),
    }
}

#[cfg(test)]
mod tests {
    use super::{HostTable, Section, quoted};

    #[test]
    fn odd_names_stay_names() {
        assert_eq!(quoted("a\"b\\c\nd"), r#""a\"b\\c?d""#);
    }

    #[test]
    fn what_no_inventory_allows_is_left_out() {
        let mut table = HostTable::default();
        table.open(Section::Memory);
        table.put("swap", f64::NAN, "a file");
        table.put("base", 1024.0, "a file\nof two lines");
        let text = table.text();
        assert!(text.contains("# swap: not read, it would be NaN"), "{text}");
        assert!(text.contains("base = \"1 KiB\""), "{text}");
        assert_eq!(text.lines().count(), 3, "{text}");
    }
}
