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
    use super::{Base, equals_sign, steps};
    use crate::lab::key_path;

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
            let path = key_path(&["guest", name, "memory"]);
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
