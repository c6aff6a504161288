//! One thing that is wrong: its kind, a message, places and hints.

use super::kinds::ErrorKind;
use super::source::Place;
use super::suggest;

/// One thing that is wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnostic {
    /// Which kind of error.
    pub kind: ErrorKind,
    /// What was given and what is allowed, in one sentence.
    pub message: String,
    /// Where it stands, the main place first; empty where no text is at fault (a missing file).
    pub labels: Vec<Label>,
    /// How to fix it.
    pub hints: Vec<String>,
}

/// A place in the input and what is to be seen there.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// The text it points at.
    pub place: Place,
    /// What is to be seen there; may be empty.
    pub text: String,
}

impl Diagnostic {
    /// A diagnostic that points nowhere yet.
    pub fn new(kind: ErrorKind, message: impl Into<String>) -> Self {
        Diagnostic {
            kind,
            message: message.into(),
            labels: Vec::new(),
            hints: Vec::new(),
        }
    }

    /// Points at a place; the first one named is the main one.
    #[must_use]
    pub fn at(mut self, place: Place, text: impl Into<String>) -> Self {
        self.labels.push(Label {
            place,
            text: text.into(),
        });
        self
    }

    /// Points at a place if there is one.
    #[must_use]
    pub fn at_any(self, place: Option<Place>, text: impl Into<String>) -> Self {
        match place {
            Some(place) => self.at(place, text),
            None => self,
        }
    }

    /// Adds what a mistyped name was likely meant to be, if one of the known names is near.
    #[must_use]
    pub fn hint_near<'a>(self, name: &str, known: impl IntoIterator<Item = &'a str>) -> Self {
        match suggest::closest(name, known) {
            Some(near) => self.hint(format!("did you mean {near:?}?")),
            None => self,
        }
    }

    /// Adds how to fix it; an empty text adds nothing.
    #[must_use]
    pub fn hint(mut self, text: impl Into<String>) -> Self {
        let text = text.into();
        if !text.is_empty() {
            self.hints.push(text);
        }
        self
    }
}
