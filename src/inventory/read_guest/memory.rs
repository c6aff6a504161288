//! What a guest holds of its memory: touched ≤ touched_busy ≤ memory, and the parts of it that are shared.

use crate::diagnose::Diagnostic;
use crate::diagnose::ErrorKind;
use crate::inventory::fields::Fields;
use crate::inventory::read::{Given, Number, Reader};
use crate::inventory::relation::{Named, SLACK, held};
use crate::lab::DefaultOrigin::{Derived, Measured};
use crate::lab::Kind;
use crate::unit::parse::Dimension;

/// When the host gives a guest its memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Backing {
    /// As the guest touches it.
    Touched,
    /// All of it at the start: huge pages, or pinned.
    Whole,
}

/// What a guest holds of its memory.
pub(super) struct Memory {
    /// t0, resident when idle and never busy `[B]`.
    pub touched: f64,
    /// t1, resident when busy `[B]`.
    pub touched_busy: f64,
    /// c, equal in every guest of the image `[B]`.
    pub common: f64,
    /// Part of t1 − t0 equal in all lived-in guests of the image `[B]`.
    pub common_busy: f64,
    /// s, pages equal to others inside the guest `[B]`.
    pub repeats: f64,
    /// k.
    pub keeps: f64,
    /// β.
    pub busy_breaks: f64,
}

impl Memory {
    /// Reads it.
    pub fn read<'t>(
        reader: &mut Reader<'t>,
        fields: &Fields<'t>,
        kind: Kind,
        memory: Number,
        backing: Backing,
    ) -> Memory {
        let [touched, touched_busy] = touched(reader, fields, memory, backing);
        let [common, repeats] = shared(reader, fields, touched, backing);
        let (keeps_text, keeps_value) = if kind == Kind::Container {
            ("0 %", 0.0)
        } else {
            ("90 %", 0.9)
        };
        let keeps = by_kind(reader, fields, "keeps", kind, keeps_text, keeps_value);
        let (breaks_text, breaks_value) = if kind == Kind::Container {
            ("0 %", 0.0)
        } else {
            ("31 %", 0.31)
        };
        let busy_breaks = by_kind(
            reader,
            fields,
            "busy_breaks",
            kind,
            breaks_text,
            breaks_value,
        );
        let common_busy = common_busy(reader, fields, keeps, [touched, touched_busy]);
        Memory {
            touched: touched.value,
            touched_busy: touched_busy.value,
            common,
            common_busy,
            repeats,
            keeps,
            busy_breaks,
        }
    }
}

/// A share whose default depends on the kind of guest.
fn by_kind<'t>(
    reader: &mut Reader<'t>,
    fields: &Fields<'t>,
    name: &str,
    kind: Kind,
    text: &str,
    value: f64,
) -> f64 {
    if let Some(given) = reader.number_if_given(fields, name) {
        return given.value;
    }
    let origin = if kind == Kind::Container {
        Derived
    } else {
        Measured
    };
    reader.note_default(fields, name, text, origin);
    value
}

/// touched ≤ touched_busy ≤ memory; a default makes room for a given partner.
fn touched<'t>(
    reader: &mut Reader<'t>,
    fields: &Fields<'t>,
    memory: Number,
    backing: Backing,
) -> [Number; 2] {
    let [idle, busy] = ["touched", "touched_busy"].map(|name| reader.number_if_given(fields, name));
    let memory_named = Named {
        name: "memory",
        number: memory,
    };
    let mut limited = |name, number: Number| {
        let value = reader.at_most(Named { name, number }, memory_named);
        Number { value, ..number }
    };
    let busy = busy.map(|busy| limited("touched_busy", busy));
    let idle = idle.map(|idle| {
        if busy.is_none() {
            limited("touched", idle)
        } else {
            idle
        }
    });
    let idle = match (idle, busy) {
        (Some(idle), Some(busy)) => {
            let (low, high) = (
                Named {
                    name: "touched",
                    number: idle,
                },
                Named {
                    name: "touched_busy",
                    number: busy,
                },
            );
            Number {
                value: reader.at_most(low, high),
                ..idle
            }
        }
        (Some(idle), None) => idle,
        (None, _) => {
            let default = if backing == Backing::Whole {
                memory.value
            } else {
                0.4 * memory.value
            };
            let most = busy.map_or(memory.value, |busy| busy.value);
            note_memory(
                reader,
                fields,
                "touched",
                backing,
                &held(default, most, "at most", "touched_busy"),
            );
            Number::following(default.min(most), memory)
        }
    };
    let busy = busy.unwrap_or_else(|| {
        note_memory(reader, fields, "touched_busy", backing, "");
        let default = if backing == Backing::Whole {
            memory.value
        } else {
            0.97 * memory.value
        };
        Number::following(default.max(idle.value), memory)
    });
    [idle, busy]
}

