//! One diagnostic as text, with the line it points at.

use std::ops::Range;

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{
    Annotation, AnnotationKind, Group, Level, Renderer, Snippet, normalize_untrusted_str,
};

use unicode_width::UnicodeWidthStr;

use super::diagnostic::{Diagnostic, Label};
use super::source::{Place, Source, Sources};

/// Lines longer than this are cut to a window around what is pointed at `[B]`.
const LONGEST_LINE: usize = 240;
/// How much of a long line is shown before and after the place `[B]`.
const WINDOW: usize = 60;
/// Places at most this many lines apart are shown in one piece.
const NEAR_LINES: usize = 30;
/// Longest message; a value of megabytes is not repeated in it `[characters]`.
const LONGEST_MESSAGE: usize = 600;
/// Narrowest width that leaves something to read.
const NARROWEST: usize = 40;
/// Columns before the text of a message, "error[E0101]: ", and of a hint beside its gutter, " = help: ".
const TITLE: usize = 14;
const HELP: usize = 9;

/// Renders one diagnostic without a line break at its end.
pub(super) fn diagnostic(
    diagnostic: &Diagnostic,
    sources: &Sources,
    color: bool,
    width: usize,
) -> String {
    let width = width.max(NARROWEST);
    let title = Level::ERROR
        .primary_title(wrapped(&clean(&diagnostic.message), width - TITLE))
        .id(diagnostic.kind.code());
    let pieces = pieces(&diagnostic.labels, sources);
    let columns: Vec<(String, usize)> = pieces.iter().filter_map(Piece::true_column).collect();
    // Marks lie at most that many lines below the first.
    let lines = pieces.iter().map(|piece| piece.line + NEAR_LINES);
    let gutter = lines.max().map_or(1, |line| line.to_string().len());
    let mut group = Group::with_title(title);
    for piece in pieces {
        group = group.element(piece.snippet());
    }
    for hint in &diagnostic.hints {
        let text = wrapped(&clean(hint), width - HELP - gutter);
        group = group.element(Level::HELP.message(text));
    }
    let renderer = if color {
        Renderer::styled()
    } else {
        Renderer::plain()
    };
    let text = renderer
        .decor_style(DecorStyle::Ascii)
        .term_width(width)
        .render(&[group]);
    columns
        .into_iter()
        .fold(text, |text, (head, column)| put_column(text, &head, column))
}

/// Text in lines of at most `width` columns, broken at spaces; a longer word keeps a line of its own.
fn wrapped(text: &str, width: usize) -> String {
    let mut out = String::with_capacity(text.len());
    let mut taken = 0;
    for word in text.split(' ') {
        let long = word.width();
        if taken == 0 {
            taken = long;
        } else if taken + 1 + long > width {
            out.push('\n');
            taken = long;
        } else {
            out.push(' ');
            taken += 1 + long;
        }
        out.push_str(word);
    }
    out
}

/// The renderer counts the column in the cut line; this puts in the one of the whole line.
fn put_column(text: String, head: &str, column: usize) -> String {
    let Some(start) = text.find(head).map(|at| at + head.len()) else {
        return text;
    };
    let digits = text
        .bytes()
        .skip(start)
        .take_while(u8::is_ascii_digit)
        .count();
    format!("{}{column}{}", &text[..start], &text[start + digits..])
}

/// Some lines of one source with the marks on them.
struct Piece<'a> {
    path: &'a str,
    line: usize,
    /// Column to print where the lines were cut and the renderer cannot count it.
    cut_column: Option<usize>,
    text: String,
    marks: Vec<(Range<usize>, &'a str, AnnotationKind)>,
}

impl<'a> Piece<'a> {
    /// What comes before the column in the header, and the column, where the line was cut.
    fn true_column(&self) -> Option<(String, usize)> {
        Some((
            format!("{}:{}:", clean(self.path), self.line),
            self.cut_column?,
        ))
    }

    /// What the renderer takes.
    fn snippet(self) -> Snippet<'a, Annotation<'a>> {
        let marks = self.marks.into_iter().map(|(span, text, kind)| {
            let mark = kind.span(span);
            if text.is_empty() {
                mark
            } else {
                mark.label(clean(text))
            }
        });
        Snippet::source(self.text)
            .path(clean(self.path))
            .line_start(self.line)
            .annotations(marks)
    }
}

