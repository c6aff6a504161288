//! Words beside points and on limits.

use super::draw::{Area, Drawing, END, GREY, NUMBERS, Pen, Point, START, pen, width};
use super::label::Places;

/// The area of words whose base line starts at a place.
fn area_of(words: &str, at: Point) -> Area {
    let right = at.0 + width(words, NUMBERS) + 3.0;
    Area::new([at.0 - 3.0, right], [at.1 - 15.0, at.1 + 4.0])
}

/// The first free of some places for words, if there is one; words that find none are left out, their number stands
/// elsewhere.
fn put(
    drawing: &mut Drawing,
    words: &str,
    candidates: &[Area],
    at: Point,
    places: &mut Places,
) -> bool {
    let Some(area) = places.take(candidates) else {
        return false;
    };
    drawing.paper(&area);
    // Fonts are narrower than what is planned for them, so words end where they face their point.
    let (x, style) = match area.right < at.0 {
        true => (area.right - 3.0, END),
        false => (area.left + 3.0, START),
    };
    drawing.text(words, (x, area.bottom - 4.0), NUMBERS, style);
    true
}

/// How far from their point words stand that a thin line leads to, nearest first.
const RINGS: [f64; 7] = [26.0, 44.0, 66.0, 92.0, 122.0, 156.0, 194.0];
/// Directions that are tried on each ring.
const WAYS: u32 = 24;
const LEADER: Pen = pen(GREY, "", 1.2);

/// Words beside a point, where no other point is as near; else farther off, with a thin line that leads to them.
pub(super) fn beside(drawing: &mut Drawing, words: &str, at: Point, places: &mut Places) {
    let long = width(words, NUMBERS);
    let near = [
        (at.0 + 9.0, at.1 - 8.0),
        (at.0 - 9.0 - long, at.1 - 8.0),
        (at.0 + 9.0, at.1 + 19.0),
        (at.0 - 9.0 - long, at.1 + 19.0),
        (at.0 + 12.0, at.1 + 5.5),
        (at.0 - 12.0 - long, at.1 + 5.5),
        (at.0 - long / 2.0, at.1 - 12.0),
        (at.0 - long / 2.0, at.1 + 24.0),
    ];
    let near = near.into_iter().map(|place| area_of(words, place));
    let near: Vec<Area> = near.filter(|area| places.is_own(area, at)).collect();
    if put(drawing, words, &near, at, places) {
        return;
    }
    for ring in RINGS {
        let ways = (0..WAYS).map(|way| std::f64::consts::TAU * f64::from(way) / f64::from(WAYS));
        let far = ways.map(|angle| {
            let (x, y) = (at.0 + ring * angle.cos(), at.1 - ring * angle.sin());
            // The side of the words that faces the point lies on the ring.
            let left = x - long * (1.0 - angle.cos()) / 2.0;
            area_of(words, (left, y + 5.5))
        });
        let far: Vec<Area> = far
            .filter(|area| places.leader(area, at).is_some())
            .collect();
        let Some(place) = places.best(&far) else {
            continue;
        };
        // Asked before the words stand there, because they would be in its way.
        let leader = places.leader(&place, at);
        put(drawing, words, &[place], at, places);
        if let Some(piece) = leader {
            drawing.line(&piece, LEADER);
            places.leaders.push(piece);
        }
        return;
    }
}

/// The name of a limit on its line, from left to right where there is room.
pub(super) fn level_name(drawing: &mut Drawing, words: &str, y: f64, places: &mut Places) {
    let (left, right) = (places.around.left + 8.0, places.around.right);
    let room = right - left - width(words, NUMBERS) - 4.0;
    let steps = 12;
    let x = |step| left + room * f64::from(step) / f64::from(steps);
    let of_row = |y| (0..=steps).map(move |step| area_of(words, (x(step), y)));
    let candidates: Vec<Area> = [y - 6.0, y + 18.0].into_iter().flat_map(of_row).collect();
    put(drawing, words, &candidates, (left, y), places);
}
