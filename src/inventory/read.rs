//! Reads the keys of tables by the table of keys, and keeps book of what is wrong and where each value comes from.

mod number;
mod prices;
mod text;

use std::collections::BTreeMap;

use crate::diagnose::ErrorKind;
use crate::diagnose::source::{Medium, Place, Sources};
use crate::diagnose::{Diagnostic, MOST_KEPT};
use crate::unit::parse::Dimension;

use super::fields::Fields;
use super::quantity;
use super::tree::Node;
use super::{locate, merge};
use crate::lab::keys::{Default, Key, Section};
use crate::lab::{DefaultOrigin, Origin, Source, Uncertain};

pub(super) use number::whole;

/// A number that was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Number {
    /// The number in base units.
    pub value: f64,
    /// What it measures.
    pub dimension: Dimension,
    /// Where it comes from.
    pub given: Given,
}

/// Where a number comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Given {
    /// From that place.
    At(Place),
    /// From nowhere: a default.
    Default,
    /// From a place that was reported; relations with it are not judged.
    Broken,
}

/// How values are judged.
enum Pass<'t> {
    /// The first reading: everything wrong is reported.
    Strict,
    /// A repeated reading with drawn numbers: nothing is reported or written down.
    Drawn(&'t BTreeMap<String, f64>),
}

/// The reading of one inventory.
pub(super) struct Reader<'t> {
    /// The texts.
    pub sources: &'t Sources,
    /// What is wrong.
    pub errors: Vec<Diagnostic>,
    /// Where each value comes from, by key path.
    pub origins: Vec<(String, Origin)>,
    /// The uncertain values.
    pub uncertain: Vec<Uncertain>,
    pass: Pass<'t>,
}

impl<'t> Reader<'t> {
    /// A first reading.
    pub fn strict(sources: &'t Sources) -> Self {
        Reader {
            sources,
            errors: Vec::new(),
            origins: Vec::new(),
            uncertain: Vec::new(),
            pass: Pass::Strict,
        }
    }

    /// A repeated reading.
    pub fn drawn(sources: &'t Sources, drawn: &'t BTreeMap<String, f64>) -> Self {
        Reader {
            pass: Pass::Drawn(drawn),
            ..Reader::strict(sources)
        }
    }

    /// Whether this reading judges and keeps book.
    pub fn is_strict(&self) -> bool {
        matches!(self.pass, Pass::Strict)
    }

    /// Complains, in a first reading.
    pub fn report(&mut self, error: Diagnostic) {
        if self.is_strict() && !self.is_full() {
            self.errors.push(error);
        }
    }

    /// Whether so much is wrong that there is no point in looking further.
    pub fn is_full(&self) -> bool {
        self.errors.len() >= MOST_KEPT
    }

    /// The name in a table, for its key path; empty if it is none, which is reported elsewhere.
    pub fn path_name(node: &'t Node) -> &'t str {
        const LONGEST: usize = 256;
        let name = node
            .table()
            .and_then(|table| table.get("name")?.node.text());
        name.filter(|name| name.len() <= LONGEST).unwrap_or("")
    }

    /// Opens a table of that section; what is no table, and keys it does not have, are reported.
    pub fn open(
        &mut self,
        section: Section,
        path: String,
        node: Option<&'t Node>,
        around: Option<Place>,
    ) -> Fields<'t> {
        if let Some(node) = node
            && node.table().is_none()
        {
            let message = format!(
                "{} must be a table, but is {}",
                section.header(),
                node.noun()
            );
            let key = section.keys().first().map(Key::example).unwrap_or_default();
            let hint = format!(
                "open it with {} and write its keys below, for example {key}",
                section.header()
            );
            self.report(
                Diagnostic::new(ErrorKind::WrongType, message)
                    .at(node.place, "not a table")
                    .hint(hint),
            );
        }
        let fields = Fields::new(section, path, node, around);
        for entry in fields.unknown() {
            if !self.is_strict() || self.is_full() {
                break;
            }
            self.report(merge::unknown(section, entry));
        }
        fields
    }

    /// Complains about a key that has to be given.
    pub fn missing(&mut self, fields: &Fields<'t>, key: &Key) {
        let section = fields.section.header();
        // A thing without a name is shown by its place only.
        let whose = if fields.path.contains("\"\"") {
            String::new()
        } else {
            format!(" of `{}`", fields.path)
        };
        let words = if fields.stands() {
            "it belongs below this"
        } else {
            "this has none"
        };
        self.report(
            Diagnostic::new(
                ErrorKind::MissingKey,
                format!("`{}`{whose} is missing: {}", key.name, key.meaning),
            )
            .at_any(fields.header, words)
            .hint(format!("add {} to {section}", key.example())),
        );
    }

    /// Writes down that a value was given.
    pub fn note_given(&mut self, fields: &Fields<'t>, name: &str, node: &Node) {
        if self.is_strict() {
            let text = quantity::as_written(node, self.sources);
            let source = match self.sources.source(node.place) {
                Some(source) if source.medium == Medium::File => Source::File {
                    file: source.name.to_string(),
                    line: source.line(node.place.start),
                },
                _ => Source::CommandLine,
            };
            self.origins
                .push((locate::join(&fields.path, name), Origin { text, source }));
        }
    }

    /// Writes down that a default stands in for a value.
    pub fn note_default(
        &mut self,
        fields: &Fields<'t>,
        name: &str,
        text: &str,
        origin: DefaultOrigin,
    ) {
        if self.is_strict() {
            let origin = Origin {
                text: text.to_owned(),
                source: Source::Default(origin),
            };
            self.origins
                .push((locate::join(&fields.path, name), origin));
        }
    }

    /// Writes down that the rule of the table of keys stands in for a value; `held` says what it was made to fit.
    pub fn note_rule(&mut self, fields: &Fields<'t>, name: &str, held: &str) {
        if let Default::Rule(text, origin) | Default::Fixed(text, origin) =
            fields.find(name).0.default
        {
            self.note_default(fields, name, &format!("{text}{held}"), origin);
        }
    }
}
