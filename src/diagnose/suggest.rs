//! What a mistyped word was likely meant to be.

/// The candidate closest to `word`, if it is close enough to be a likely slip.
///
/// Close enough is one edit in three letters, a swap of neighbours counting once; case and the choice between `-`
/// and `_` do not count. Ties go to the candidate first in the list.
pub fn closest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // Longer words are no slip of any key or name, and the distance is quadratic in the length.
    const LONGEST: usize = 64;
    if word.is_empty() || word.len() > LONGEST {
        return None;
    }
    let plain = |text: &str| text.to_lowercase().replace('-', "_");
    let wanted = plain(word);
    let allowed = (wanted.chars().count() / 3).clamp(1, 4);
    candidates
        .into_iter()
        .filter(|candidate| candidate.len() <= LONGEST)
        .map(|candidate| {
            (
                strsim::damerau_levenshtein(&wanted, &plain(candidate)),
                candidate,
            )
        })
        .filter(|(distance, candidate)| {
            *distance <= allowed && *distance < candidate.chars().count()
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

/// Words in a row for a sentence: `a`, `b` or `c`, each in backticks; after `most` of them the rest is counted.
pub fn list<'a>(words: impl IntoIterator<Item = &'a str>, most: usize) -> String {
    let words: Vec<&str> = words.into_iter().collect();
    let shown: Vec<String> = words
        .iter()
        .take(most)
        .map(|word| format!("`{word}`"))
        .collect();
    match (shown.split_last(), words.len() - shown.len()) {
        (None, _) => "none".to_owned(),
        (Some((only, [])), 0) => only.clone(),
        (Some((last, rest)), 0) => format!("{} or {last}", rest.join(", ")),
        (Some(_), left_off) => format!("{} and {left_off} more", shown.join(", ")),
    }
}
