//! What a change did: figures of a host before and after.

use super::document::{Document, Rank};
use super::hosts;
use super::table::{Cell, Rows, Table};
use crate::lab::Lab;
use crate::purchase::compare::CompareAnswer;
use crate::sizing::answer::HostAnswer;
use crate::sizing::changes::partner;
use crate::sizing::difference::{Difference, HostChange};
use crate::unit::format::listed;
use crate::words::difference::{At, figure, sentence, value};
use crate::words::name::titled;

/// Figures of a host that a short screen shows.
const SHOWN: usize = 8;

/// The hosts of one lab before and after a change.
pub(super) struct Both<'a> {
    pub hosts: [&'a [HostAnswer]; 2],
    pub labs: [&'a Lab; 2],
}

impl<'a> Both<'a> {
    /// A changed host before and after.
    fn of(&self, change: &HostChange) -> Option<[At<'a>; 2]> {
        let [before, after] = self.hosts;
        let new = after.iter().find(|host| host.name == change.host)?;
        let old = partner(before, after, new)?;
        Some([(old, self.labs[0]), (new, self.labs[1])])
    }

    /// What changed, a sentence a host.
    pub fn sentences(&self, changes: &[HostChange]) -> Vec<String> {
        let changes = changes.iter().map(|change| (change, self.of(change)));
        let known = changes.filter_map(|(change, at)| Some((change, at?)));
        let sentences = known.map(|(change, [before, after])| sentence(change, before, after));
        sentences.collect()
    }

    /// Says what `--set` did, below the lead of `fit`.
    pub fn said(&self, document: &mut Document, changes: &[HostChange]) {
        let sentences = self.sentences(changes).into_iter();
        document.say(sentences.map(|sentence| format!("By --set, {sentence}")));
    }

    /// Adds what `--set` changed, figure by figure.
    pub fn append(&self, document: &mut Document, changes: &'a [HostChange]) {
        document.heading(2, "What --set changed");
        self.tables(document, changes, usize::MAX);
    }

    /// A table a host, each of at most so many figures.
    fn tables(&self, document: &mut Document, changes: &'a [HostChange], most: usize) {
        for table in changes.iter().filter_map(|change| self.table(change, most)) {
            document.table(table);
        }
    }

    /// The figures that differ, at most so many.
    fn table(&self, change: &'a HostChange, most: usize) -> Option<Rows<&'a Difference>> {
        let [before, after] = self.of(change)?;
        let figures = change.figures.iter().take(most);
        let table = Table::of(figures)
            .left(change.host.clone(), |one| Cell::strong(figure(one)))
            .right("before", move |one| value(&one.figure, one.before, before))
            .right("after", move |one| value(&one.figure, one.after, after));
        (!change.figures.is_empty()).then_some(table)
    }
}

/// The document of `compare` with two labs.
pub fn document(answer: &CompareAnswer, before: &Lab, after: &Lab) -> Document {
    let mut document = Document::new();
    document.heading(1, titled("What is different", &answer.lab));
    let Some(change) = &answer.change else {
        return document;
    };
    let both = Both {
        hosts: [&change.before, &answer.hosts],
        labs: [before, after],
    };
    document.section(Rank::Answer);
    let sentences = both.sentences(&change.changes);
    match sentences.as_slice() {
        [] => document.lead("No host of the one lab stands in the other: give both the same name."),
        [only] => document.lead(only),
        _ => document.list(sentences),
    };
    document.section(Rank::Brief);
    let first = change.changes.len().min(1);
    both.tables(&mut document, &change.changes[..first], SHOWN);
    document.section(Rank::Full);
    both.tables(&mut document, &change.changes, usize::MAX);
    document.section(Rank::Answer);
    for (hosts, others, which) in [
        (&change.before, &answer.hosts, "first"),
        (&answer.hosts, &change.before, "second"),
    ] {
        let is_there = |host: &HostAnswer| others.iter().any(|other| other.name == host.name);
        let alone = hosts.iter().filter(|host| !is_there(host));
        let alone = listed(alone.map(|host| &host.name));
        if !alone.is_empty() && (hosts.len(), others.len()) != (1, 1) {
            document.paragraph(format!("Only in the {which} lab: {alone}."));
        }
    }
    document.caution_lines(&hosts::caution_lines(&answer.hosts), "Everything: --full.");
    document.cautions(2, &hosts::cautions(&answer.hosts));
    document
}
