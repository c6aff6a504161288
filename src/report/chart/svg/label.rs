//! Where words go: beside what they name, over nothing else.

use super::draw::{Area, Point, far};

/// Keeps book of what stands where.
#[derive(Debug)]
pub(super) struct Places {
    /// Where words may go.
    pub around: Area,
    /// Words that are there.
    pub taken: Vec<Area>,
    /// Lines, as points.
    pub lines: Vec<Vec<Point>>,
    /// Points that nothing may cover.
    pub points: Vec<Point>,
    /// Thin lines from points to their words, which nothing may cover either.
    pub leaders: Vec<[Point; 2]>,
}

/// A point and the white rim around it.
const POINT: f64 = 7.0;

/// How far a point is from a straight piece of a line.
fn off_piece(point: Point, from: Point, to: Point) -> f64 {
    let (x, y) = (to.0 - from.0, to.1 - from.1);
    let long = x * x + y * y;
    let along = match long > 0.0 {
        true => (((point.0 - from.0) * x + (point.1 - from.1) * y) / long).clamp(0.0, 1.0),
        false => 0.0,
    };
    far((from.0 + along * x, from.1 + along * y), point)
}

/// Whether two straight pieces cross or touch.
fn cross([a, b]: [Point; 2], [c, d]: [Point; 2]) -> bool {
    let side = |from: Point, to: Point, at: Point| {
        (to.0 - from.0) * (at.1 - from.1) - (to.1 - from.1) * (at.0 - from.0)
    };
    side(a, b, c) * side(a, b, d) <= 0.0 && side(c, d, a) * side(c, d, b) <= 0.0
}

impl Places {
    /// Whether words that stand there are seen to belong to the point at `at`: no other is as near.
    pub fn is_own(&self, area: &Area, at: Point) -> bool {
        let own = area.from(at);
        self.others(at).all(|other| area.from(other) > own + POINT)
    }

    /// A straight piece from the rim of the point at `at` to words that stand there; none where it would run through
    /// other words or another point.
    pub fn leader(&self, area: &Area, at: Point) -> Option<[Point; 2]> {
        let end = area.nearest(at);
        let long = area.from(at);
        if long <= POINT {
            return None;
        }
        let rim = POINT / long;
        let start = (at.0 + (end.0 - at.0) * rim, at.1 + (end.1 - at.1) * rim);
        let mut others = self.others(at);
        let free = !self.leaders.iter().any(|piece| cross([start, end], *piece))
            && !self.taken.iter().any(|words| words.is_crossed(start, end))
            && others.all(|other| off_piece(other, start, end) > POINT);
        free.then_some([start, end])
    }

    /// The other points; those at the same place are the same to the eye.
    fn others(&self, at: Point) -> impl Iterator<Item = Point> {
        let points = self.points.iter().copied();
        points.filter(move |point| far(*point, at) >= 1.0)
    }

    /// The best of some places; none where each would cover other words or a point.
    pub fn best(&self, candidates: &[Area]) -> Option<Area> {
        let crossed = |area: &&Area| {
            let pieces = self.lines.iter().flat_map(|line| line.windows(2));
            let crossed = pieces.filter(|piece| area.is_crossed(piece[0], piece[1]));
            crossed.count()
        };
        let is_free = |area: &&Area| {
            area.within(&self.around)
                && !self.taken.iter().any(|other| other.meets(area))
                && self.points.iter().all(|point| area.from(*point) >= POINT)
                && !self
                    .leaders
                    .iter()
                    .any(|[from, to]| area.is_crossed(*from, *to))
        };
        let free = candidates.iter().filter(is_free);
        free.min_by_key(crossed).copied()
    }

    /// The same, taken from now on.
    pub fn take(&mut self, candidates: &[Area]) -> Option<Area> {
        let best = self.best(candidates)?;
        self.taken.push(best);
        Some(best)
    }
}

/// The places of values in ascending order.
fn order_of(values: &[f64]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|one, other| values[*one].total_cmp(&values[*other]));
    order
}

/// Values that lie close, from the lowest up: each within `room` of the first of its row.
pub(super) fn in_rows(values: &[f64], room: f64) -> Vec<Vec<usize>> {
    let mut rows: Vec<Vec<usize>> = Vec::new();
    for index in order_of(values) {
        match rows.last_mut() {
            Some(row) if values[index] - values[row[0]] <= room => row.push(index),
            _ => rows.push(vec![index]),
        }
    }
    rows
}

/// Moves places of given widths along a line so that none overlap, within `from` to `to`, each as near to where it was
/// wanted as the ones before it allow. The order is kept.
pub(super) fn spread(wanted: &[f64], widths: &[f64], from: f64, to: f64) -> Vec<f64> {
    let order = order_of(wanted);
    let mut places = wanted.to_vec();
    let mut free = from;
    for index in &order {
        let half = widths[*index] / 2.0;
        places[*index] = places[*index].max(free + half);
        free = places[*index] + half;
    }
    let mut free = to;
    for index in order.iter().rev() {
        let half = widths[*index] / 2.0;
        places[*index] = places[*index].min(free - half);
        free = places[*index] - half;
    }
    places
}

