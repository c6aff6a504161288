//! A few of many: the first ones all, the later ones at growing distances.

/// At most so many of the numbers below `length`: all where they are few, else the first half of `most`, and the others
/// at distances that grow with the number, the last one among them.
pub(super) fn spread(length: usize, most: usize) -> impl Iterator<Item = usize> {
    let all = length.min(most);
    // Of what is thinned the first half is kept as it is.
    let dense = if length > most { most / 2 } else { all };
    let (first, last) = (dense.max(1) as f64, length.saturating_sub(1) as f64);
    let steps = (all - dense) as f64;
    let mut next = 0;
    (0..all).map(move |index| {
        let further = (index + 1).saturating_sub(dense) as f64;
        let at = first * (last / first).powf(further / steps.max(1.0));
        let at = if index < dense {
            index
        } else {
            at.round() as usize
        };
        let found = at.max(next).min(length - 1);
        next = found + 1;
        found
    })
}

/// At most so many of the numbers from 1 to `last`, as [`spread`].
pub(super) fn spread_to(last: usize, most: usize) -> impl Iterator<Item = usize> {
    spread(last, most).map(|index| index + 1)
}

#[cfg(test)]
mod tests {
    use super::{spread, spread_to};

    #[test]
    fn few_are_all_there_and_of_many_the_first_and_the_last() {
        let few: Vec<usize> = spread(7, 10).collect();
        assert_eq!(few, [0, 1, 2, 3, 4, 5, 6]);
        assert_eq!(spread(0, 10).count(), 0);
        for (length, most) in [(11, 10), (100, 10), (1_000_000, 48), (3, 2), (1000, 999)] {
            let found: Vec<usize> = spread(length, most).collect();
            assert_eq!(found.len(), most, "{length} {most}");
            assert!(found.is_sorted_by(|one, next| one < next), "{found:?}");
            assert!(found.starts_with(&(0..most / 2).collect::<Vec<_>>()));
            assert_eq!(found.last(), Some(&(length - 1)), "{found:?}");
        }
        assert_eq!(spread_to(3, 5).collect::<Vec<_>>(), [1, 2, 3]);
    }
}
