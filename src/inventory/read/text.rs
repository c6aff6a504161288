//! Names, words, flags and lists.

use crate::diagnose::ErrorKind;
use crate::diagnose::source::Place;
use crate::diagnose::{Diagnostic, suggest};
use crate::inventory::fields::Fields;
use crate::inventory::quantity;
use crate::inventory::tree::{Node, Value};
use crate::lab::keys::{Default, Kind, LONGEST_NAME, is_unprintable};

use super::Reader;

/// What people call a choice, and the word for it here.
const HABITS: [(&str, &str); 7] = [
    ("linked", "overlay"),
    ("thin", "overlay"),
    ("full", "copy"),
    ("machine", "vm"),
    ("virtual machine", "vm"),
    ("on", "adaptive"),
    ("none", "off"),
];

/// Largest number of modules or groups in one list.
const LONGEST_LIST: usize = 1024;

impl<'t> Reader<'t> {
    /// `true` or `false`, if given.
    pub fn flag_if_given(&mut self, fields: &Fields<'t>, name: &str) -> Option<bool> {
        let (key, entry) = fields.find(name);
        let node = &entry?.node;
        self.note_given(fields, name, node);
        match node.value {
            Value::Flag(flag) => Some(flag),
            _ => {
                self.report(quantity::wrong_type(key, node, self.sources));
                None
            }
        }
    }

    /// `true` or `false` with a fixed default.
    pub fn flag(&mut self, fields: &Fields<'t>, name: &str) -> bool {
        if let Some(flag) = self.flag_if_given(fields, name) {
            return flag;
        }
        let (key, entry) = fields.find(name);
        let Default::Fixed(text, origin) = key.default else {
            return false;
        };
        if entry.is_none() {
            self.note_default(fields, name, text, origin);
        }
        text == "true"
    }

    /// One of a few words, with a fixed default; returned as it stands in the table of keys.
    pub fn word(&mut self, fields: &Fields<'t>, name: &str) -> &'static str {
        let (key, entry) = fields.find(name);
        let Kind::Word(words) = key.kind else {
            return "";
        };
        let Default::Fixed(default, origin) = key.default else {
            return "";
        };
        let Some(node) = entry.map(|entry| &entry.node) else {
            self.note_default(fields, name, default, origin);
            return default;
        };
        self.note_given(fields, name, node);
        let Some(given) = node.text() else {
            self.report(quantity::wrong_type(key, node, self.sources));
            return default;
        };
        if let Some(word) = words.iter().find(|word| **word == given) {
            return word;
        }
        let message = format!(
            "`{name}` must be {}, but is \"{}\"",
            key.wanted(),
            quantity::shorten(given)
        );
        let habit = HABITS
            .iter()
            .find(|(habit, word)| given.eq_ignore_ascii_case(habit) && words.contains(word));
        let near = suggest::closest(given, words.iter().copied()).or(habit.map(|(_, word)| *word));
        let hint = match near {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("for example {}", key.example()),
        };
        self.report(
            Diagnostic::new(ErrorKind::UnknownChoice, message)
                .at(node.place, key.meaning)
                .hint(hint),
        );
        default
    }

    /// A text, if given: a name, the name of something else, or free text.
    pub fn text(&mut self, fields: &Fields<'t>, name: &str) -> Option<(&'t str, Place)> {
        let (key, entry) = fields.find(name);
        let node = &entry?.node;
        let Some(text) = node.text() else {
            self.report(quantity::wrong_type(key, node, self.sources));
            return None;
        };
        let fault = if text.chars().any(is_unprintable) {
            "holds control characters"
        } else if text.chars().count() > LONGEST_NAME {
            "is longer than 64 characters"
        } else if text.trim().is_empty() && key.kind != Kind::Title {
            "is empty"
        } else {
            self.note_given(fields, name, node);
            return Some((text, node.place));
        };
        let message = format!("`{name}` {fault}");
        let hint = "a name has 1 to 64 characters and no control characters";
        self.report(
            Diagnostic::new(ErrorKind::InvalidName, message)
                .at(node.place, key.meaning)
                .hint(hint),
        );
        None
    }

    /// The name of a thing, which has to be given.
    pub fn name(&mut self, fields: &Fields<'t>) -> (String, Option<Place>) {
        let (key, entry) = fields.find("name");
        if entry.is_none() {
            self.missing(fields, key);
        }
        match self.text(fields, "name") {
            Some((name, place)) => (name.to_owned(), Some(place)),
            None => (String::new(), None),
        }
    }

    /// A list of something, which has to be given and hold at least one.
    pub fn list(&mut self, fields: &Fields<'t>, name: &str) -> &'t [Node] {
        let (key, entry) = fields.find(name);
        let Some(node) = entry.map(|entry| &entry.node) else {
            self.missing(fields, key);
            return &[];
        };
        self.note_given(fields, name, node);
        match &node.value {
            Value::List(list) if !list.is_empty() && list.len() <= LONGEST_LIST => list,
            Value::List(list) => {
                let message = format!(
                    "`{name}` must hold 1 to {LONGEST_LIST} entries, but holds {}",
                    list.len()
                );
                let hint = format!("write {}", key.example());
                self.report(
                    Diagnostic::new(ErrorKind::OutOfRange, message)
                        .at(node.place, key.meaning)
                        .hint(hint),
                );
                &[]
            }
            _ => {
                self.report(quantity::wrong_type(key, node, self.sources));
                &[]
            }
        }
    }
}
