//! In which order guests start.

use crate::sizing::composition::Composition;

/// Profiles of the guests in the order they start: fixed guests first, then one scaling guest (or set) after another.
///
/// The mix is split by a house-monotone method, so the count of each profile only grows along the list.
pub(super) fn start_order(composition: &Composition, n: u64) -> Vec<usize> {
    let mut order = Vec::new();
    let mut before = vec![0; composition.counts(0).len()];
    for step in 0..=n {
        let counts = composition.counts(step);
        for (profile, (now, then)) in counts.iter().zip(&before).enumerate() {
            order.extend(std::iter::repeat_n(
                profile,
                now.saturating_sub(*then) as usize,
            ));
        }
        before = counts;
    }
    order
}

/// The profiles of the first `guests` guests that start, the mix being multiplied as often as that takes.
pub(super) fn first_guests(composition: &Composition, guests: u64) -> Vec<usize> {
    // Every step of N adds at least one guest unless the mix is empty.
    let mut order = start_order(
        composition,
        guests.saturating_sub(composition.counts(0).iter().sum()),
    );
    order.truncate(usize::try_from(guests).unwrap_or(usize::MAX));
    order
}
