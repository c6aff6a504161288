//! An answer as comma-separated values (RFC 4180, lines ending in a line feed).

use serde_json::Value;

use super::text::clean;

/// Writes an answer as a list of its values: section, item, quantity, value.
///
/// `section` holds the keys that lead to the object that a value belongs to, `item` the names (or places, from 1) of the
/// list entries on the way, `quantity` the value's own key. Lists of plain values stand in one cell, apart by spaces.
///
/// A cell that a spreadsheet would run as a formula begins with an apostrophe, numbers excepted: a guest may be called
/// `=cmd|...`. Line breaks and control characters within a cell are replaced, so that every row is one line.
///
/// # Panics
///
/// Never: writing to memory succeeds.
///
/// # Example
///
/// ```
/// let answer = serde_json::json!({"report": "fit", "hosts": [{"name": "shelf-a", "binds": ["memory", "cpu"]}]});
/// let sheet = "section,item,quantity,value\n,,report,fit\nhosts,shelf-a,name,shelf-a\nhosts,shelf-a,binds,memory cpu\n";
/// assert_eq!(berthage::report::csv::render(&answer), sheet);
/// ```
pub fn render(answer: &Value) -> String {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::Any(b'\n'))
        .from_writer(Vec::new());
    let mut write = |row: [&str; 4]| {
        let cells = row.iter().map(|cell| guarded(cell));
        writer
            .write_record(cells)
            .expect("writing to memory succeeds");
    };
    write(["section", "item", "quantity", "value"]);
    add(answer, "", "", &mut write);
    let bytes = writer.into_inner().expect("writing to memory succeeds");
    String::from_utf8(bytes).expect("cells are UTF-8")
}

/// Writes an object's own values, and then those of the objects in it.
fn add(object: &Value, section: &str, item: &str, write: &mut impl FnMut([&str; 4])) {
    let fields = || object.as_object().into_iter().flatten();
    for (key, value) in fields() {
        if let Some(text) = plain(value) {
            write([section, item, key, &text]);
        }
    }
    for (key, value) in fields() {
        let section = joined(section, key);
        match value {
            // An object of objects is a list of named entries.
            Value::Object(entries) if entries.values().all(Value::is_object) => {
                for (name, entry) in entries {
                    add(entry, &section, &joined(item, name), write);
                }
            }
            Value::Array(entries) => {
                for (place, entry) in entries.iter().enumerate() {
                    let named = ["name", "key", "id"].iter().find_map(|key| entry.get(key));
                    let name = named.and_then(plain).unwrap_or((place + 1).to_string());
                    add(entry, &section, &joined(item, &name), write);
                }
            }
            _ => add(value, &section, item, write),
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

/// The content of one cell; none for what has rows of its own.
fn plain(value: &Value) -> Option<String> {
    match value {
        Value::Null => Some(String::new()),
        Value::String(text) => Some(text.clone()),
        Value::Array(entries) => {
            let texts: Option<Vec<String>> = entries.iter().map(plain).collect();
            Some(texts?.join(" "))
        }
        Value::Object(_) => None,
        other => Some(other.to_string()),
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

    use super::super::tests::texts;
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
    fn every_value_is_a_row() {
        let answer = serde_json::json!({"lab": "a,b", "mix": {"web": 3, "ci": null}, "loads": {"cpu": {"mean": 0.5}},
                       "batches": [{"t": 0, "notes": ["x y", true]}, {"t": 60, "killed": 2}], "none": []});
        let sheet = "section,item,quantity,value\n\
                     ,,lab,\"a,b\"\n\
                     ,,none,\n\
                     mix,,web,3\n\
                     mix,,ci,\n\
                     loads,cpu,mean,0.5\n\
                     batches,1,t,0\n\
                     batches,1,notes,x y true\n\
                     batches,2,t,60\n\
                     batches,2,killed,2\n";
        assert_eq!(render(&answer), sheet);
    }

    proptest! {
        #[test]
        fn every_row_is_one_line_and_reads_back(name in texts(), value in texts()) {
            let answer = serde_json::json!({"hosts": [{"name": name, "value": value}], "version": 1});
            let text = render(&answer);
            prop_assert_eq!(text.lines().count(), 4);
            prop_assert!(text.chars().all(|letter| letter == '\n' || !letter.is_control()));
            let mut reader = csv::Reader::from_reader(text.as_bytes());
            let row = reader.records().nth(2).expect("a row").expect("a record");
            prop_assert_eq!(&row[3], guarded(&value));
        }
    }
}