/// Groups labels that lie close together and cuts the lines they need out of their sources.
fn pieces<'a>(labels: &'a [Label], sources: &'a Sources) -> Vec<Piece<'a>> {
    let mut done: Vec<Piece<'a>> = Vec::new();
    let mut rest: Vec<(usize, &Label)> = labels.iter().enumerate().collect();
    while let Some((_, first)) = rest.first().copied() {
        let Some(source) = sources.source(first.place) else {
            break;
        };
        let line_of = |label: &Label| source.line(label.place.start);
        let near = |label: &Label| {
            label.place.source == first.place.source
                && line_of(label).abs_diff(line_of(first)) <= NEAR_LINES
        };
        let (mine, others): (Vec<_>, Vec<_>) = rest.into_iter().partition(|(_, label)| near(label));
        rest = others;
        let from = mine
            .iter()
            .map(|(_, label)| line_of(label))
            .min()
            .unwrap_or(1);
        let to = mine
            .iter()
            .map(|(_, label)| line_of(label))
            .max()
            .unwrap_or(1);
        if (from..=to).all(|line| source.line_end(line) - source.line_start(line) <= LONGEST_LINE) {
            done.push(whole_lines(source, from, to, &mine));
        } else {
            done.extend(mine.iter().map(|marked| cut_line(source, sources, marked)));
        }
    }
    done
}

/// The main place has carets, others dashes.
fn kind(index: usize) -> AnnotationKind {
    if index == 0 {
        AnnotationKind::Primary
    } else {
        AnnotationKind::Context
    }
}

/// Lines `from` to `to` as they stand.
fn whole_lines<'a>(
    source: &'a Source,
    from: usize,
    to: usize,
    labels: &[(usize, &'a Label)],
) -> Piece<'a> {
    let (start, end) = (source.line_start(from), source.line_end(to));
    let mark = |(index, label): &(usize, &'a Label)| {
        let span = on_one_line(source, label.place);
        (
            span.start - start..span.end - start,
            label.text.as_str(),
            kind(*index),
        )
    };
    Piece {
        path: &source.name,
        line: from,
        cut_column: None,
        text: source.text.get(start..end).unwrap_or("").to_owned(),
        marks: labels.iter().map(mark).collect(),
    }
}

/// The part of a long line around a place.
fn cut_line<'a>(
    source: &'a Source,
    sources: &Sources,
    (index, label): &(usize, &'a Label),
) -> Piece<'a> {
    let line = source.line(label.place.start);
    let span = on_one_line(source, label.place);
    let text = &*source.text;
    let start = floor_boundary(
        text,
        span.start
            .saturating_sub(WINDOW)
            .max(source.line_start(line)),
    );
    let marked_end = floor_boundary(text, span.end.min(span.start + WINDOW));
    let end = floor_boundary(text, (marked_end + WINDOW).min(source.line_end(line)));
    let before = if start > source.line_start(line) {
        "…"
    } else {
        ""
    };
    let after = if end < source.line_end(line) {
        "…"
    } else {
        ""
    };
    let shift = |at: usize| at - start + before.len();
    Piece {
        path: &source.name,
        line,
        cut_column: Some(sources.column(label.place)),
        text: format!("{before}{}{after}", text.get(start..end).unwrap_or("")),
        marks: vec![(
            shift(span.start)..shift(marked_end),
            label.text.as_str(),
            kind(*index),
        )],
    }
}

/// The bytes of a place that lie on its first line, on character boundaries.
fn on_one_line(source: &Source, place: Place) -> Range<usize> {
    let line = source.line(place.start);
    let start = floor_boundary(
        &source.text,
        (place.start as usize).min(source.line_end(line)),
    );
    let end = floor_boundary(
        &source.text,
        (place.end as usize).clamp(start, source.line_end(line).max(start)),
    );
    start..end
}

/// The nearest character boundary at or before `at`.
fn floor_boundary(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// Text that came from outside, without control characters and not too long.
fn clean(text: &str) -> String {
    match text.char_indices().nth(LONGEST_MESSAGE) {
        Some((end, _)) => normalize_untrusted_str(&format!("{}…", &text[..end])),
        None => normalize_untrusted_str(text),
    }
}