/// Moves places of one width apart, within `from` to `to`, so that the farthest any of a group moves is least. The order
/// is kept.
pub(super) fn apart(wanted: &[f64], room: f64, from: f64, to: f64) -> Vec<f64> {
    // Groups that stand close: who is in it, and where its first one stands.
    let mut groups: Vec<(Vec<usize>, f64)> = Vec::new();
    for index in order_of(wanted) {
        let mut last = (vec![index], wanted[index]);
        while let Some((before, _)) =
            groups.pop_if(|(before, first)| *first + room * before.len() as f64 > last.1)
        {
            let members = [before, last.0].concat();
            let starts = members.iter().enumerate();
            let starts = starts.map(|(place, one)| wanted[*one] - room * place as f64);
            let low = starts.clone().fold(f64::INFINITY, f64::min);
            let high = starts.fold(f64::NEG_INFINITY, f64::max);
            last = (members, (low + high) / 2.0);
        }
        let most = to - room * last.0.len() as f64;
        last.1 = last.1.min(most).max(from);
        groups.push(last);
    }
    let mut places = wanted.to_vec();
    for (members, first) in groups {
        for (place, index) in members.into_iter().enumerate() {
            places[index] = first + room * place as f64;
        }
    }
    places
}

#[cfg(test)]
mod tests {
    use super::super::draw::Area;
    use super::{Places, apart, spread};

    const fn area(left: f64, right: f64, top: f64, bottom: f64) -> Area {
        Area {
            left,
            right,
            top,
            bottom,
        }
    }

    #[test]
    fn places_that_are_too_near_move_apart() {
        assert_eq!(spread(&[5.0, 6.0], &[4.0, 4.0], 0.0, 100.0), [5.0, 9.0]);
        assert_eq!(spread(&[99.0, 50.0], &[4.0, 4.0], 0.0, 100.0), [98.0, 50.0]);
        assert_eq!(spread(&[99.0, 99.0], &[4.0, 4.0], 0.0, 100.0), [94.0, 98.0]);
        assert_eq!(spread(&[], &[], 0.0, 1.0), [0.0; 0]);
    }

    #[test]
    fn a_group_moves_apart_to_both_sides() {
        assert_eq!(
            apart(&[50.0, 52.0, 90.0], 10.0, 0.0, 100.0),
            [46.0, 56.0, 90.0]
        );
        assert_eq!(
            apart(&[56.0, 50.0, 50.0], 10.0, 0.0, 100.0),
            [63.0, 43.0, 53.0]
        );
        // The third one pushes the two before it.
        assert_eq!(
            apart(&[50.0, 51.0, 52.0], 10.0, 0.0, 100.0),
            [41.0, 51.0, 61.0]
        );
        assert_eq!(apart(&[1.0, 2.0], 10.0, 0.0, 100.0), [0.0, 10.0]);
        assert_eq!(apart(&[99.0], 10.0, 0.0, 100.0), [90.0]);
        assert_eq!(apart(&[], 10.0, 0.0, 1.0), [0.0; 0]);
    }

    #[test]
    fn words_keep_clear_of_words_and_if_possible_of_lines() {
        let mut places = Places {
            around: area(0.0, 100.0, 0.0, 100.0),
            taken: vec![area(0.0, 10.0, 0.0, 10.0)],
            lines: vec![vec![(20.0, 0.0), (20.0, 50.0), (100.0, 50.0)]],
            points: Vec::new(),
            leaders: Vec::new(),
        };
        let over = area(5.0, 15.0, 5.0, 15.0);
        let crossed = area(15.0, 25.0, 0.0, 10.0);
        let clear = area(30.0, 40.0, 0.0, 10.0);
        let outside = area(95.0, 105.0, 0.0, 10.0);
        assert_eq!(places.take(&[over, outside, crossed, clear]), Some(clear));
        assert_eq!(places.take(&[over, outside, crossed, clear]), Some(crossed));
        assert_eq!(places.take(&[over, outside]), None);
    }

    #[test]
    fn words_belong_to_their_point_and_cover_none() {
        let (own, other) = ((50.0, 50.0), (80.0, 50.0));
        let mut places = Places {
            around: area(0.0, 200.0, 0.0, 100.0),
            taken: Vec::new(),
            lines: Vec::new(),
            points: vec![own, other],
            leaders: Vec::new(),
        };
        let beside = area(20.0, 41.0, 40.0, 60.0);
        assert!(places.is_own(&beside, own) && !places.is_own(&beside, other));
        let between = area(60.0, 70.0, 45.0, 55.0);
        assert!(!places.is_own(&between, own), "as near to the other");
        // A piece to words straight behind the other point would run through it.
        let behind = area(100.0, 120.0, 45.0, 55.0);
        assert_eq!(places.leader(&behind, own), None);
        let above = area(45.0, 60.0, 0.0, 10.0);
        assert_eq!(
            places.leader(&above, own),
            Some([(50.0, 43.0), (50.0, 10.0)])
        );
        assert_eq!(places.take(&[area(75.0, 90.0, 40.0, 60.0)]), None);
        // Another thin line in the way, of words and of a thin line.
        places.leaders.push([(40.0, 30.0), (60.0, 30.0)]);
        assert_eq!(places.leader(&above, own), None);
        assert_eq!(places.take(&[area(45.0, 55.0, 25.0, 35.0)]), None);
        places.leaders.clear();
        // Words in the way.
        places.taken.push(area(40.0, 60.0, 20.0, 30.0));
        assert_eq!(places.leader(&above, own), None);
    }
}
