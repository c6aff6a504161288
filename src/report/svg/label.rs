//! Where words go: beside what they name, over nothing else.

/// A rectangle in the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Area {
    pub left: f64,
    pub right: f64,
    pub top: f64,
    pub bottom: f64,
}

impl Area {
    fn meets(&self, other: &Area) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    fn within(&self, outer: &Area) -> bool {
        self.left >= outer.left
            && self.right <= outer.right
            && self.top >= outer.top
            && self.bottom <= outer.bottom
    }

    /// Whether a straight piece of a line runs through it.
    fn is_crossed(&self, from: (f64, f64), to: (f64, f64)) -> bool {
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

/// Keeps book of what stands where.
#[derive(Debug)]
pub(super) struct Places {
    /// Where words may go.
    pub around: Area,
    /// Words that are there.
    pub taken: Vec<Area>,
    /// Lines, as points.
    pub lines: Vec<Vec<(f64, f64)>>,
}

impl Places {
    /// The best of some places; none where each would cover other words.
    pub fn take(&mut self, candidates: &[Area]) -> Option<Area> {
        let crossed = |area: &Area| {
            let pieces = self.lines.iter().flat_map(|line| line.windows(2));
            pieces
                .filter(|piece| area.is_crossed(piece[0], piece[1]))
                .count()
        };
        let best = candidates
            .iter()
            .filter(|area| area.within(&self.around))
            .filter(|area| !self.taken.iter().any(|other| other.meets(area)))
            .min_by_key(|area| crossed(area))
            .copied()?;
        self.taken.push(best);
        Some(best)
    }
}

/// Moves places of given widths along a line so that none overlap, within `from` to `to`, each as near to where it was
/// wanted as the ones before it allow. The order is kept.
pub(super) fn spread(wanted: &[f64], widths: &[f64], from: f64, to: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|a, b| wanted[*a].total_cmp(&wanted[*b]));
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

#[cfg(test)]
mod tests {
    use super::{Area, Places, spread};

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
    fn words_keep_clear_of_words_and_if_possible_of_lines() {
        let mut places = Places {
            around: area(0.0, 100.0, 0.0, 100.0),
            taken: vec![area(0.0, 10.0, 0.0, 10.0)],
            lines: vec![vec![(20.0, 0.0), (20.0, 50.0), (100.0, 50.0)]],
        };
        let over = area(5.0, 15.0, 5.0, 15.0);
        let crossed = area(15.0, 25.0, 0.0, 10.0);
        let clear = area(30.0, 40.0, 0.0, 10.0);
        let outside = area(95.0, 105.0, 0.0, 10.0);
        assert_eq!(places.take(&[over, outside, crossed, clear]), Some(clear));
        assert_eq!(places.take(&[over, outside, crossed, clear]), Some(crossed));
        assert_eq!(places.take(&[over, outside]), None);
    }
}
