//! The laws as they are stated in `laws.txt`.

use std::collections::BTreeMap;
use std::sync::LazyLock;

/// The text of all laws.
const TEXT: &str = include_str!("laws.txt");
/// What is said where a number has no bound.
const NO_BOUND: &str = "no bound";

static LAWS: LazyLock<BTreeMap<&str, Law>> =
    LazyLock::new(|| TEXT.split("\n== ").skip(1).filter_map(entry).collect());

/// A law as it is stated; {} is replaced by the name of the host, guest, pool or resource.
pub(super) struct Law {
    /// Where the answer of `fit` has the number.
    pub(super) key: Option<&'static str>,
    pub(super) name: &'static str,
    pub(super) unit: &'static str,
    /// What is said in place of a number.
    pub(super) without: &'static str,
    pub(super) formula: &'static str,
    pub(super) source: &'static str,
    /// Inputs that decide how the number is computed: keys by owner, "host: merging.mode; guests: busy".
    pub(super) inputs: &'static str,
}

/// The law of this name.
pub(super) fn law(id: &str) -> &'static Law {
    LAWS.get(id)
        .unwrap_or_else(|| unreachable!("laws.txt does not state {id:?}"))
}

fn entry(text: &'static str) -> Option<(&'static str, Law)> {
    let mut lines = text.lines();
    let id = lines.next()?;
    let place = id.split(", ").next()?;
    let (name, unit) = lines.next()?.strip_suffix(']')?.rsplit_once(" [")?;
    let (unit, without) = unit.split_once(", ").unwrap_or((unit, NO_BOUND));
    let law = Law {
        key: (!place.contains(' ')).then_some(place),
        name,
        unit,
        without,
        formula: lines.next()?,
        source: lines.next()?,
        inputs: lines.next().unwrap_or_default(),
    };
    Some((id, law))
}

#[cfg(test)]
mod tests {
    use super::{LAWS, TEXT};

    #[test]
    fn every_entry_is_read_and_names_its_own_law() {
        assert_eq!(LAWS.len(), TEXT.matches("\n== ").count());
        for (id, law) in LAWS.iter() {
            assert!(!law.name.is_empty() && !law.formula.is_empty(), "{id}");
            assert!(law.inputs.is_empty() || law.inputs.contains(": "), "{id}");
        }
    }
}
