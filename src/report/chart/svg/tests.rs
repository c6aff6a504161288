//! Pictures that any viewer takes.

use super::render;
use crate::report::chart::{Chart, Level, Mark, Measure, Panel, Series, Shape};

fn chart(name: &str) -> Chart {
    let line = |name: &str, slope: f64| Series {
        name: name.to_owned(),
        points: (0..=10)
            .map(|x| (f64::from(x), slope * f64::from(x)))
            .collect(),
        shape: Shape::Line,
    };
    let rule = Series {
        name: "fits 7".to_owned(),
        points: vec![(7.0, 0.0)],
        shape: Shape::Upright,
    };
    Chart {
        title: format!("Title {name}"),
        alt: format!("What {name} shows"),
        x_label: "guests".to_owned(),
        x: Measure::Count,
        panels: vec![Panel {
            y_label: "load".to_owned(),
            y: Measure::Share,
            weight: 2,
            at_least: 1.0,
            series: vec![line(name, 0.1), line("other", 0.05), rule],
            band: None,
            levels: vec![Level {
                name: "safe limit".to_owned(),
                y: 0.7,
            }],
            marks: vec![Mark {
                at: (7.0, 0.7),
                text: "here".to_owned(),
            }],
        }],
    }
}

#[test]
fn names_cannot_break_the_picture() {
    let picture = render(&chart("<script>&\"'\u{1b}"));
    assert!(!picture.contains("<script>") && !picture.contains('\u{1b}'));
    assert!(picture.contains("&lt;script&gt;&amp;"));
    assert_eq!(picture.matches("<svg").count(), 1);
    assert!(picture.ends_with("</svg>\n"));
}

#[test]
fn what_it_shows_is_said_in_words() {
    let picture = render(&chart("web"));
    for words in [
        "Title web",
        "What web shows",
        "guests",
        "load",
        "safe limit",
        "fits 7",
        "here",
        "other",
    ] {
        assert!(picture.contains(words), "{words}");
    }
}

#[test]
fn every_number_is_finite_and_lies_in_the_picture() {
    let picture = render(&chart("web"));
    assert!(!picture.contains("NaN") && !picture.contains("inf"));
    for piece in picture.split(" x=\"").skip(1) {
        let x: f64 = piece
            .split('"')
            .next()
            .and_then(|x| x.parse().ok())
            .expect("a number");
        assert!((0.0..=960.0).contains(&x), "{x}");
    }
}

#[test]
fn an_empty_chart_is_a_picture_too() {
    let mut empty = chart("web");
    empty.panels[0].series.clear();
    assert!(render(&empty).ends_with("</svg>\n"));
    empty.panels.clear();
    assert!(render(&empty).ends_with("</svg>\n"));
}
