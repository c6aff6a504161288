//! A picture before any markup: panels over one axis, lines, steps, limits and labelled points.
//!
//! `svg` draws it for a page, `terminal::plot` in characters; both say what the words in it say and nothing by colour
//! alone.

pub mod calibrate;
pub mod compare;
pub mod fit;
pub mod growth;
mod parts;
pub mod rollout;
pub mod svg;

use crate::unit::format;

/// A picture of panels above one another that share the horizontal axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// Title.
    pub title: String,
    /// What a person who cannot see it is told.
    pub alt: String,
    /// Name of the horizontal axis.
    pub x_label: String,
    /// What the horizontal axis measures.
    pub x: Measure,
    /// Panels from top to bottom.
    pub panels: Vec<Panel>,
}

/// One panel.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Name of the vertical axis.
    pub y_label: String,
    /// What the vertical axis measures.
    pub y: Measure,
    /// Height of the panel against the others.
    pub weight: u32,
    /// The vertical axis reaches at least this far.
    pub at_least: f64,
    /// Lines, the most important first.
    pub series: Vec<Series>,
    /// What lies behind the lines.
    pub band: Option<Band>,
    /// Horizontal limits.
    pub levels: Vec<Level>,
    /// Labelled points.
    pub marks: Vec<Mark>,
}

/// A band between two lines.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// Name.
    pub name: String,
    /// Its lower and its upper edge.
    pub edges: [Series; 2],
}

/// A line.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// Name; empty where the axis says it all.
    pub name: String,
    /// (x, y) in the order of x.
    pub points: Vec<(f64, f64)>,
    /// How points are joined.
    pub shape: Shape,
}

/// How points are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Straight from point to point.
    Line,
    /// Held until the next point.
    Steps,
    /// No line from point to point, but a rule from bottom to top at each; the name stands on top of it.
    Upright,
}

/// A horizontal limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// Name.
    pub name: String,
    /// Where.
    pub y: f64,
}

/// A labelled point.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Where.
    pub at: (f64, f64),
    /// What it says.
    pub text: String,
}

/// What an axis measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// Seconds, shown as a person tells time.
    Time,
    /// Shares of one.
    Share,
    /// Whole things.
    Count,
    /// Per second.
    Rate,
    /// Sizes in memory.
    Bytes,
}

impl Measure {
    /// A value on the axis.
    pub fn text(self, value: f64) -> String {
        match self {
            Measure::Time if value == 0.0 => "0".to_owned(),
            Measure::Time => format::seconds(value),
            Measure::Share => format::share(value),
            Measure::Count => format::number(value),
            Measure::Rate => format!("{}/s", format::number(value)),
            Measure::Bytes if value == 0.0 => "0".to_owned(),
            Measure::Bytes => format::bytes(value),
        }
    }

    /// What stands at the ticks: times in the unit of their step, so that 20 min, 40 min go on with 60 min.
    pub fn labels(self, ticks: &[f64]) -> Vec<String> {
        const UNITS: [(f64, &str, &str); 3] = [
            (86_400.0, "day", "days"),
            (3_600.0, "h", "h"),
            (60.0, "min", "min"),
        ];
        let step = ticks.get(1).copied().unwrap_or(0.0);
        let mut units = UNITS.into_iter();
        let unit = units.find(|(size, _, _)| step >= *size && step % size == 0.0);
        let label = |tick: &f64| match (self, unit) {
            (Measure::Time, Some((size, one, many))) if *tick > 0.0 => {
                format::numbered(tick / size, one, many)
            }
            _ => self.text(*tick),
        };
        ticks.iter().map(label).collect()
    }

    /// Steps that are easy to read on the axis, in ascending order within a decade or a turn of the clock.
    fn steps(self) -> &'static [f64] {
        match self {
            Measure::Time => &[
                1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1200.0, 1800.0, 3600.0,
                7200.0, 14_400.0, 21_600.0, 43_200.0, 86_400.0,
            ],
            Measure::Share | Measure::Count | Measure::Rate => &[1.0, 2.0, 5.0],
            Measure::Bytes => &[1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 128.0, 256.0, 512.0],
        }
    }

    /// Places of ticks from 0 to `end`, at most `most` of them beside 0.
    pub fn ticks(self, end: f64, most: usize) -> Vec<f64> {
        if !(end > 0.0 && end.is_finite()) || most == 0 {
            return vec![0.0];
        }
        let rough = end / most as f64;
        // The unit of the steps, how far a step may fall short, and the step where none of them is long enough.
        let (unit, slack, beyond) = match self {
            Measure::Time if rough >= 1.0 => {
                let days = (rough / 86_400.0).log10().ceil();
                (1.0, 0.0, 86_400.0 * 10f64.powf(days))
            }
            Measure::Bytes => {
                let unit = 1024f64.powf(rough.max(1.0).log(1024.0).floor());
                (unit, 1e-9, 1024.0 * unit)
            }
            _ => {
                let decade = 10f64.powf(rough.log10().floor());
                (decade, 1e-9, 10.0 * decade)
            }
        };
        let mut steps = self.steps().iter().map(|step| step * unit);
        let step = steps.find(|step| *step >= rough * (1.0 - slack));
        let step = match step.unwrap_or(beyond) {
            step if self == Measure::Count => step.max(1.0),
            step => step,
        };
        let count = (end / step * (1.0 + 1e-9)).floor() as usize;
        if count == 0 && most < 8 {
            // An axis with nothing but 0 on it says nothing: finer steps.
            return self.ticks(end, most + 1);
        }
        (0..=count).map(|tick| tick as f64 * step).collect()
    }
}

