//! Words beside points and on limits.

use std::fmt;

use super::NUMBERS;
use super::draw::{Text, paper, text, width};
use super::label::{Area, Places};

/// The area of words whose base line starts at a place.
fn area_of(words: &str, at: (f64, f64)) -> Area {
    Area {
        left: at.0 - 3.0,
        right: at.0 + width(words, NUMBERS) + 3.0,
        top: at.1 - 15.0,
        bottom: at.1 + 4.0,
    }
}

/// The first free of some places for words; words that find none are left out, their number stands elsewhere.
fn put(
    out: &mut String,
    words: &str,
    candidates: &[(f64, f64)],
    places: &mut Places,
) -> fmt::Result {
    let areas: Vec<Area> = candidates.iter().map(|at| area_of(words, *at)).collect();
    let Some(area) = places.take(&areas) else {
        return Ok(());
    };
    paper(out, &area)?;
    text(
        out,
        words,
        &Text::new((area.left + 3.0, area.bottom - 4.0), NUMBERS),
    )
}

/// Words beside a point.
pub(super) fn beside(
    out: &mut String,
    words: &str,
    at: (f64, f64),
    places: &mut Places,
) -> fmt::Result {
    let long = width(words, NUMBERS);
    let candidates = [
        (at.0 + 9.0, at.1 - 7.0),
        (at.0 - 9.0 - long, at.1 - 7.0),
        (at.0 + 9.0, at.1 + 19.0),
        (at.0 - 9.0 - long, at.1 + 19.0),
        (at.0 - long / 2.0, at.1 - 12.0),
        (at.0 - long / 2.0, at.1 + 24.0),
        (at.0 + 9.0, at.1 - 26.0),
        (at.0 - 9.0 - long, at.1 - 26.0),
    ];
    put(out, words, &candidates, places)
}

/// The name of a limit on its line, from left to right where there is room.
pub(super) fn level_name(
    out: &mut String,
    words: &str,
    y: f64,
    places: &mut Places,
) -> fmt::Result {
    let (left, right) = (places.around.left + 8.0, places.around.right);
    let room = right - left - width(words, NUMBERS) - 4.0;
    let steps = 12;
    let candidates: Vec<(f64, f64)> = [y - 6.0, y + 18.0]
        .into_iter()
        .flat_map(|y| {
            (0..=steps).map(move |step| (left + room * f64::from(step) / f64::from(steps), y))
        })
        .collect();
    put(out, words, &candidates, places)
}
