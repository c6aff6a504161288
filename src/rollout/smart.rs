//! Smart scan: on which passes a page that never merged is visited.

/// Whether smart scan visits a page that never merged on its `pass`-th pass, counted from 1.
///
/// Passes 1, 2, 3, 4, 6, 9, 14, 23, 32, then every 9th: 41, 50, …
///
/// # Source
/// Linux mm/ksm.c since 6.7 (`should_skip_rmap_item`, `skip_age`).
///
/// # Example
/// ```
/// use berthage::rollout::due;
/// let visited: Vec<u32> = (1..=50).filter(|pass| due(*pass)).collect();
/// assert_eq!(visited, [1, 2, 3, 4, 6, 9, 14, 23, 32, 41, 50]);
/// ```
#[must_use]
pub fn due(pass: u32) -> bool {
    matches!(pass, 1..=4 | 6 | 9) || (pass >= 14 && (pass - 14).is_multiple_of(9))
}
