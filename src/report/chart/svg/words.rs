//! Words beside points and on limits.

use std::fmt;

use super::draw::{Anchor, GREY, Pen, Text, line, paper, text, width};
use super::frame::NUMBERS;
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
    candidates: &[Area],
    at: (f64, f64),
    places: &mut Places,
) -> Result<Option<Area>, fmt::Error> {
    let Some(area) = places.take(candidates) else {
        return Ok(None);
    };
    paper(out, &area)?;
    // Fonts are narrower than what is planned for them, so words end where they face their point.
    let how = if area.right < at.0 {
        Text::new((area.right - 3.0, area.bottom - 4.0), NUMBERS).anchored(Anchor::End)
    } else {
        Text::new((area.left + 3.0, area.bottom - 4.0), NUMBERS)
    };
    text(out, words, &how)?;
    Ok(Some(area))
}

/// How far from their point words stand that a thin line leads to, nearest first.
const RINGS: [f64; 7] = [26.0, 44.0, 66.0, 92.0, 122.0, 156.0, 194.0];
/// Directions that are tried on each ring.
const WAYS: u32 = 24;
const LEADER: Pen = Pen {
    color: GREY,
    dashes: "",
    width: 1.2,
};

/// Words beside a point, where no other point is as near; else farther off, with a thin line that leads to them.
pub(super) fn beside(
    out: &mut String,
    words: &str,
    at: (f64, f64),
    places: &mut Places,
) -> fmt::Result {
    let long = width(words, NUMBERS);
    let near: Vec<Area> = [
        (at.0 + 9.0, at.1 - 8.0),
        (at.0 - 9.0 - long, at.1 - 8.0),
        (at.0 + 9.0, at.1 + 19.0),
        (at.0 - 9.0 - long, at.1 + 19.0),
        (at.0 + 12.0, at.1 + 5.5),
        (at.0 - 12.0 - long, at.1 + 5.5),
        (at.0 - long / 2.0, at.1 - 12.0),
        (at.0 - long / 2.0, at.1 + 24.0),
    ]
    .map(|place| area_of(words, place))
    .into_iter()
    .filter(|area| places.is_own(area, at))
    .collect();
    if put(out, words, &near, at, places)?.is_some() {
        return Ok(());
    }
    for ring in RINGS {
        let far: Vec<Area> = (0..WAYS)
            .map(|way| std::f64::consts::TAU * f64::from(way) / f64::from(WAYS))
            .map(|angle| {
                let (x, y) = (at.0 + ring * angle.cos(), at.1 - ring * angle.sin());
                // The side of the words that faces the point lies on the ring.
                let left = x - long * (1.0 - angle.cos()) / 2.0;
                area_of(words, (left, y + 5.5))
            })
            .filter(|area| places.leader(area, at).is_some())
            .collect();
        let Some(place) = places.best(&far) else {
            continue;
        };
        // Asked before the words stand there, because they would be in its way.
        let leader = places.leader(&place, at);
        put(out, words, &[place], at, places)?;
        if let Some(piece) = leader {
            line(out, &piece, LEADER)?;
            places.leaders.push(piece);
        }
        return Ok(());
    }
    Ok(())
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
    let candidates: Vec<Area> = [y - 6.0, y + 18.0]
        .into_iter()
        .flat_map(|y| {
            (0..=steps).map(move |step| (left + room * f64::from(step) / f64::from(steps), y))
        })
        .map(|place| area_of(words, place))
        .collect();
    put(out, words, &candidates, (left, y), places).map(|_| ())
}
