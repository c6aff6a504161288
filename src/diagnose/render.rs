//! One diagnostic as text: `file:line:column: message   (kind)`, the line with a mark under the place, how to fix it.

use std::ops::Range;

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use super::diagnostic::{Diagnostic, Label};
use super::source::{Place, Source, Sources};
use crate::unit::printable::{is_printable, printable};

/// Before everything but the message itself.
const INDENT: &str = "    ";
/// Between a message and its kind.
const GAP: &str = "   ";
/// Who speaks where no text is at fault.
const PROGRAM: &str = "berthage";
/// Longest message; a value of megabytes is not repeated in it `[characters]`.
const LONGEST_MESSAGE: usize = 600;
/// Narrowest width that leaves something to read `[columns]`.
const NARROWEST: usize = 40;

/// How the text is set.
#[derive(Debug, Clone, Copy)]
pub(super) struct Page {
    /// Whether escape sequences may be used.
    pub color: bool,
    /// Columns of a line.
    pub width: usize,
}

/// Renders one diagnostic; each line ends in a line break.
pub(super) fn diagnostic(diagnostic: &Diagnostic, sources: &Sources, page: Page) -> String {
    let page = Page {
        width: page.width.max(NARROWEST),
        ..page
    };
    let labels = diagnostic.labels.iter();
    let mut places = labels.filter_map(|label| Some((label, sources.source(label.place)?)));
    let first = places.next();
    let who = first.map_or(PROGRAM.to_owned(), |(label, source)| address(label, source));
    let mut lines = page.message(&who, diagnostic);
    if let Some((label, source)) = first {
        lines.extend(page.marked(label, source));
    }
    for (label, source) in places {
        lines.push(format!("{INDENT}also {}:", address(label, source)));
        lines.extend(page.marked(label, source));
    }
    for hint in &diagnostic.hints {
        lines.extend(page.indented(&sentence(&clean(hint))));
    }
    lines.join("\n") + "\n"
}

/// `file:line:column`, as editors find a place.
fn address(label: &Label, source: &Source) -> String {
    let at = label.place.start;
    let (line, column) = (source.line(at), source.column(at));
    format!("{}:{line}:{column}", printable(&source.name))
}

impl Page {
    /// Who says it, the message, and its kind.
    fn message(self, who: &str, diagnostic: &Diagnostic) -> Vec<String> {
        let head = format!("{who}: ");
        let mut lines = wrapped(
            &clean(&diagnostic.message),
            self.width.saturating_sub(head.width()),
            self.width - INDENT.len(),
        );
        let kind = format!("({})", diagnostic.kind.name());
        let before = match lines.as_slice() {
            [_] => head.width(),
            _ => INDENT.len(),
        };
        let taken = lines.last().map_or(0, |line| line.width());
        let has_room = before + taken + GAP.len() + kind.len() <= self.width;
        let (bold, plain) = if self.color {
            ("\u{1b}[1m", "\u{1b}[0m")
        } else {
            ("", "")
        };
        for (index, line) in lines.iter_mut().enumerate() {
            let before = if index == 0 { &head } else { INDENT };
            *line = format!("{before}{bold}{line}{plain}");
        }
        match lines.last_mut() {
            Some(last) if has_room => *last += &format!("{GAP}{kind}"),
            _ => lines.push(format!("{INDENT}{kind}")),
        }
        lines
    }

    /// The line of a place, a mark under it, and what is to be seen there.
    fn marked(self, label: &Label, source: &Source) -> Vec<String> {
        let room = self.width - INDENT.len();
        let cut = Cut::new(source, label.place, room);
        let mark = "^".repeat(cut.marked.width().max(1));
        let (red, plain) = if self.color {
            ("\u{1b}[31m", "\u{1b}[0m")
        } else {
            ("", "")
        };
        let (start, words) = (cut.before.width(), clean(&label.text));
        let line = format!("{INDENT}{}{}{}", cut.before, cut.marked, cut.after);
        let under = format!("{INDENT}{:start$}{red}{mark}{plain}", "");
        let mut lines = vec![line.trim_end().to_owned(), under];
        if words.is_empty() {
            return lines;
        }
        if start + mark.len() + 1 + words.width() <= room {
            lines[1] += &format!(" {words}");
        } else {
            lines.extend(self.indented(&words));
        }
        lines
    }

