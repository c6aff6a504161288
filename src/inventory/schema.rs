//! The JSON Schema of the inventory, made from the table of keys: for editors, and for programs that write inventories.
//!
//! It takes every valid file. What needs more than one value to judge (what exceeds what, what names what) is left to
//! the program, and so are ranges of values with a unit.

use std::ops::Bound;

use serde_json::{Map, Value, json};

use crate::lab::keys::range::{Range, SHARE};
use crate::lab::keys::{Default, Key, Kind, Section};
use crate::unit::parse::Dimension;
use crate::unit::pattern::pattern;

/// The schema.
///
/// # Example
/// ```
/// let schema = berthage::inventory::schema::schema();
/// assert_eq!(schema["$defs"]["guest"]["required"], serde_json::json!(["name", "memory"]));
/// ```
pub fn schema() -> Value {
    let mut definitions = Map::new();
    for section in Section::all().filter(|one| *one != Section::Top) {
        definitions.insert(section.name().to_owned(), table(section));
    }
    for (dimension, name) in TEXTS {
        let text = json!({
            "type": "string",
            "pattern": pattern(dimension),
            "description": format!("{}; units: {}", dimension.noun(), dimension.units()),
        });
        definitions.insert(name.to_owned(), text);
    }
    let mut schema = table(Section::Top);
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["title"] = json!("berthage inventory");
    schema["description"] = json!(
        "What is accepted as safe, what could be bought or is owned, and what should run. Hosts and guests may also \
         stand in files that this one includes."
    );
    // Required as a whole, but an included file may give either.
    schema["required"] = json!([]);
    schema["$defs"] = Value::Object(definitions);
    schema
}

/// The texts of quantities, each with the name that it is defined under.
const TEXTS: [(Dimension, &str); 7] = [
    (Dimension::Bytes, "size_text"),
    (Dimension::ByteRate, "byte_rate_text"),
    (Dimension::BitRate, "bit_rate_text"),
    (Dimension::EventRate, "event_rate_text"),
    (Dimension::Time, "time_text"),
    (Dimension::Share, "share_text"),
    (Dimension::Power, "power_text"),
];

/// A text with a unit of that dimension.
fn text(dimension: Dimension) -> Value {
    let named = TEXTS.iter().find(|(one, _)| *one == dimension);
    reference(named.map_or("", |(_, name)| name))
}

fn reference(definition: &str) -> Value {
    json!({ "$ref": format!("#/$defs/{definition}") })
}

/// A table of a section.
fn table(section: Section) -> Value {
    let keys = section.keys();
    let properties: Map<String, Value> = keys
        .iter()
        .map(|key| (key.name.to_owned(), property(section, key)))
        .collect();
    let required: Vec<&str> = keys
        .iter()
        .filter(|key| key.default == Default::Required)
        .map(|key| key.name)
        .collect();
    json!({
        "type": "object",
        "description": section.header(),
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    })
}

/// A key with its meaning.
fn property(section: Section, key: &Key) -> Value {
    let mut schema = kind(section, key);
    schema["description"] = json!(described(key));
    if let Default::Fixed(text, _) = key.default {
        schema["default"] = match key.kind {
            Kind::Flag => json!(text == "true"),
            _ => text
                .parse::<f64>()
                .map_or_else(|_| json!(text), |number| json!(number)),
        };
    }
    schema
}

/// Meaning, range and default of the key.
fn described(key: &Key) -> String {
    let holds_number = matches!(
        key.kind,
        Kind::Count
            | Kind::Quantity(_)
            | Kind::SizeOrShare
            | Kind::ShareByPeriod
            | Kind::Sizes
            | Kind::Prices
    );
    let range = if holds_number {
        format!("; {}", key.range.words)
    } else {
        String::new()
    };
    let without = match key.default {
        Default::Required => "Has to be given".to_owned(),
        Default::Absent(text) => format!("Without it: {text}"),
        Default::Fixed(text, _) | Default::Rule(text, _) => match key.spread_text() {
            Some(ends) => format!("Default: {text}, which may be {ends}"),
            None => format!("Default: {text}"),
        },
    };
    format!("{}{range}. {without}", capital(key.meaning))
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// What the value of a key has to be.
fn kind(section: Section, key: &Key) -> Value {
    let number = |plain: Value| match section.is_chosen(key) {
        true => plain,
        false => uncertain(&plain),
    };
    match key.kind {
        Kind::Name | Kind::Reference => {
            json!({ "type": "string", "minLength": 1, "maxLength": 64 })
        }
        Kind::Title => json!({ "type": "string", "maxLength": 64 }),
        Kind::Word(words) => json!({ "enum": words }),
        Kind::Flag => json!({ "type": "boolean" }),
        Kind::Count => number(bounded("integer", key.range)),
        Kind::Quantity(dimension) => number(quantity(dimension, key.range)),
        Kind::SizeOrShare => number(json!({ "anyOf": [
            text(Dimension::Bytes),
            quantity(Dimension::Share, SHARE),
        ]})),
        Kind::ShareByPeriod => {
            let share = uncertain(&quantity(Dimension::Share, key.range));
            json!({ "anyOf": [share, {
                "type": "object",
                "description": "a share for each period by its name, `otherwise` for the others",
                "additionalProperties": share,
            }]})
        }
        Kind::Sizes => json!({
            "type": "array",
            "items": uncertain(&text(Dimension::Bytes)),
            "minItems": 1,
        }),
        Kind::Prices => json!({
            "type": "object",
            "propertyNames": text(key.priced_quantity().0),
            "additionalProperties": bounded("number", key.range),
        }),
        Kind::Files => json!({ "type": "array", "items": { "type": "string" } }),
        Kind::Table(inner) => reference(inner.name()),
        Kind::Tables(inner) => json!({ "type": "array", "items": reference(inner.name()) }),
    }
}

/// A plain number, or low, likely and high.
fn uncertain(plain: &Value) -> Value {
    json!({ "anyOf": [plain, {
        "type": "object",
        "description": "an uncertain value: low ≤ likely ≤ high",
        "properties": { "low": plain, "likely": plain, "high": plain },
        "required": ["low", "likely", "high"],
        "additionalProperties": false,
    }]})
}

/// A number with its unit; without one where it has one reading only.
fn quantity(dimension: Dimension, range: Range) -> Value {
    let bare = || bounded("number", range);
    match dimension {
        Dimension::Number => bare(),
        Dimension::Share | Dimension::EventRate => {
            json!({ "anyOf": [bare(), text(dimension)] })
        }
        _ => text(dimension),
    }
}

/// A bare number in its range.
fn bounded(kind: &str, range: Range) -> Value {
    let mut number = json!({ "type": kind });
    let (low, high) = range.ends;
    for (end, at, beyond) in [
        (low, "minimum", "exclusiveMinimum"),
        (high, "maximum", "exclusiveMaximum"),
    ] {
        match end {
            Bound::Included(limit) => number[at] = json!(limit),
            Bound::Excluded(limit) => number[beyond] = json!(limit),
            Bound::Unbounded => {}
        }
    }
    number
}

#[cfg(test)]
mod tests;
