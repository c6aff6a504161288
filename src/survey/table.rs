//! The `[[host]]` table that a survey prints: each value with its origin, and what could not be read with the reason.

use crate::lab::keys::{Kind, Section};
use crate::model::{GIB, MIB};
use crate::unit::parse::{Dimension, parse};
use crate::unit::printable::printable;

/// Column that origins start in, where the value leaves room.
const ORIGIN_COLUMN: usize = 36;
/// Widest line with its comment: most terminals have as many columns.
const WIDEST: usize = 80;

/// The table, written line by line.
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
        self.line(&comment(&printable(text.as_ref())));
    }

    /// Adds the reason why a key was not read; the default of the inventory holds.
    pub fn not_read(&mut self, key: &str, why: impl AsRef<str>) {
        self.note(format!("{key}: not read, {}", why.as_ref()));
    }

    /// Adds the reason why a key was not read that the table is not complete without.
    pub fn to_add(&mut self, key: &'static str, why: impl AsRef<str>) {
        self.missing.push(key);
        let why = why.as_ref();
        self.note(format!("{key} = ???  HAS TO BE ADDED BY HAND: {why}"));
    }

    /// Adds a number in base units with its origin; one that the key does not allow is left out, with the reason.
    pub fn put(&mut self, key: &str, number: f64, origin: impl AsRef<str>) {
        let section = self.section;
        match section.and_then(|section| toml_value(section, key, number)) {
            Some(text) => self.put_text(key, &text, origin),
            None => {
                let origin = origin.as_ref();
                let why = format!("it would be {number}, which no inventory allows ({origin})");
                self.not_read(key, why);
            }
        }
    }

    /// Adds a value, as the inventory writes it, with its origin.
    pub fn put_text(&mut self, key: &str, text: &str, origin: impl AsRef<str>) {
        self.line(&with_origin(
            &format!("{key} = {text}"),
            &printable(origin.as_ref()),
        ));
    }

    /// Keys that have to be added by hand before the table can be used.
    pub fn missing(&self) -> &[&'static str] {
        &self.missing
    }

    /// The text of the table.
    pub fn text(&self) -> String {
        self.text.clone()
    }

    fn line(&mut self, text: &str) {
        self.text.push_str(text);
        self.text.push('\n');
    }
}

/// A number as the key takes it; none where the key does not allow it once it is written.
pub fn toml_value(section: Section, key: &str, number: f64) -> Option<String> {
    let known = section.key(key).filter(|known| known.range.holds(number))?;
    let (text, dimension) = match known.kind {
        Kind::Quantity(dimension) => (quantity(number, dimension), dimension),
        Kind::Sizes => (quantity(number, Dimension::Bytes), Dimension::Bytes),
        Kind::ShareByPeriod => (quantity(number, Dimension::Share), Dimension::Share),
        _ => (whole(number), Dimension::Number),
    };
    // Rounding may have made a small number into none at all.
    let back = parse(text.trim_matches('"'), dimension).ok()?;
    known.range.holds(back).then_some(text)
}

/// A value and its origin: beside it where there is room, else above it.
fn with_origin(left: &str, origin: &str) -> String {
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

/// A name in quotes, as TOML writes it.
pub fn quoted(name: &str) -> String {
    let name = printable(name).replace('\\', r"\\").replace('"', r#"\""#);
    format!("\"{name}\"")
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
            format!("\"{} {name}\"", trimmed(number / unit))
        }
        Dimension::BitRate => format!("\"{} Mbit/s\"", trimmed(number / 1e6)),
        Dimension::Share => format!("\"{} %\"", trimmed(number * 100.0)),
        _ => trimmed(number),
    }
}

/// A number to six decimals, without zeros at its end.
fn trimmed(number: f64) -> String {
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
pub fn size(bytes: f64) -> String {
    let units = [(GIB, "GiB"), (MIB, "MiB"), (1024.0, "KiB")];
    let fitting = units
        .into_iter()
        .find(|(unit, _)| bytes >= *unit && bytes % unit == 0.0);
    let (unit, name) = fitting.unwrap_or((1.0, "B"));
    format!("{} {name}", whole(bytes / unit))
}

#[cfg(test)]
mod tests {
    use super::{HostTable, Section, quoted};

    #[test]
    fn odd_names_stay_names() {
        assert_eq!(quoted("a\"b\\c\nd"), r#""a\"b\\c d""#);
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
