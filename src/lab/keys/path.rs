//! Key paths: `guest.web.memory`, `host."shelf a".disk.pool.devices`.

use std::ops::Range;

/// Makes a path one step longer; the step is quoted where a bare key could not hold it.
pub fn push_step(path: &mut String, step: &str) {
    if !path.is_empty() {
        path.push('.');
    }
    if !step.is_empty() && step.bytes().all(is_bare) {
        path.push_str(step);
        return;
    }
    path.push('"');
    for letter in step.chars() {
        if matches!(letter, '"' | '\\') {
            path.push('\\');
        }
        path.push(letter);
    }
    path.push('"');
}

/// The path of these steps, as [`crate::lab::Lab::origins`] holds it.
///
/// # Example
/// ```
/// use berthage::lab::key_path;
/// assert_eq!(key_path(&["guest", "web.1", "memory"]), "guest.\"web.1\".memory");
/// ```
pub fn key_path(steps: &[&str]) -> String {
    let mut path = String::new();
    for step in steps {
        push_step(&mut path, step);
    }
    path
}

/// One step of a path.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PathStep {
    /// The word, quotes taken off.
    pub word: String,
    /// Where it was written, with its quotes.
    pub at: Range<usize>,
}

/// Reads the dotted path that a text begins with, up to an `=` or its end: its steps and where it ends.
///
/// A step is a bare key or a text in single or double quotes, as in TOML; in double quotes `\"` and `\\` stand for the
/// letter behind the backslash. None where that is no path.
pub fn read_path(text: &str) -> Option<(Vec<PathStep>, usize)> {
    let mut steps = Vec::new();
    let mut at = 0;
    loop {
        at += blanks(&text[at..]);
        let (word, length) = read_step(&text[at..])?;
        steps.push(PathStep {
            word,
            at: at..at + length,
        });
        at += length;
        at += blanks(&text[at..]);
        match text[at..].chars().next() {
            Some('.') => at += 1,
            None | Some('=') => return Some((steps, at)),
            Some(_) => return None,
        }
    }
}

/// The word that a text begins with, and how long it is as written.
fn read_step(text: &str) -> Option<(String, usize)> {
    let quote = text
        .chars()
        .next()
        .filter(|letter| matches!(letter, '"' | '\''));
    let Some(quote) = quote else {
        let length = text.bytes().take_while(|byte| is_bare(*byte)).count();
        return (length > 0).then(|| (text[..length].to_owned(), length));
    };
    let mut word = String::new();
    let mut letters = text.char_indices().skip(1);
    loop {
        match letters.next()? {
            (at, letter) if letter == quote => return Some((word, at + 1)),
            (_, '\\') if quote == '"' => {
                let (_, letter) = letters.next()?;
                word.push(Some(letter).filter(|letter| matches!(letter, '"' | '\\'))?);
            }
            (_, letter) if letter.is_control() => return None,
            (_, letter) => word.push(letter),
        }
    }
}

fn blanks(text: &str) -> usize {
    text.len() - text.trim_start_matches([' ', '\t']).len()
}

/// Whether a key without quotes may hold that letter.
fn is_bare(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || byte == b'-' || byte == b'_'
}

/// The words of a path that [`key_path`] made; none of what is no path.
///
/// # Example
/// ```
/// use berthage::lab::key_steps;
/// assert_eq!(key_steps("guest.\"web.1\".memory"), ["guest", "web.1", "memory"]);
/// ```
pub fn key_steps(path: &str) -> Vec<String> {
    let (steps, _) = read_path(path).unwrap_or_default();
    steps.into_iter().map(|step| step.word).collect()
}

#[cfg(test)]
mod tests {
    use super::{key_path, key_steps, read_path};

    fn words(path: &str) -> Option<Vec<String>> {
        let (steps, end) = read_path(path)?;
        assert_eq!(end, path.len());
        Some(steps.into_iter().map(|step| step.word).collect())
    }

    #[test]
    fn paths_are_dotted_keys() {
        let some = |list: &[&str]| Some(list.iter().map(ToString::to_string).collect::<Vec<_>>());
        assert_eq!(words("guest.web.memory"), some(&["guest", "web", "memory"]));
        assert_eq!(
            words("guest . \"a.b\".memory"),
            some(&["guest", "a.b", "memory"])
        );
        assert_eq!(words("host.'x y'.price"), some(&["host", "x y", "price"]));
        for wrong in [
            "", ".", "a.", "a..b", "a b", "a.\"b", "a\nb", "[a]", "größe",
        ] {
            assert_eq!(words(wrong), None, "{wrong:?}");
        }
    }

    #[test]
    fn what_is_joined_is_read_back() {
        for name in [
            "web",
            "a.b",
            "x y",
            "q\"uote",
            "back\\slash",
            "a=b",
            "",
            "größe",
        ] {
            let path = key_path(&["guest", name, "memory"]);
            assert_eq!(key_steps(&path), ["guest", name, "memory"], "{path}");
        }
    }

    #[test]
    fn a_path_ends_at_an_equals_sign_outside_quotes() {
        for (text, end) in [
            ("a.b=1", 3),
            ("a.\"x=y\".b=1", 9),
            ("a.\"x\\\"=y\".b=1", 11),
        ] {
            assert_eq!(read_path(text).map(|(_, end)| end), Some(end), "{text}");
        }
    }
}
