//! The texts that diagnostics point into, and places in them.

use std::sync::Arc;

/// A stretch of bytes in one source.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// Which source, in the order they were added.
    pub source: u32,
    /// First byte.
    pub start: u32,
    /// Byte after the last.
    pub end: u32,
}

/// Where a text comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Medium {
    /// A file, or text handed over under a file's name.
    File,
    /// An argument of the command line.
    CommandLine,
}

/// One text.
#[derive(Debug, Clone)]
pub struct Source {
    /// What the reader calls it.
    pub name: Arc<str>,
    /// All of it.
    pub text: Arc<str>,
    /// Where it comes from.
    pub medium: Medium,
    /// First byte of each line.
    line_starts: Arc<[u32]>,
}

/// All texts of one run; cheap to copy.
#[derive(Debug, Clone, Default)]
pub struct Sources {
    list: Vec<Source>,
}

impl Sources {
    /// Adds a text and returns its number.
    pub fn add(&mut self, name: &str, text: &str, medium: Medium) -> u32 {
        let breaks = text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n');
        let line_starts = std::iter::once(0)
            .chain(breaks.map(|(at, _)| position(at + 1)))
            .collect();
        self.list.push(Source {
            name: name.into(),
            text: text.into(),
            medium,
            line_starts,
        });
        position(self.list.len() - 1)
    }

    /// The source a place lies in.
    pub fn source(&self, place: Place) -> Option<&Source> {
        self.list.get(place.source as usize)
    }

    /// The text at a place; empty if there is none.
    pub fn text(&self, place: Place) -> &str {
        self.source(place)
            .and_then(|source| source.text.get(place.start as usize..place.end as usize))
            .unwrap_or("")
    }

    /// Line of a place, counted from 1.
    pub fn line(&self, place: Place) -> usize {
        self.source(place)
            .map_or(1, |source| source.line(place.start))
    }
}

impl Source {
    /// Line that holds byte `at`, counted from 1.
    pub fn line(&self, at: u32) -> usize {
        self.line_starts.partition_point(|start| *start <= at)
    }

    /// Column of byte `at` in characters, counted from 1.
    pub fn column(&self, at: u32) -> usize {
        let before = self.text.get(self.line_start(self.line(at))..at as usize);
        1 + before.map_or(0, |before| before.chars().count())
    }

    /// First byte of a line counted from 1.
    pub fn line_start(&self, line: usize) -> usize {
        line.checked_sub(1)
            .and_then(|index| self.line_starts.get(index))
            .map_or(0, |start| *start as usize)
    }

    /// Byte after the last of a line counted from 1, its line break left out.
    pub fn line_end(&self, line: usize) -> usize {
        let next = self
            .line_starts
            .get(line)
            .map_or(self.text.len(), |start| (*start as usize).saturating_sub(1));
        next - usize::from(
            self.text.as_bytes().get(next.wrapping_sub(1)) == Some(&b'\r')
                && next > self.line_start(line),
        )
    }
}

/// A byte position; files are capped far below 4 GiB, and a longer text points at its end.
pub fn position(at: usize) -> u32 {
    u32::try_from(at).unwrap_or(u32::MAX)
}
