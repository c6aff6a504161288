//! The few marks a picture is made of, in SVG, and the sizes of its parts.

use crate::report::text::{clean, columns};

/// Width of the picture in units.
pub(super) const WIDTH: f64 = 960.0;
/// Room for the numbers of the vertical axis.
pub(super) const LEFT: f64 = 92.0;
/// Room right of the plot, for half a number of the horizontal axis.
pub(super) const RIGHT: f64 = 34.0;
/// Size of the letters of title, names and numbers; the smallest is 12 px high when the picture is pasted at 700 px.
pub(super) const TITLE: f64 = 22.0;
pub(super) const NAMES: f64 = 17.0;
pub(super) const NUMBERS: f64 = 16.0;
/// Height of numbers and name below the lowest panel.
pub(super) const FOOT: f64 = 62.0;
/// Height of a line of words.
pub(super) const LINE: f64 = 21.0;

/// Colour of words and limits, of axes and of the grid.
pub(super) const INK: &str = "#141414";
pub(super) const GREY: &str = "#828282";
pub(super) const LIGHT: &str = "#dedede";

/// Width of a letter against its height. The widest of the usual sans-serif fonts takes about this much.
const ASPECT: f64 = 0.6;

/// A place in the picture: x to the right, y down.
pub(super) type Point = (f64, f64);

/// A rectangle in the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Area {
    pub left: f64,
    pub right: f64,
    pub top: f64,
    pub bottom: f64,
}

impl Area {
    /// A rectangle by its left and right edge, and its top and bottom.
    pub fn new([left, right]: [f64; 2], [top, bottom]: [f64; 2]) -> Self {
        Self {
            left,
            right,
            top,
            bottom,
        }
    }

    pub fn meets(&self, other: &Area) -> bool {
        let beside = self.left < other.right && other.left < self.right;
        beside && self.top < other.bottom && other.top < self.bottom
    }

    pub fn within(&self, outer: &Area) -> bool {
        let between = self.left >= outer.left && self.right <= outer.right;
        between && self.top >= outer.top && self.bottom <= outer.bottom
    }

    /// The place in it that is nearest to a point.
    pub fn nearest(&self, (x, y): Point) -> Point {
        let (left, right) = (self.left, self.right);
        (x.clamp(left, right), y.clamp(self.top, self.bottom))
    }

    /// How far a point is from it; 0 within.
    pub fn from(&self, point: Point) -> f64 {
        far(self.nearest(point), point)
    }

    /// Whether a straight piece of a line runs through it.
    pub fn is_crossed(&self, from: Point, to: Point) -> bool {
        // The part of the piece between both upright edges, then whether it lies above or below.
        let (mut low, mut high) = (0.0f64, 1.0f64);
        for (start, end, near, far) in [
            (from.0, to.0, self.left, self.right),
            (from.1, to.1, self.top, self.bottom),
        ] {
            let way = end - start;
            if way.abs() < f64::EPSILON {
                if start <= near || start >= far {
                    return false;
                }
                continue;
            }
            let (a, b) = ((near - start) / way, (far - start) / way);
            low = low.max(a.min(b));
            high = high.min(a.max(b));
        }
        low < high
    }
}

/// How far two points are from one another.
pub(super) fn far(one: Point, other: Point) -> f64 {
    (one.0 - other.0).hypot(one.1 - other.1)
}

/// Where a panel's plot lies and what it spans.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame {
    pub left: f64,
    pub right: f64,
    pub top: f64,
    pub bottom: f64,
    pub x_end: f64,
    pub y_end: f64,
    /// Room between the plot and the names of its lines, for their letters.
    pub gutter: f64,
}

impl Frame {
    pub fn place(&self, (x, y): (f64, f64)) -> Point {
        (
            self.left + (self.right - self.left) * x / self.x_end,
            self.bottom - (self.bottom - self.top) * y / self.y_end,
        )
    }
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pen {
    /// Colour.
    color: &'static str,
    /// Lengths of dashes and gaps; empty for a full line.
    dashes: &'static str,
    /// Width.
    width: f64,
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

/// A pen by its colour, dashes and width.
pub(super) const fn pen(color: &'static str, dashes: &'static str, width: f64) -> Pen {
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

/// How a text is set: which end of it stands at its place, and its weight.
pub(super) const START: &str = "";
pub(super) const MIDDLE: &str = " text-anchor=\"middle\"";
pub(super) const END: &str = " text-anchor=\"end\"";
pub(super) const BOLD: &str = " font-weight=\"bold\"";
pub(super) const BOLD_MIDDLE: &str = " text-anchor=\"middle\" font-weight=\"bold\"";

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
    let text = clean(text).replace('&', "&amp;");
    text.replace('<', "&lt;").replace('>', "&gt;")
}

/// Points as SVG lists them.
fn listed<'a>(points: impl Iterator<Item = &'a Point>) -> String {
    let places: Vec<String> = points.map(|(x, y)| format!("{x:.1},{y:.1}")).collect();
    places.join(" ")
}

/// A picture on its way.
#[derive(Debug, Default)]
pub(super) struct Drawing {
    /// Its marks so far.
    pub marks: String,
}

impl Drawing {
    /// Adds a mark as it is written.
    pub fn mark(&mut self, mark: &str) {
        self.marks.push_str(mark);
        self.marks.push('\n');
    }

    /// A text on its base line.
    pub fn text(&mut self, words: &str, (x, y): Point, size: f64, style: &str) {
        let words = escape(words);
        self.mark(&format!(
            "<text x=\"{x:.1}\" y=\"{y:.1}\" font-size=\"{size}\"{style}>{words}</text>"
        ));
    }

    /// A line through points.
    pub fn line(&mut self, points: &[Point], pen: Pen) {
        let (color, width, places) = (pen.color, pen.width, listed(points.iter()));
        let dashes = match pen.dashes {
            "" => String::new(),
            dashes => format!(" stroke-dasharray=\"{dashes}\""),
        };
        self.mark(&format!(
            "<polyline points=\"{places}\" fill=\"none\" stroke=\"{color}\" stroke-width=\"{width}\"{dashes}/>"
        ));
    }

    /// Straight pieces in one colour, as one mark.
    pub fn pieces(&mut self, pieces: &[[Point; 2]], pen: Pen) {
        let piece = |[from, to]: &[Point; 2]| {
            format!("M{:.1} {:.1}L{:.1} {:.1}", from.0, from.1, to.0, to.1)
        };
        let path: String = pieces.iter().map(piece).collect();
        let (color, width) = (pen.color, pen.width);
        self.mark(&format!(
            "<path d=\"{path}\" fill=\"none\" stroke=\"{color}\" stroke-width=\"{width}\"/>"
        ));
    }

    /// A band between two lines, light enough for any line over it.
    pub fn band(&mut self, [one, other]: [&[Point]; 2]) {
        let places = listed(one.iter().chain(other.iter().rev()));
        self.mark(&format!("<polygon points=\"{places}\" fill=\"#d8e2ee\"/>"));
    }

    /// A dot.
    pub fn dot(&mut self, (x, y): Point) {
        self.mark(&format!(
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"5\" fill=\"{INK}\" stroke=\"#ffffff\" stroke-width=\"1.5\"/>"
        ));
    }

    /// White paper under words, so that a line they have to cover does not run through them.
    pub fn paper(&mut self, area: &Area) {
        let (x, y) = (area.left, area.top);
        let (width, height) = (area.right - area.left, area.bottom - area.top);
        self.mark(&format!(
            "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{width:.1}\" height=\"{height:.1}\" fill=\"#ffffff\" fill-opacity=\"0.85\"/>"
        ));
    }
}
