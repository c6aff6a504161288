//! How what is not TOML is fixed, by what the parser says of it and what stands there.

use std::ops::Range;

/// What a person who writes TOML for the first time needs to know.
const SHAPE: &str = "write key = value, one a line, texts and sizes in quotes; `berthage new` writes a file to compare with";
/// Longest stretch of a line that is looked at `[B]`.
const NEAR: usize = 200;

/// What is wrong and how to fix it, for the parser's words `what` about the bytes `span` of `text`.
pub(super) fn told(what: &str, text: &str, span: &Range<usize>) -> (String, String) {
    let here = Here::new(text, span);
    let (what, hint) = match what {
        "unclosed table" => (what, "close the heading with ], for example [policy]"),
        "unclosed array table" => (
            what,
            "close the heading with ]], for example [[host]]; a name with blanks in it stands in quotes",
        ),
        "missing table open" => (
            "a heading that is not opened",
            "write [policy] or [[host]], with as many brackets before the name as after it",
        ),
        "invalid basic string" if here.is_at_line_end() => (
            "unclosed text",
            "close it with \" on the line that it begins on",
        ),
        "invalid literal string" if here.is_at_line_end() => (
            "unclosed text",
            "close it with ' on the line that it begins on",
        ),
        "invalid multi-line basic string" => ("unclosed text", "close it with \"\"\""),
        "invalid multi-line literal string" => ("unclosed text", "close it with '''"),
        "unclosed array" => ("unclosed list", "close the list with ]"),
        "unclosed inline table" => (what, "close the table with }"),
        "key with no value" if here.after.starts_with([',', ';']) => (
            what,
            "write key = value; a table of readings comes after the lab: berthage calibrate LAB.toml READINGS.csv",
        ),
        "key with no value" => (what, "write key = value"),
        "string values must be quoted" if here.at.is_empty() => {
            ("key with no value", "write a value after the =")
        }
        "string values must be quoted" => return unquoted(&here),
        "invalid unquoted key" if here.at.starts_with(':') => {
            (what, "write = between a key and its value, not :")
        }
        "invalid unquoted key" if here.at.starts_with("//") => (what, "a comment begins with #"),
        "invalid unquoted key" => (
            what,
            "a key has letters, digits, - and _; one with others in it stands in quotes",
        ),
        "unquoted keys cannot be empty" => ("no key before the =", "write key = value"),
        "unexpected key or value" => match here.after.chars().next() {
            Some(',') if here.is_within_number() => (
                what,
                "write a point before decimals, and nothing between thousands",
            ),
            Some(',') => (
                what,
                "take out the comma; values of a list stand in brackets: [\"32 GiB\", \"32 GiB\"]",
            ),
            Some(']' | '}') => (what, "take out the bracket that nothing opened"),
            _ => (
                what,
                "put each key on a line of its own; a comment begins with #",
            ),
        },
        "missing escaped value" => (
            "a backslash that stands for nothing",
            "write \\\\ for a backslash, or put the text in single quotes",
        ),
        "extra `=`" => (what, "write one ="),
        "invalid fraction" | "invalid mantissa" => (
            "a number with no digit on one side of its point",
            "write digits on both sides, for example 0.5 or 1.0",
        ),
        "unexpected leading zero" => (what, "leave out zeros before other digits"),
        "invalid boolean" => (what, "write true or false, in lower case"),
        "carriage return must be followed by newline" => (
            what,
            "save the file with the line ends of your system; most editors call them LF or CRLF",
        ),
        "recursion limit" | "cannot recurse further; max recursion depth met" => {
            (what, "no inventory is nested that deep")
        }
        _ if what.starts_with("missing comma") => (what, "put a comma between two values"),
        _ if what.starts_with("extra comma") => (what, "take out one of the commas"),
        _ if ["digits", "sign", "exponent", "prefix"]
            .iter()
            .any(|word| what.contains(word)) =>
        {
            (what, "write the number in digits, for example 12 or 0.5")
        }
        _ => (what, SHAPE),
    };
    (what.to_owned(), hint.to_owned())
}

/// How to fix a key or heading that is given twice.
pub(super) fn twice(key: &str, text: &str, start: usize) -> String {
    let here = Here::new(text, &(start..start));
    match here.before.trim() {
        "[" if matches!(key, "host" | "image" | "guest") => {
            format!("write [[{key}]] above each of several")
        }
        "[" => "put the keys of both under one of the two".to_owned(),
        _ => "keep one of the two".to_owned(),
    }
}

/// A value that is none, mostly a text without its quotes.
fn unquoted(here: &Here) -> (String, String) {
    let is_curly = |letter: char| matches!(letter, '“' | '”' | '„' | '‘' | '’' | '«' | '»');
    let (what, hint) = if here.at.starts_with(is_curly) {
        (
            "quotes that are not straight",
            "write \" before and after the text",
        )
    } else if !here.before.ends_with(['=', ',', '[', '{']) || here.at.starts_with("= ") {
        ("missing comma", "put a comma between two values")
    } else if here.before.contains(['[', '{'])
        && here.at.starts_with(|first: char| first.is_ascii_digit())
    {
        (
            "a value that is neither a number nor in quotes",
            "put quotes around each text and size, and a comma between two values",
        )
    } else {
        (
            "text values must be quoted",
            "put quotes around it, for example memory = \"2 GiB\"",
        )
    };
    (what.to_owned(), hint.to_owned())
}

/// The line around an error.
struct Here<'t> {
    /// What stands before it on its line, blanks at the end taken off.
    before: &'t str,
    /// What it is about.
    at: &'t str,
    /// From it to the end of its line.
    after: &'t str,
}

impl<'t> Here<'t> {
    fn new(text: &'t str, span: &Range<usize>) -> Here<'t> {
        let near = |from: usize, to: usize| {
            let from = (0..=from).rev().find(|at| text.is_char_boundary(*at));
            let to = (to..=text.len()).find(|at| text.is_char_boundary(*at));
            text.get(from.unwrap_or(0)..to.unwrap_or(text.len()))
                .unwrap_or_default()
        };
        let head = near(span.start.saturating_sub(NEAR), span.start);
        let tail = near(span.start, span.start.saturating_add(NEAR).min(text.len()));
        Here {
            before: head.rsplit('\n').next().unwrap_or_default().trim_end(),
            at: near(span.start, span.end.min(span.start.saturating_add(NEAR))).trim(),
            after: tail.split('\n').next().unwrap_or_default(),
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
