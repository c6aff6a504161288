//! Key paths: `guest.web.memory`, `host."shelf a".disk.pool.devices`.

use toml::de::{DeTable, DeValue};

use super::tree::Base;
use crate::diagnose::source::Place;

/// One part of a key path and where it was written.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Step {
    /// The word, without quotes.
    pub word: String,
    /// Where it was written.
    pub place: Place,
}

/// The steps of a path as written; none if it is no dotted key.
pub(super) fn steps(path: &str, base: Base) -> Option<Vec<Step>> {
    // A dotted key is TOML already, so TOML reads it; a table header or a comment would be, too.
    if path.contains(char::is_control) || path.trim_start().starts_with(['[', '#']) {
        return None;
    }
    let line = format!("{path}=0");
    let parsed = DeTable::parse(&line).ok()?;
    let mut steps = Vec::new();
    let mut table = parsed.get_ref();
    loop {
        let mut entries = table.iter();
        let (Some((key, value)), None) = (entries.next(), entries.next()) else {
            return None;
        };
        steps.push(Step {
            word: key.get_ref().to_string(),
            place: base.place(key.span()),
        });
        match value.get_ref() {
            DeValue::Table(inner) => table = inner,
            DeValue::Integer(_) => return Some(steps),
            _ => return None,
        }
    }
}

/// A path one step longer; the step is quoted where a bare key could not hold it.
pub(super) fn join(path: &str, step: &str) -> String {
    let bare = |byte: u8| byte.is_ascii_alphanumeric() || byte == b'-' || byte == b'_';
    let mut joined = String::with_capacity(path.len() + step.len() + 1);
    joined.push_str(path);
    if !path.is_empty() {
        joined.push('.');
    }
    if !step.is_empty() && step.bytes().all(bare) {
        joined.push_str(step);
    } else {
        joined.push('"');
        for letter in step.chars() {
            if matches!(letter, '"' | '\\') {
                joined.push('\\');
            }
            joined.push(letter);
        }
        joined.push('"');
    }
    joined
}

/// The path of these steps, as [`crate::lab::Lab::origins`] holds it.
///
/// # Example
/// ```
/// use berthage::inventory::key_path;
/// assert_eq!(key_path(&["guest", "web.1", "memory"]), "guest.\"web.1\".memory");
/// ```
pub fn key_path(steps: &[&str]) -> String {
    steps
        .iter()
        .fold(String::new(), |path, step| join(&path, step))
}

/// The steps of a path that [`key_path`] made, quotes taken off.
///
/// # Example
/// ```
/// use berthage::inventory::key_steps;
/// assert_eq!(key_steps("guest.\"web.1\".memory"), ["guest", "web.1", "memory"]);
/// ```
pub fn key_steps(path: &str) -> Vec<String> {
    let mut steps = vec![String::new()];
    let (mut quoted, mut escaped) = (false, false);
    for letter in path.chars() {
        let step = steps.len() - 1;
        match letter {
            _ if escaped => {
                steps[step].push(letter);
                escaped = false;
            }
            '\\' if quoted => escaped = true,
            '"' => quoted = !quoted,
            '.' if !quoted => steps.push(String::new()),
            _ => steps[step].push(letter),
        }
    }
    steps
}

/// Where the path of a `PATH=VALUE` ends: the first `=` outside quotes.
pub(super) fn equals_sign(argument: &str) -> Option<usize> {
    let mut quote = None;
    let mut escaped = false;
    for (at, letter) in argument.char_indices() {
        match (quote, letter) {
            (Some('"'), '\\') if !escaped => {
                escaped = true;
                continue;
            }
            (Some(open), _) if open == letter && !escaped => quote = None,
            (None, '"' | '\'') => quote = Some(letter),
            (None, '=') => return Some(at),
            _ => {}
        }
        escaped = false;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::{Base, equals_sign, join, steps};

    fn words(path: &str) -> Option<Vec<String>> {
        let steps = steps(
            path,
            Base {
                source: 0,
                offset: 0,
            },
        )?;
        Some(steps.into_iter().map(|step| step.word).collect())
    }

    #[test]
    fn paths_are_dotted_keys() {
        let some = |list: &[&str]| Some(list.iter().map(ToString::to_string).collect::<Vec<_>>());
        assert_eq!(words("guest.web.memory"), some(&["guest", "web", "memory"]));
        assert_eq!(
            words("guest.\"a.b\".memory"),
            some(&["guest", "a.b", "memory"])
        );
        assert_eq!(words("host.'x y'.price"), some(&["host", "x y", "price"]));
        for wrong in ["", ".", "a..b", "a b", "a=1\nb", "[a]\nb"] {
            assert_eq!(words(wrong), None, "{wrong:?}");
        }
    }

    #[test]
    fn what_is_joined_is_read_back() {
        for name in ["web", "a.b", "x y", "q\"uote", "back\\slash", "", "größe"] {
            let path = join(&join("guest", name), "memory");
            assert_eq!(
                words(&path),
                Some(vec!["guest".into(), name.into(), "memory".into()]),
                "{path}"
            );
        }
    }

    #[test]
    fn the_equals_sign_may_be_quoted() {
        assert_eq!(equals_sign("a.b=1"), Some(3));
        assert_eq!(equals_sign("a.\"x=y\".b=1"), Some(9));
        assert_eq!(equals_sign("a.\"x\\\"=y\".b=1"), Some(11));
        assert_eq!(equals_sign("a.b"), None);
    }
}
