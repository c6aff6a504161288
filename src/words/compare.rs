//! The comparison of hosts in words.

use super::name::label;
use crate::sizing::answer::HostAnswer;
use crate::unit::format;

/// What is considered on some hosts and not on others: their counts are then not of the same kind.
#[must_use]
pub fn not_alike(hosts: &[HostAnswer]) -> Option<String> {
    let base = |name: &str| name.split(':').next().unwrap_or(name).to_owned();
    let limits = |host: &HostAnswer| -> Vec<String> {
        host.resources.iter().map(|one| base(&one.name)).collect()
    };
    let anywhere: Vec<String> = hosts.iter().flat_map(limits).collect();
    let lacking: Vec<String> = hosts
        .iter()
        .filter_map(|host| {
            let mut lacks: Vec<String> = Vec::new();
            for name in host.not_considered.iter().map(|name| base(name)) {
                if anywhere.contains(&name) && !lacks.contains(&name) {
                    lacks.push(name);
                }
            }
            (!lacks.is_empty()).then(|| {
                let labels: Vec<String> = lacks.iter().map(|name| label(name)).collect();
                format!("{} ({})", host.name, labels.join(", "))
            })
        })
        .collect();
    (!lacking.is_empty()).then(|| {
        format!(
            "Not considered on some hosts and considered on others, so that their counts are not of the same kind: {}.",
            format::listed(&lacking)
        )
    })
}

/// How many values were guessed, and where they are listed.
#[must_use]
pub fn guessed(hosts: &[HostAnswer]) -> String {
    let counts: Vec<String> = hosts
        .iter()
        .map(|host| {
            let guessed = format::plural(host.guesses.len() as u64, "value", "values");
            format!("{guessed} for {}", host.name)
        })
        .collect();
    format!(
        "Guessed, because nobody gave them: {} (`fit` lists them).",
        format::listed(&counts)
    )
}
