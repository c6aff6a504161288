//! How what is not TOML is fixed, by the parser's message and the text at its place.

use std::ops::Range;

/// A case a line: its name, what is wrong (`=`: the parser's own words), how to fix it.
const CASES: &str = include_str!("hints.txt");
/// What a person who writes TOML for the first time needs to know.
const GENERAL_HINT: &str = "write key = value, one a line, texts and sizes in quotes; `berthage new` writes a file to compare with";
/// Longest part of a line that is examined `[B]`.
const NEAR: usize = 200;

/// What is wrong and how to fix it, for the parser's words `what` about the bytes `span` of `text`.
pub(super) fn advice<'t>(
    what: &'t str,
    text: &str,
    span: &Range<usize>,
) -> (&'t str, &'static str) {
    let name = Context::new(text, span).case(what);
    let mut cases = CASES.lines().filter_map(|line| {
        let (case, rest) = line.split_once(" | ")?;
        let (words, hint) = rest.split_once(" | ")?;
        Some((case, words, hint))
    });
    match cases.find(|(case, ..)| *case == name) {
        Some((_, "=", hint)) => (what, hint),
        Some((_, words, hint)) => (words, hint),
        None => (what, GENERAL_HINT),
    }
}

/// How to fix a key or heading that is given twice.
pub(super) fn twice(key: &str, text: &str, start: usize) -> String {
    let here = Context::new(text, &(start..start));
    match here.before.trim() {
        "[" if matches!(key, "host" | "image" | "guest") => {
            format!("write [[{key}]] above each of several")
        }
        "[" => "put the keys of both under one of the two".to_owned(),
        _ => "keep one of the two".to_owned(),
    }
}

/// The line around an error.
struct Context<'t> {
    /// The text before it on its line, without blanks at the end.
    before: &'t str,
    /// What it is about.
    at: &'t str,
    /// From it to the end of its line.
    after: &'t str,
}

impl<'t> Context<'t> {
    fn new(text: &'t str, span: &Range<usize>) -> Context<'t> {
        let near = |from: usize, to: usize| {
            let from = (0..=from).rev().find(|at| text.is_char_boundary(*at));
            let to = (to..=text.len()).find(|at| text.is_char_boundary(*at));
            text.get(from.unwrap_or(0)..to.unwrap_or(text.len()))
                .unwrap_or_default()
        };
        let head = near(span.start.saturating_sub(NEAR), span.start);
        let tail = near(span.start, span.start.saturating_add(NEAR).min(text.len()));
        Context {
            before: head.rsplit('\n').next().unwrap_or_default().trim_end(),
            at: near(span.start, span.end.min(span.start.saturating_add(NEAR))).trim(),
            after: tail.split('\n').next().unwrap_or_default(),
        }
    }

    /// The case of [`CASES`], by the parser's words and the text there.
    fn case<'w>(&self, what: &'w str) -> &'w str {
        let next = self.after.chars().next();
        match what {
            "invalid basic string" | "invalid literal string" if !self.is_at_line_end() => "",
            "key with no value" if matches!(next, Some(',' | ';')) => "a line of readings",
            "string values must be quoted" => self.unquoted(),
            "invalid unquoted key" if self.at.starts_with(':') => "a colon",
            "invalid unquoted key" if self.at.starts_with("//") => "two slashes",
            "unexpected key or value" => match next {
                Some(',') if self.is_within_number() => "a comma in a number",
                Some(',') => "a comma behind a value",
                Some(']' | '}') => "a bracket",
                _ => what,
            },
            _ if what.starts_with("missing comma") => "missing comma",
            _ if what.starts_with("extra comma") => "extra comma",
            _ if ["digits", "sign", "exponent", "prefix"]
                .iter()
                .any(|word| what.contains(word)) =>
            {
                "digits"
            }
            _ => what,
        }
    }

    /// The case of an invalid value, mostly a text without its quotes.
    fn unquoted(&self) -> &'static str {
        let is_curly = |letter: char| matches!(letter, '“' | '”' | '„' | '‘' | '’' | '«' | '»');
        let is_digit = |letter: char| letter.is_ascii_digit();
        if self.at.is_empty() {
            "nothing behind the ="
        } else if self.at.starts_with(is_curly) {
            "quotes that are not straight"
        } else if !self.before.ends_with(['=', ',', '[', '{']) || self.at.starts_with("= ") {
            "two values in a row"
        } else if self.before.contains(['[', '{']) && self.at.starts_with(is_digit) {
            "a number with its unit"
        } else {
            "a text without quotes"
        }
    }

    fn is_at_line_end(&self) -> bool {
        self.after.trim_end().is_empty()
    }

    fn is_within_number(&self) -> bool {
        let is_digit = |letter: char| letter.is_ascii_digit();
        self.before.ends_with(is_digit) && self.after.trim_start_matches(',').starts_with(is_digit)
    }
}
