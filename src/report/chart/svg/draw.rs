//! The few marks a picture is made of, in SVG.

use std::fmt::{self, Write};

use crate::report::text::{clean, columns};

/// Colour of words and limits, of axes and of the grid.
pub(super) const INK: &str = "#141414";
pub(super) const GREY: &str = "#828282";
pub(super) const LIGHT: &str = "#dedede";

/// Width of a letter against its height. The widest of the usual sans-serif fonts takes about this much.
const ASPECT: f64 = 0.6;

/// How a line is drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pen {
    /// Colour.
    pub color: &'static str,
    /// Lengths of dashes and gaps; empty for a full line.
    pub dashes: &'static str,
    /// Width.
    pub width: f64,
}

/// What sets lines apart, in order. The colours differ in brightness too, and for colour-blind readers.
const PENS: [Pen; 12] = [
    pen("#004488", "", 3.5),
    pen("#cc7700", "12 5", 3.0),
    pen("#141414", "3 4", 2.5),
    pen("#5a8cc8", "", 2.0),
    pen("#784600", "12 4 3 4", 2.5),
    pen("#6e6e6e", "7 7", 3.0),
    pen("#228833", "3 3 3 9", 3.0),
    pen("#aa3377", "18 5", 1.8),
    pen("#9a9a9a", "", 4.5),
    pen("#141414", "1 7", 4.0),
    pen("#5a8cc8", "16 4 3 4 3 4", 2.2),
    pen("#cc7700", "2 3", 1.6),
];

const fn pen(color: &'static str, dashes: &'static str, width: f64) -> Pen {
    Pen {
        color,
        dashes,
        width,
    }
}

/// How the line of that number is drawn.
pub(super) fn pen_of(index: usize) -> Pen {
    PENS[index % PENS.len()]
}

/// Which end of a text stands at its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// Where and how a text stands.
#[derive(Debug, Clone, Copy)]
pub(super) struct Text {
    at: (f64, f64),
    size: f64,
    anchor: Anchor,
    weight: &'static str,
}

impl Text {
    /// Plain text that starts at a place, on its base line.
    pub fn new(at: (f64, f64), size: f64) -> Self {
        Self {
            at,
            size,
            anchor: Anchor::Start,
            weight: "",
        }
    }

    /// The same with another end at its place.
    pub fn anchored(self, anchor: Anchor) -> Self {
        Self { anchor, ..self }
    }

    /// The same in bold.
    pub fn bold(self) -> Self {
        Self {
            weight: " font-weight=\"bold\"",
            ..self
        }
    }
}

/// What a text of so many columns takes.
pub(super) fn width_of(columns: usize, size: f64) -> f64 {
    columns as f64 * size * ASPECT
}

/// What a text takes.
pub(super) fn width(text: &str, size: f64) -> f64 {
    width_of(columns(text), size)
}

/// Text that may stand between tags.
pub(super) fn escape(text: &str) -> String {
    clean(text)
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}

/// A text.
pub(super) fn text(out: &mut String, words: &str, how: &Text) -> fmt::Result {
    let anchor = match how.anchor {
        Anchor::Start => "",
        Anchor::Middle => " text-anchor=\"middle\"",
        Anchor::End => " text-anchor=\"end\"",
    };
    writeln!(
        out,
        "<text x=\"{:.1}\" y=\"{:.1}\" font-size=\"{}\"{anchor}{}>{}</text>",
        how.at.0,
        how.at.1,
        how.size,
        how.weight,
        escape(words)
    )
}

/// A line through points.
pub(super) fn line(out: &mut String, points: &[(f64, f64)], pen: Pen) -> fmt::Result {
    let places: Vec<String> = points
        .iter()
        .map(|(x, y)| format!("{x:.1},{y:.1}"))
        .collect();
    let dashes = if pen.dashes.is_empty() {
        String::new()
    } else {
        format!(" stroke-dasharray=\"{}\"", pen.dashes)
    };
    writeln!(
        out,
        "<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\"{dashes}/>",
        places.join(" "),
        pen.color,
        pen.width
    )
}

/// Straight pieces in one colour, as one mark.
pub(super) fn pieces(out: &mut String, pieces: &[[(f64, f64); 2]], pen: Pen) -> fmt::Result {
    out.push_str("<path d=\"");
    for [from, to] in pieces {
        write!(out, "M{:.1} {:.1}L{:.1} {:.1}", from.0, from.1, to.0, to.1)?;
    }
    writeln!(
        out,
        "\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\"/>",
        pen.color, pen.width
    )
}

/// A band between two lines, light enough for any line over it.
pub(super) fn band(out: &mut String, edges: [&[(f64, f64)]; 2]) -> fmt::Result {
    let around = edges[0].iter().chain(edges[1].iter().rev());
    let places: Vec<String> = around.map(|(x, y)| format!("{x:.1},{y:.1}")).collect();
    let places = places.join(" ");
    writeln!(out, "<polygon points=\"{places}\" fill=\"#d8e2ee\"/>")
}

/// A dot.
pub(super) fn dot(out: &mut String, at: (f64, f64)) -> fmt::Result {
    writeln!(
        out,
        "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"5\" fill=\"{INK}\" stroke=\"#ffffff\" stroke-width=\"1.5\"/>",
        at.0, at.1
    )
}

/// White paper under words, so that a line they have to cover does not run through them.
pub(super) fn paper(out: &mut String, area: &super::label::Area) -> fmt::Result {
    writeln!(
        out,
        "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\" fill=\"#ffffff\" fill-opacity=\"0.85\"/>",
        area.left,
        area.top,
        area.right - area.left,
        area.bottom - area.top
    )
}