impl Series {
    /// A line by its name and points.
    pub fn new(
        name: impl Into<String>,
        shape: Shape,
        points: impl IntoIterator<Item = (f64, f64)>,
    ) -> Self {
        Self {
            name: name.into(),
            points: points.into_iter().collect(),
            shape,
        }
    }

    /// A rule from bottom to top.
    pub fn rule(name: impl Into<String>, x: f64) -> Self {
        Self::new(name, Shape::Upright, [(x, 0.0)])
    }

    /// Value at x; none before the first point and after the last.
    pub fn at(&self, x: f64) -> Option<f64> {
        let after = self.points.partition_point(|(px, _)| *px <= x);
        let before = self.points[..after].last()?;
        match (self.shape, self.points.get(after)) {
            (Shape::Upright, _) => None,
            (_, None) => (x <= before.0).then_some(before.1),
            (Shape::Steps, Some(_)) => Some(before.1),
            (Shape::Line, Some(next)) => {
                let part = (x - before.0) / (next.0 - before.0);
                Some(before.1 + part * (next.1 - before.1))
            }
        }
    }
}

impl Level {
    /// A limit by its name.
    pub fn new(name: impl Into<String>, y: f64) -> Self {
        Self {
            name: name.into(),
            y,
        }
    }
}

impl Panel {
    /// A panel of weight 1 with lines only.
    pub fn of(y_label: impl Into<String>, y: Measure, series: Vec<Series>) -> Self {
        Self {
            y_label: y_label.into(),
            y,
            weight: 1,
            at_least: 0.0,
            series,
            band: None,
            levels: Vec::new(),
            marks: Vec::new(),
        }
    }

    /// The series that are drawn from point to point.
    pub fn lines(&self) -> impl Iterator<Item = &Series> {
        let series = self.series.iter();
        series.filter(|series| series.shape != Shape::Upright)
    }

    /// The series that are rules from bottom to top.
    pub fn uprights(&self) -> impl Iterator<Item = &Series> {
        let series = self.series.iter();
        series.filter(|series| series.shape == Shape::Upright)
    }

    /// Where the vertical axis ends: a little above everything drawn.
    pub fn y_end(&self) -> f64 {
        let points = self.lines().flat_map(|series| &series.points);
        let all = points
            .map(|(_, y)| *y)
            .chain(self.levels.iter().map(|level| level.y))
            .chain([self.at_least]);
        let top = all.filter(|y| y.is_finite()).fold(0.0, f64::max);
        if top > 0.0 { top * 1.06 } else { 1.0 }
    }
}

/// The letter of the line of that number.
pub fn letter(index: usize) -> char {
    char::from(b'a' + (index % 26) as u8)
}

impl Chart {
    /// Largest x of all points.
    pub fn x_end(&self) -> f64 {
        let series = self.panels.iter().flat_map(|panel| &panel.series);
        let points = series.flat_map(|series| &series.points);
        points.map(|(x, _)| *x).fold(0.0, f64::max)
    }
}

#[cfg(test)]
mod tests {
    use super::{Measure, Series, Shape};

    #[test]
    fn ticks_are_easy_to_read() {
        assert_eq!(
            Measure::Time.ticks(3600.0, 6),
            [0.0, 600.0, 1200.0, 1800.0, 2400.0, 3000.0, 3600.0]
        );
        assert_eq!(Measure::Share.ticks(1.06, 5), [0.0, 0.5, 1.0]);
        assert_eq!(Measure::Count.ticks(3.0, 10), [0.0, 1.0, 2.0, 3.0]);
        assert_eq!(Measure::Rate.ticks(0.0, 5), [0.0]);
        assert_eq!(Measure::Count.ticks(f64::NAN, 5), [0.0]);
    }

    #[test]
    fn times_on_an_axis_share_one_unit() {
        let labels = |end, most| Measure::Time.labels(&Measure::Time.ticks(end, most));
        assert_eq!(
            labels(6_000.0, 5),
            ["0", "20 min", "40 min", "60 min", "80 min", "100 min"]
        );
        assert_eq!(
            labels(50.0, 5),
            ["0", "10 s", "20 s", "30 s", "40 s", "50 s"]
        );
        assert_eq!(labels(7_200.0, 2), ["0", "1 h", "2 h"]);
        assert_eq!(
            labels(90_000.0, 4),
            ["0", "12 h", "24 h"],
            "not half a day among hours"
        );
        assert_eq!(labels(172_800.0, 2), ["0", "1 day", "2 days"]);
        assert_eq!(Measure::Time.labels(&[0.0]), ["0"]);
        assert_eq!(Measure::Count.labels(&[0.0, 3_600.0]), ["0", "3,600"]);
    }

    #[test]
    fn values_between_points() {
        let points = vec![(0.0, 1.0), (10.0, 3.0)];
        let line = Series::new("", Shape::Line, points.clone());
        let steps = Series::new("", Shape::Steps, points);
        assert_eq!((line.at(5.0), steps.at(5.0)), (Some(2.0), Some(1.0)));
        assert_eq!((line.at(10.0), steps.at(10.0)), (Some(3.0), Some(3.0)));
        assert_eq!((line.at(-1.0), line.at(11.0)), (None, None));
    }
}
