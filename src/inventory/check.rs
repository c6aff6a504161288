//! Checks the values of a table one by one against their rows, fills in defaults, and records what is wrong and where each
//! value comes from.

use std::sync::Arc;

use crate::diagnose::source::{Medium, Place, Sources};
use crate::diagnose::{Diagnostic, MOST_KEPT};
use crate::lab::draft::{Draft, DrawnAs, Event, Filled, Given, Input, fixed_default};
use crate::lab::keys::{Default, Key, Kind, Section, push_step};
use crate::lab::table::{SectionTable, Value as Field};
use crate::lab::{DefaultOrigin, Lab, Origin, Source, Uncertain, UncertainTable};

use super::fields::Fields;
use super::problem::values::KeyValue;
use super::problem::{conflicts, keys};
use super::tree::Node;
use super::written::source_text;

/// The checking of one inventory.
pub(super) struct Checker<'t> {
    /// The texts.
    pub sources: &'t Sources,
    /// What is wrong.
    pub errors: Vec<Diagnostic>,
    /// Where each value comes from, by key path.
    pub origins: Vec<(String, Origin)>,
    /// The values given as uncertain.
    pub uncertain: Vec<Uncertain>,
    /// Defaults that represent facts and may be wrong.
    pub guessed: Vec<Uncertain>,
    /// The tables that hold them.
    pub drafts: Vec<UncertainTable>,
    /// Names of the lab's periods, the rest of the time among them.
    pub periods: Vec<String>,
}

/// A table of the file whose values were checked one by one.
pub(super) struct Checked<'t, T: 'static> {
    /// The keys of the table in the file.
    pub fields: Fields<'t>,
    /// What they say.
    pub draft: Draft<T>,
    /// The same with its defaults.
    pub table: T,
}

impl<'t> Checker<'t> {
    /// Nothing is checked yet.
    pub fn new(sources: &'t Sources) -> Self {
        Checker {
            sources,
            errors: Vec::new(),
            origins: Vec::new(),
            uncertain: Vec::new(),
            guessed: Vec::new(),
            drafts: Vec::new(),
            periods: Vec::new(),
        }
    }

    /// Reports something that is wrong.
    pub fn report(&mut self, error: Diagnostic) {
        if !self.is_full() {
            self.errors.push(error);
        }
    }

    /// Whether so much is wrong that there is no point in looking further.
    pub fn is_full(&self) -> bool {
        self.errors.len() >= MOST_KEPT
    }

