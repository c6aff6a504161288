//! One diagnostic as text, with the line it points at.

use std::ops::{Range, RangeInclusive};

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
    // Marks lie at most that many lines below the first.
    let lines = pieces.iter().map(|piece| piece.line + NEAR_LINES);
    let gutter = lines.max().map_or(1, |line| line.to_string().len());
    let mut columns = Vec::new();
    let mut group = Group::with_title(title);
    for piece in pieces {
        columns.extend(piece.column);
        group = group.element(piece.snippet);
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
    line: usize,
    /// Where the line was cut: what comes before the column in the header, and the column of the whole line.
    column: Option<(String, usize)>,
    snippet: Snippet<'a, Annotation<'a>>,
}

impl<'a> Piece<'a> {
    /// Lines of a source as far as they lie in a window of its bytes, with an ellipsis where they are cut;
    /// marks are at most `longest` bytes.
    fn new(
        source: &'a Source,
        lines: RangeInclusive<usize>,
        window: Range<usize>,
        labels: &[(usize, &'a Label)],
        longest: usize,
    ) -> Self {
        let ellipsis = |is_cut: bool| if is_cut { "…" } else { "" };
        let before = ellipsis(window.start > source.line_start(*lines.start()));
        let after = ellipsis(window.end < source.line_end(*lines.end()));
        let shift = |at: usize| at - window.start + before.len();
        let mark = |(index, label): &(usize, &'a Label)| {
            let span = on_one_line(source, label.place, longest);
            // The main place has carets, others dashes.
            let kind = match index {
                0 => AnnotationKind::Primary,
                _ => AnnotationKind::Context,
            };
            let mark = kind.span(shift(span.start)..shift(span.end));
            match label.text.as_str() {
                "" => mark,
                text => mark.label(clean(text)),
            }
        };
        let is_cut = !(before.is_empty() && after.is_empty());
        let (line, path) = (*lines.start(), clean(&source.name));
        let column = labels.first().filter(|_| is_cut).map(|(_, label)| {
            let column = source.column(label.place.start);
            (format!("{path}:{line}:"), column)
        });
        let text = source.text.get(window.clone()).unwrap_or("");
        Piece {
            line,
            column,
            snippet: Snippet::source(format!("{before}{text}{after}"))
                .path(path)
                .line_start(line)
                .annotations(labels.iter().map(mark)),
        }
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
        let lines = || mine.iter().map(|(_, label)| line_of(label));
        let (from, to) = (lines().min().unwrap_or(1), lines().max().unwrap_or(1));
        if (from..=to).all(|line| source.line_end(line) - source.line_start(line) <= LONGEST_LINE) {
            let window = source.line_start(from)..source.line_end(to);
            done.push(Piece::new(source, from..=to, window, &mine, usize::MAX));
        } else {
            done.extend(mine.iter().map(|marked| cut_line(source, *marked)));
        }
    }
    done
}

/// The part of a long line around a place.
fn cut_line<'a>(source: &'a Source, marked: (usize, &'a Label)) -> Piece<'a> {
    let line = source.line(marked.1.place.start);
    let span = on_one_line(source, marked.1.place, WINDOW);
    let start = span.start.saturating_sub(WINDOW);
    let end = (span.end + WINDOW).min(source.line_end(line));
    let window = floor_boundary(&source.text, start.max(source.line_start(line)))
        ..floor_boundary(&source.text, end);
    Piece::new(source, line..=line, window, &[marked], WINDOW)
}

/// The bytes of a place that lie on its first line, at most `longest`, on character boundaries.
fn on_one_line(source: &Source, place: Place, longest: usize) -> Range<usize> {
    let line_end = source.line_end(source.line(place.start));
    let start = floor_boundary(&source.text, (place.start as usize).min(line_end));
    let end = (place.end as usize).clamp(start, line_end.max(start));
    start..floor_boundary(&source.text, end.min(start.saturating_add(longest)))
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