/// common + repeats ≤ touched; a default makes room for a given partner.
fn shared<'t>(
    reader: &mut Reader<'t>,
    fields: &Fields<'t>,
    touched: Number,
    backing: Backing,
) -> [f64; 2] {
    let bytes = |number: Number| match number.dimension {
        Dimension::Share => number.value * touched.value,
        _ => number.value,
    };
    let [common, repeats] = ["common", "repeats"].map(|name| reader.number_if_given(fields, name));
    let given = |number: Option<Number>| number.map_or(0.0, bytes);
    let sum = given(common) + given(repeats);
    let right = |number: Option<Number>| number.is_none_or(|number| number.is_given());
    if sum > touched.value * (1.0 + SLACK)
        && right(common)
        && right(repeats)
        && touched.given != Given::Broken
    {
        let place = |name| fields.node(name).map(|node| node.place);
        let names = match (common, repeats) {
            (Some(_), Some(_)) => "`common` and `repeats` together",
            (Some(_), None) => "`common`",
            _ => "`repeats`",
        };
        let without = if touched.is_given() {
            ""
        } else {
            ", which is 40 % of memory if left out"
        };
        let error = Diagnostic::new(
            ErrorKind::PartExceedsWhole,
            format!("{names} must be at most `touched`{without}, but more is given"),
        )
        .at_any(place("common").or(place("repeats")), "a part of `touched`")
        .at_any(place("common").and(place("repeats")), "another part of it")
        .at_any(place("touched"), "`touched`")
        .hint("both are parts of what the guest holds when idle; lower them, or raise `touched`");
        reader.report(error);
    }
    let defaults = if backing == Backing::Whole {
        [0.0, 0.0]
    } else {
        [0.2 * touched.value, 0.1 * touched.value]
    };
    let mut fill =
        |name: &str, mine: Option<Number>, partner: Option<Number>, default: f64, other: &str| {
            match mine {
                Some(number) => bytes(number),
                None => {
                    let room = (touched.value - given(partner)).max(0.0);
                    note_memory(
                        reader,
                        fields,
                        name,
                        backing,
                        &held(default, room, "what is left beside", other),
                    );
                    default.min(room)
                }
            }
        };
    let common_bytes = fill("common", common, repeats, defaults[0], "repeats").min(touched.value);
    let repeats_bytes = fill("repeats", repeats, common, defaults[1], "common");
    [
        common_bytes,
        repeats_bytes.min(touched.value - common_bytes).max(0.0),
    ]
}

/// Writes down a default that is different for guests whose memory is taken from the start.
fn note_memory<'t>(
    reader: &mut Reader<'t>,
    fields: &Fields<'t>,
    name: &str,
    backing: Backing,
    held: &str,
) {
    if backing == Backing::Whole {
        let text = if name.starts_with("touched") {
            "all of memory, taken from the start"
        } else {
            "0 B, nothing is shared"
        };
        reader.note_default(fields, name, text, Derived);
    } else {
        reader.note_rule(fields, name, held);
    }
}

/// `common_busy`, at most what a busy spell leaves behind.
fn common_busy<'t>(
    reader: &mut Reader<'t>,
    fields: &Fields<'t>,
    keeps: f64,
    touched: [Number; 2],
) -> f64 {
    let [idle, busy] = touched;
    let left = (keeps * (busy.value - idle.value)).max(0.0);
    let number = reader.number(fields, "common_busy");
    let judged = number.is_given() && touched.iter().all(|touched| touched.given != Given::Broken);
    if judged && number.value > left * (1.0 + SLACK) {
        let place = |name| fields.node(name).map(|node| node.place);
        let message = "`common_busy` must be at most keeps · (touched_busy − touched), what a busy spell leaves behind";
        let error = Diagnostic::new(ErrorKind::PartExceedsWhole, message)
            .at_any(place("common_busy"), "more than a busy spell leaves behind")
            .at_any(place("touched"), "`touched`")
            .at_any(place("touched_busy"), "`touched_busy`")
            .hint("lower it, or raise `touched_busy`");
        reader.report(error);
    }
    number.value.min(left)
}
