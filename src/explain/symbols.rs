//! What the letters of the formulas stand for, each tied to its inventory key.
//!
//! The laws keep the letters of their papers, and papers share letters: k is what a guest keeps in the laws of memory and
//! the number of devices in those of disks. So every section says its own, once until the letter changes its meaning.

use std::collections::{BTreeMap, BTreeSet};

use super::answer::{Letters, Section, Symbol};

const PROFILE: (&str, &str) = ("n", "guests of one profile that run");
const SCALING: (&str, &str) = (
    "N",
    "guests that are multiplied, whole sets where every guest has a count",
);

const SUM: (&str, &str) = ("Σ", "the sum over profiles, modules or core groups");
/// The bracket distinguishes it from the letter P, the pages of a pass.
const CHANCE: (&str, &str) = ("P(…)", "the chance of what is in the brackets");

/// Guests in memory, page sharing, the cliff.
pub(super) const MEMORY: Letters = &[
    SCALING,
    PROFILE,
    ("b", "guests of one profile that are busy"),
    SUM,
    CHANCE,
    ("t0", "guest.touched"),
    ("t1", "guest.touched_busy"),
    ("k", "guest.keeps"),
    ("s", "guest.repeats"),
    ("o", "guest.overhead"),
    ("β", "guest.busy_breaks"),
    ("P", "pages visited in a pass"),
    ("S", "speed of the scanner"),
    ("w", "pages that the scanner visits per wake"),
    ("L", "host.merging.users_per_copy"),
    ("z", "host.memory.compressed_swap"),
    ("q", "host.memory.compressed_swap_ratio"),
    ("keep_free", "policy.memory_keep_free"),
    ("risk", "policy.memory_risk"),
];

/// What is accepted.
pub(super) const RISK: Letters = &[
    CHANCE,
    ("r", "policy.correlation"),
    ("Φ", "the standard normal distribution"),
];

/// Pools of disks.
pub(super) const DISK: Letters = &[
    PROFILE,
    SCALING,
    SUM,
    CHANCE,
    ("k", "host.disk.devices"),
    ("t", "time from now"),
    ("risk", "policy.slow_risk"),
];

/// Everything else that only gets slow.
pub(super) const SOFT: Letters = &[
    PROFILE,
    SCALING,
    SUM,
    CHANCE,
    ("risk", "policy.slow_risk"),
    ("A", "offered load of the hardware threads"),
    ("K", "vCPUs of all guests"),
    (
        "p_n",
        "chance of n bursts that run or wait; all add up to 1",
    ),
    ("s", "policy.cpu_slice"),
    ("Z", "mean pause between two bursts of a vCPU"),
];

/// Explains in every section the letters that its formulas have and that nothing before has explained: no section, and no step that
/// is called by the letter.
pub(super) fn explain_letters(sections: &mut [Section]) {
    let mut known = BTreeMap::new();
    for section in sections {
        let steps = section.steps.iter();
        let own: BTreeSet<&str> = steps
            .filter_map(|step| Some(step.name.split_once(',')?.0))
            .collect();
        for &(symbol, stands_for) in section.letters {
            let is_there = section.steps.iter().any(|step| has(&step.formula, symbol));
            let is_step = own.contains(symbol);
            if is_there && !is_step && known.insert(symbol, stands_for) != Some(stands_for) {
                section.symbols.push(Symbol { symbol, stands_for });
            }
        }
    }
}

/// Whether a formula has a symbol as a word of its own, or as a function before its brackets.
fn has(formula: &str, symbol: &str) -> bool {
    if symbol == CHANCE.0 {
        return formula.contains("P(");
    }
    formula
        .replace("P(", "(")
        .split(|letter: char| !letter.is_alphanumeric() && letter != '_' && letter != '\'')
        .any(|word| word == symbol)
}

#[cfg(test)]
mod tests {
    use super::has;

    #[test]
    fn a_symbol_is_a_word_of_its_own() {
        assert!(has("t0 + k·(t1 − t0)", "k"));
        assert!(has("1/(1 + T·(visits − ½)/x)", "visits"));
        assert!(has("P(demand > x) ≤ risk", "P(…)"));
        assert!(!has("P/S", "P(…)"));
        assert!(!has("the same as memory's own count", "s"));
        assert!(!has("keeps·disk_used", "k"));
        assert!(!has("t0·disk_used", "used"));
    }
}