    fn indented(self, text: &str) -> impl Iterator<Item = String> {
        let room = self.width - INDENT.len();
        let lines = wrapped(text, room, room).into_iter();
        lines.map(|line| format!("{INDENT}{line}"))
    }
}

/// A line as far as it has room: what is marked, and what stands before and after it.
struct Cut {
    before: String,
    marked: String,
    after: String,
}

impl Cut {
    /// The line of a place in at most `room` columns, with an ellipsis where it is cut.
    fn new(source: &Source, place: Place, room: usize) -> Cut {
        let line = source.line(place.start);
        let (start, end) = (source.line_start(line), source.line_end(line));
        let mark = on_line(&source.text, place, start..end);
        let text = |range| source.text.get(range).unwrap_or("");
        let marked = first(text(mark.clone()), room / 2);
        let rest = room - marked.width();
        // Whichever side is short leaves its room to the other.
        let after = first(text(mark.end..end), rest);
        let before = last(
            text(start..mark.start),
            (rest - after.width()).max(rest / 2),
        );
        let after = first(&after, rest - before.width());
        Cut {
            before,
            marked,
            after,
        }
    }
}

/// The bytes of a place that lie on its first line, on character boundaries.
fn on_line(text: &str, place: Place, line: Range<usize>) -> Range<usize> {
    let boundary = |at: usize| {
        let at = at.clamp(line.start, line.end.max(line.start));
        (0..=at)
            .rev()
            .find(|at| text.is_char_boundary(*at))
            .unwrap_or(0)
    };
    let start = boundary(place.start as usize);
    start..boundary(place.end as usize).max(start)
}

/// The beginning of a text in at most `room` columns.
fn first(text: &str, room: usize) -> String {
    match fitting(text.chars(), room) {
        None => shown(text.chars()),
        Some(kept) => shown(text.chars().take(kept)) + "…",
    }
}

/// The end of a text in at most `room` columns.
fn last(text: &str, room: usize) -> String {
    match fitting(text.chars().rev(), room) {
        None => shown(text.chars()),
        Some(kept) => {
            let starts = text.char_indices().rev().take(kept);
            let start = starts.last().map_or(text.len(), |(at, _)| at);
            format!("…{}", shown(text[start..].chars()))
        }
    }
}

/// How many characters have room beside an ellipsis; none where all have room without one.
fn fitting(letters: impl Iterator<Item = char>, room: usize) -> Option<usize> {
    let (mut taken, mut kept) = (0, 0);
    for (index, letter) in letters.enumerate() {
        taken += match letter {
            '\t' => INDENT.len(),
            _ if is_printable(letter) => letter.width().unwrap_or(1),
            _ => 1,
        };
        if taken > room {
            return Some(kept);
        }
        if taken < room {
            kept = index + 1;
        }
    }
    None
}

/// Characters as they can be shown; a tab takes as many columns as everywhere else.
fn shown(letters: impl Iterator<Item = char>) -> String {
    let text: String = letters.collect();
    printable(&text.replace('\t', INDENT))
}

/// Text in lines broken at spaces, the first with its own width; a longer word keeps a line of its own.
fn wrapped(text: &str, first: usize, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ') {
        let room = if lines.len() == 1 { first } else { width };
        match lines.last_mut() {
            Some(line) if line.width() + 1 + word.width() <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// A hint as a sentence of its own; a key or a value that it begins with keeps its letters.
fn sentence(hint: &str) -> String {
    let mut letters = hint.chars();
    let first = letters.next().unwrap_or_default();
    let word = hint.split([' ', ',']).next().unwrap_or_default();
    let is_word = word.chars().all(|letter| letter.is_ascii_lowercase());
    let end = if hint.ends_with(['.', '?', '!']) {
        ""
    } else {
        "."
    };
    match is_word && word != "true" && word != "false" {
        true => format!("{}{}{end}", first.to_ascii_uppercase(), letters.as_str()),
        false => format!("{hint}{end}"),
    }
}

/// Text that came from outside, as it may be shown and not too long.
fn clean(text: &str) -> String {
    match text.char_indices().nth(LONGEST_MESSAGE) {
        Some((end, _)) => printable(&format!("{}…", &text[..end])),
        None => printable(text),
    }
}
