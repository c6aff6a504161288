//! Purchases in words: what is done, what it takes out, what to know about it.

use std::fmt::{self, Display, Formatter};

use serde::{Serialize, Serializer};

use super::caution::written_as_text;
use crate::purchase::upgrade::change::{Action, Change, Changes, Note, Notes, Replaced};
use crate::unit::format;

written_as_text!(Changes, Replaced);

impl Display for Changes {
    fn fmt(&self, f: &mut Formatter) -> fmt::Result {
        let all: Vec<String> = self.0.iter().map(change).collect();
        f.write_str(&all.join(", "))
    }
}

/// "memory: 2 × 32 GiB (replaces 2 × 16 GiB)".
fn change(change: &Change) -> String {
    let action = match &change.action {
        Action::Containers => "run the same guests as containers".to_owned(),
        Action::Modules { bought, .. } => {
            let bought = bought.iter();
            let modules = bought.map(|(size, number)| modules(*number, *size));
            format!("memory: {}", modules.collect::<Vec<_>>().join(" and "))
        }
        Action::MoreDevices { name, more, .. } => format!(
            "{name}: {} more of the same",
            format::plural(*more, "device", "devices")
        ),
        Action::LargerDevices {
            name,
            devices: number,
            capacity,
            ..
        } => format!("{name}: {}", devices(*number, *capacity)),
        Action::Link { speed, .. } => format!("link: {}", format::bit_rate(*speed)),
        Action::MoreHosts(more) => format!(
            "{} of the kind",
            format::plural(*more, "more host", "more hosts")
        ),
    };
    let replaced: Vec<String> = change.replaced().iter().map(Replaced::to_string).collect();
    if replaced.is_empty() {
        action
    } else {
        format!("{action} (replaces {})", replaced.join(" and "))
    }
}

impl Display for Replaced {
    fn fmt(&self, f: &mut Formatter) -> fmt::Result {
        f.write_str(&match self {
            Replaced::Modules { number, size } => modules(*number, *size),
            Replaced::Devices { number, capacity } => devices(*number, *capacity),
            Replaced::Link(speed) => format::bit_rate(*speed),
        })
    }
}

fn modules(number: usize, size: f64) -> String {
    format!("{number} × {}", format::bytes(size))
}

fn devices(number: u64, capacity: f64) -> String {
    format!("{number} × {}", format::decimal_bytes(capacity))
}

impl Display for Note {
    fn fmt(&self, f: &mut Formatter) -> fmt::Result {
        f.write_str(match self {
            Note::Containers => {
                "Counted with the memory that the machines hold, without what runs a machine; a container shares the \
                 host's kernel, and guests with a passed-through device or huge pages stay machines."
            }
            Note::AllSlotsTaken => {
                "All memory slots are taken, so what is bought takes the place of the smallest modules."
            }
            Note::TooFewSlotsFree => {
                "Fewer memory slots are free than are needed, so the smallest modules come out."
            }
            Note::SlotsUnknown => {
                "The lab does not say how many memory slots there are, so all are taken to be full: give `slots` if \
                 some are free."
            }
            Note::UnpairedModule => {
                "A module that nothing matches comes out: modules work in pairs."
            }
            Note::LargerDevices => {
                "Larger devices are counted with the speed and rated writes of those they replace, and as new."
            }
            Note::NoPoolPrice => {
                "The pool has no price in the lab, so its worth cannot be ranked."
            }
            Note::NoHostPrice => {
                "The host has no price in the lab, so its worth cannot be ranked."
            }
        })
    }
}

/// The notes in a row; nothing where there is none.
impl Serialize for Notes {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let notes: Vec<String> = self.0.iter().map(Note::to_string).collect();
        (!notes.is_empty())
            .then(|| notes.join(" "))
            .serialize(serializer)
    }
}
