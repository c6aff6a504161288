//! The same guests as containers, alone and with a purchase beside it.

use super::bench::{Bench, Held, further_host};
use super::parts::{Part, as_containers};
use super::{Choice, combine, rank};
use crate::lab::Lab;
use crate::sizing::host::HostModel;
use crate::sizing::lowest::Hint;

const CHANGE: &str = "run the same guests as containers";
const NOTE: &str = "Counted with the memory that the machines hold, without what runs a machine; a container shares the \
                    host's kernel, and guests with a passed-through device or huge pages stay machines.";

/// Rows of the guests as containers, where any could be: what that holds by itself, which costs nothing but work, and
/// with it each purchase that holds more than both it and the purchase alone.
///
/// `machines` are the rows of each part of `kinds`, in their order, with the guests as they are. With a budget, several
/// purchases at once too, of those that hold more than anything that costs no more.
pub(super) fn rows(
    base: &Lab,
    now: &Held,
    kinds: &[Vec<Part>],
    budget: Option<f64>,
    machines: &[Choice],
) -> Vec<Choice> {
    let Some(lab) = as_containers(base) else {
        return Vec::new();
    };
    let bench = Bench {
        lab: &lab,
        hint: Hint::of(&HostModel::new(&lab, &lab.hosts[0])),
        alone: further_host(&lab),
    };
    let alone = bench.choice(&[], now);
    let parts = kinds.iter().flatten().zip(machines);
    let mut with: Vec<Choice> = parts
        .map(|(part, machine)| (bench.choice(std::slice::from_ref(part), now), machine))
        .filter(|(row, machine)| rank(row.largest) > rank(machine.largest).max(rank(alone.largest)))
        .map(|(row, _)| row)
        .collect();
    let mut singles = machines.to_vec();
    singles.push(alone.clone());
    with = combine::unbeaten(with, &singles, alone.largest);
    if let Some(budget) = budget {
        singles.extend(with.iter().cloned());
        let several = combine::all(&bench, now, kinds, budget);
        with.extend(combine::unbeaten(several, &singles, alone.largest));
    }
    with.insert(0, alone);
    for row in &mut with {
        row.change = match row.change.as_str() {
            "" => CHANGE.to_owned(),
            bought => format!("{CHANGE}, {bought}"),
        };
        row.note = Some(match &row.note {
            Some(note) => format!("{NOTE} {note}"),
            None => NOTE.to_owned(),
        });
        row.containers = true;
    }
    with
}