    /// Opens a table of that section; what is no table, and keys it does not have, are reported.
    pub fn open_table(
        &mut self,
        section: Section,
        path: String,
        node: Option<&'t Node>,
        around: Option<Place>,
    ) -> Fields<'t> {
        if let Some(node) = node.filter(|node| node.table().is_none()) {
            self.report(keys::not_a_table(section, node));
        }
        let fields = Fields::new(section, path, node, around);
        for entry in fields.unknown() {
            if self.is_full() {
                break;
            }
            self.report(keys::unknown(section, entry));
        }
        fields
    }

    /// A value under its key.
    pub fn key_value(&self, key: &'static Key, node: &'t Node) -> KeyValue<'t> {
        let sources = self.sources;
        KeyValue { key, node, sources }
    }

    /// Checks each key of a table against its row.
    pub fn values<T: SectionTable>(
        &mut self,
        path: String,
        node: Option<&'t Node>,
        around: Option<Place>,
    ) -> (Fields<'t>, Draft<T>) {
        let fields = self.open_table(T::SECTION, path, node, around);
        let mut draft = Draft::default();
        for key in T::SECTION.keys() {
            match (fields.node(key.name), key.default) {
                _ if matches!(key.kind, Kind::Table(_) | Kind::Tables(_)) => {}
                (Some(node), _) => {
                    self.record_given(&fields, key.name, node);
                    self.value(&fields, self.key_value(key, node), &mut draft);
                }
                (None, Default::Required) => {
                    self.report(keys::missing(&fields, key));
                    draft.give(key.name, &placeholder(key), Given::Invalid);
                }
                (None, Default::Fixed(text, origin)) => {
                    self.record_default(&fields, key.name, text.to_owned(), origin);
                    if let Some(Field::Number(likely)) = fixed_default(key) {
                        draft
                            .inputs
                            .extend(self.guess(&fields, key, DrawnAs::Number, likely));
                    }
                }
                (None, _) => {}
            }
        }
        (fields, draft)
    }

    /// Fills in the defaults that follow from other keys and checks the relations between keys.
    pub fn complete<T: SectionTable>(
        &mut self,
        (fields, mut draft): (Fields<'t>, Draft<T>),
    ) -> Checked<'t, T> {
        let mut guesses = Vec::new();
        let table = draft.complete(|event| guesses.extend(self.record_event(&fields, event)));
        draft.inputs.append(&mut guesses);
        for (key, text, origin) in draft.rules_without_step() {
            self.record_default(&fields, key.name, text.to_owned(), origin);
        }
        Checked {
            fields,
            draft,
            table,
        }
    }

    /// Records a default that represents a fact as an uncertain value.
    fn guess(
        &mut self,
        fields: &Fields<'t>,
        key: &'static Key,
        drawn_as: DrawnAs,
        likely: f64,
    ) -> Option<Input> {
        let (low, high) = key.ends(likely)?;
        let uncertain = Uncertain {
            path: join(&fields.path, key.name),
            low,
            likely,
            high,
        };
        self.guessed.push(uncertain.clone());
        Some(Input {
            key: key.name,
            drawn_as,
            uncertain,
        })
    }

    /// Records what was seen while a table was completed; the input that a default is where it represents a fact.
    fn record_event(&mut self, fields: &Fields<'t>, event: Event) -> Option<Input> {
        let error = match event {
            Event::Filled(filled) => return self.record_filled(fields, filled),
            Event::Order(low, high) => conflicts::out_of_order(fields, self.sources, low, high),
            Event::Parts => conflicts::parts(fields),
            Event::Limit => conflicts::left_behind(fields),
        };
        self.report(error);
        None
    }

    /// Records a default that follows from other keys; the input that it is where it represents a fact.
    fn record_filled(&mut self, fields: &Fields<'t>, filled: Filled) -> Option<Input> {
        let Filled { key, origin, .. } = filled;
        let text = match filled.fitted {
            Some((how, partner)) => format!("{}, {how} {partner}", filled.text),
            None => filled.text.to_owned(),
        };
        self.record_default(fields, key, text, origin);
        let likely = filled.likely.filter(|_| origin != DefaultOrigin::Derived)?;
        self.guess(fields, fields.section.key(key)?, DrawnAs::Rule, likely)
    }

    /// Checks a table that needs nothing from elsewhere.
    pub fn table<T: SectionTable>(
        &mut self,
        path: String,
        node: Option<&'t Node>,
        around: Option<Place>,
    ) -> Checked<'t, T> {
        let values = self.values(path, node, around);
        self.complete(values)
    }

    /// The table; one that has uncertain values is kept, to be drawn again and put into the lab of its host.
    pub fn keep<T: SectionTable + Send + Sync>(
        &mut self,
        host: Option<usize>,
        checked: Checked<'t, T>,
        put: impl Fn(&mut Lab, T) + Send + Sync + 'static,
    ) -> T {
        let Checked {
            mut draft, table, ..
        } = checked;
        if !draft.inputs.is_empty() {
            draft.prepare();
            self.drafts.push(UncertainTable {
                host,
                inputs: std::mem::take(&mut draft.inputs),
                put: Arc::new(move |lab, drawn| put(lab, draft.drawn(drawn))),
            });
        }
        table
    }

    /// Records that a value was given.
    pub fn record_given(&mut self, fields: &Fields<'t>, name: &str, node: &Node) {
        let text = source_text(node, self.sources);
        let source = match self.sources.source(node.place) {
            Some(source) if source.medium == Medium::File => Source::File {
                file: source.name.to_string(),
                line: source.line(node.place.start),
            },
            _ => Source::CommandLine,
        };
        self.origin(fields, name, Origin { text, source });
    }

    fn origin(&mut self, fields: &Fields<'t>, name: &str, origin: Origin) {
        self.origins.push((join(&fields.path, name), origin));
    }

    /// Records a default in the place of a value.
    pub fn record_default(
        &mut self,
        fields: &Fields<'t>,
        name: &str,
        text: String,
        origin: DefaultOrigin,
    ) {
        let source = Source::Default(origin);
        self.origin(fields, name, Origin { text, source });
    }
}

/// A value in the place of an invalid one, so that the rest can be checked.
pub(super) fn placeholder(key: &Key) -> Field<'static> {
    match key.kind {
        Kind::Count => Field::Count(1.0),
        Kind::Quantity(_) | Kind::SizeOrShare | Kind::ShareByPeriod => Field::Number(1.0),
        _ => Field::Text(""),
    }
}

/// A path one step longer.
pub(super) fn join(path: &str, step: &str) -> String {
    let mut joined = path.to_owned();
    push_step(&mut joined, step);
    joined
}
