//! An answer as comma-separated values (RFC 4180, lines ending in a line feed).

use std::fmt;

use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};

use super::text::clean;

/// Writes an answer that was written as JSON: a row for every object in it, a column for every key.
///
/// `section` holds the keys that lead to the object, `item` the names (or places, from 1) of the list entries on the
/// way. Lists of plain values stand in one cell, apart by spaces; a key that an object does not have is empty there.
///
/// A cell that a spreadsheet would run as a formula begins with an apostrophe, numbers excepted: a guest may be called
/// `=cmd|...`. Line breaks and control characters within a cell are replaced, so that every row is one line.
///
/// # Panics
///
/// If the text is no JSON.
///
/// # Example
///
/// ```
/// let json = r#"{"report": "fit", "hosts": [{"name": "shelf-a", "fits": 62, "binds": ["memory", "cpu"]}]}"#;
/// let sheet = "section,item,report,name,fits,binds\n,,fit,,,\nhosts,shelf-a,,shelf-a,62,memory cpu\n";
/// assert_eq!(berthage::report::csv::render(json), sheet);
/// ```
pub fn render(json: &str) -> String {
    let answer: Node = serde_json::from_str(json).expect("an answer is JSON");
    let mut sheet = Sheet::default();
    sheet.add(&answer, "", "");
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::Any(b'\n'))
        .from_writer(Vec::new());
    let mut write = |cells: Vec<String>| {
        writer
            .write_record(cells.iter().map(|cell| guarded(cell)))
            .expect("writing to memory succeeds");
    };
    let columns = &sheet.columns;
    write(
        ["section", "item"]
            .into_iter()
            .chain(columns.iter().copied())
            .map(str::to_owned)
            .collect(),
    );
    for row in &sheet.rows {
        let cell = |column: &&str| row.cells.iter().find(|(key, _)| key == column);
        let cells = columns
            .iter()
            .map(|column| cell(column).map_or_else(String::new, |(_, text)| text.clone()));
        write(
            [row.section.clone(), row.item.clone()]
                .into_iter()
                .chain(cells)
                .collect(),
        );
    }
    let bytes = writer.into_inner().expect("writing to memory succeeds");
    String::from_utf8(bytes).expect("cells are UTF-8")
}

/// A JSON value with its keys in their order.
enum Node {
    /// Text, number, truth; nothing is empty.
    Plain(String),
    List(Vec<Node>),
    Object(Vec<(String, Node)>),
}

/// Rows, and the keys of all of them in the order in which they first occur.
#[derive(Default)]
struct Sheet<'a> {
    columns: Vec<&'a str>,
    rows: Vec<Row<'a>>,
}

struct Row<'a> {
    section: String,
    item: String,
    cells: Vec<(&'a str, String)>,
}

impl<'a> Sheet<'a> {
    /// Adds an object's own row, and then those of the objects in it.
    fn add(&mut self, node: &'a Node, section: &str, item: &str) {
        let Node::Object(fields) = node else { return };
        let cells: Vec<(&str, String)> = fields
            .iter()
            .filter_map(|(key, value)| Some((key.as_str(), value.plain()?)))
            .collect();
        for (key, _) in &cells {
            if !self.columns.contains(key) {
                self.columns.push(key);
            }
        }
        if !cells.is_empty() {
            self.rows.push(Row {
                section: section.to_owned(),
                item: item.to_owned(),
                cells,
            });
        }
        for (key, value) in fields {
            let section = joined(section, key);
            match value {
                // An object of objects is a list of named entries.
                Node::Object(entries) if value.is_of_objects() => {
                    for (name, entry) in entries {
                        self.add(entry, &section, &joined(item, name));
                    }
                }
                Node::Object(_) => self.add(value, &section, item),
                Node::List(entries) => {
                    for (place, entry) in entries.iter().enumerate() {
                        let name = entry
                            .name()
                            .map_or_else(|| (place + 1).to_string(), str::to_owned);
                        self.add(entry, &section, &joined(item, &name));
                    }
                }
                Node::Plain(_) => {}
            }
        }
    }
}

fn joined(before: &str, word: &str) -> String {
    if before.is_empty() {
        word.to_owned()
    } else {
        format!("{before}/{word}")
    }
}

impl Node {
    /// What stands in one cell; none for what has rows of its own.
    fn plain(&self) -> Option<String> {
        match self {
            Node::Plain(text) => Some(text.clone()),
            Node::List(entries) => {
                let texts: Option<Vec<String>> = entries.iter().map(Node::plain).collect();
                Some(texts?.join(" "))
            }
            Node::Object(_) => None,
        }
    }

    fn is_of_objects(&self) -> bool {
        let Node::Object(fields) = self else {
            return false;
        };
        !fields.is_empty()
            && fields
                .iter()
                .all(|(_, value)| matches!(value, Node::Object(_)))
    }

    /// What an entry of a list is called.
    fn name(&self) -> Option<&str> {
        let Node::Object(fields) = self else {
            return None;
        };
        ["name", "key", "id"].into_iter().find_map(|wanted| {
            match fields.iter().find(|(key, _)| key == wanted) {
                Some((_, Node::Plain(text))) => Some(text.as_str()),
                _ => None,
            }
        })
    }
}

struct Reader;

impl<'de> Deserialize<'de> for Node {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(Reader)
    }
}

impl<'de> Visitor<'de> for Reader {
    type Value = Node;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E>(self) -> Result<Node, E> {
        Ok(Node::Plain(String::new()))
    }

    fn visit_bool<E>(self, value: bool) -> Result<Node, E> {
        Ok(Node::Plain(value.to_string()))
    }

    fn visit_u64<E>(self, value: u64) -> Result<Node, E> {
        Ok(Node::Plain(value.to_string()))
    }

    fn visit_i64<E>(self, value: i64) -> Result<Node, E> {
        Ok(Node::Plain(value.to_string()))
    }

    fn visit_f64<E>(self, value: f64) -> Result<Node, E> {
        Ok(Node::Plain(value.to_string()))
    }

    fn visit_str<E>(self, value: &str) -> Result<Node, E> {
        Ok(Node::Plain(value.to_owned()))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Node, A::Error> {
        let mut entries = Vec::new();
        while let Some(entry) = list.next_element()? {
            entries.push(entry);
        }
        Ok(Node::List(entries))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Node, A::Error> {
        let mut fields = Vec::new();
        while let Some(field) = map.next_entry()? {
            fields.push(field);
        }
        Ok(Node::Object(fields))
    }
}

/// The cell as text that no spreadsheet takes for a formula.
fn guarded(cell: &str) -> String {
    let cell = clean(cell);
    // The wide forms are read as their ASCII twins where an East Asian locale is set.
    let looks_like_a_formula = cell.starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠']);
    // `parse` also takes "-inf", which a spreadsheet reads as a name.
    let is_number = cell.parse::<f64>().is_ok_and(f64::is_finite);
    if looks_like_a_formula && !is_number {
        format!("'{cell}")
    } else {
        cell
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::{prop_assert, prop_assert_eq, proptest};

    use super::super::arbitrary::texts;
    use super::{guarded, render};

    #[test]
    fn formulas_are_defused_and_numbers_left_alone() {
        for (cell, written) in [
            ("=1+1", "'=1+1"),
            ("+49 30", "'+49 30"),
            ("-x", "'-x"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("\t=1+1", "'=1+1"),
            ("＝1", "'＝1"),
            ("-inf", "'-inf"),
            ("-1.5e9", "-1.5e9"),
            ("+5", "+5"),
            ("web=1", "web=1"),
            ("", ""),
        ] {
            assert_eq!(guarded(cell), written);
        }
    }

    #[test]
    fn every_object_is_a_row_and_every_key_a_column() {
        let json = r#"{"lab": "a,b", "mix": {"web": 3, "ci": null}, "loads": {"cpu": {"mean": 0.5}},
                       "batches": [{"t": 0, "notes": ["x y", true]}, {"t": 60, "killed": 2}], "none": []}"#;
        let sheet = "section,item,lab,none,web,ci,mean,t,notes,killed\n\
                     ,,\"a,b\",,,,,,,\n\
                     mix,,,,3,,,,,\n\
                     loads,cpu,,,,,0.5,,,\n\
                     batches,1,,,,,,0,x y true,\n\
                     batches,2,,,,,,60,,2\n";
        assert_eq!(render(json), sheet);
    }

    proptest! {
        #[test]
        fn every_row_is_one_line_and_reads_back(name in texts(), value in texts()) {
            let answer = serde_json::json!({"hosts": [{"name": name, "value": value}], "version": 1});
            let text = render(&answer.to_string());
            prop_assert_eq!(text.lines().count(), 3);
            prop_assert!(text.chars().all(|letter| letter == '\n' || !letter.is_control()));
            let mut reader = csv::Reader::from_reader(text.as_bytes());
            let row = reader.records().nth(1).expect("a row").expect("a record");
            prop_assert_eq!(&row[3], guarded(&name));
        }
    }
}
