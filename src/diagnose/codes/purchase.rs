//! E08: what the commands about a purchase were asked for.

use super::{Code, Entry, Example};

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        code: Code::BadNeed,
        number: "E0801",
        title: "`--need` cannot be read",
        explanation: "Guests that must run are named with how many of each: a name, `=`, a whole number, and a comma before the next.",
        wrong: Example::Told("berthage compare lab.toml --need \"web:40\""),
        mended: Example::Told("berthage compare lab.toml --need \"web=40,build=6\""),
    },
    Entry {
        code: Code::UnknownNeed,
        number: "E0802",
        title: "`--need` names no guest",
        explanation: "The lab has no guest profile of that name. Names are compared letter by letter, upper and lower case apart.",
        wrong: Example::Told(
            "berthage fleet lab.toml --need \"webb=4\", where the lab has only \"web\"",
        ),
        mended: Example::Told("berthage fleet lab.toml --need \"web=4\""),
    },
    Entry {
        code: Code::NothingToPlace,
        number: "E0803",
        title: "there is no guest to place",
        explanation: "`fleet` places a given set of guests: those with a `count` in the lab and those that `--need` names. Guests with a share \
                  are a mix without a number.",
        wrong: Example::Told("berthage fleet lab.toml, where no guest has a count"),
        mended: Example::Told("berthage fleet lab.toml --need \"web=40\""),
    },
    Entry {
        code: Code::TooManySpare,
        number: "E0804",
        title: "more hosts may fail than can be looked at",
        explanation: "Every set of hosts that may fail together is looked at, and at least one host must be left.",
        wrong: Example::Told("berthage fleet lab.toml --spare 3, where the lab has 3 hosts"),
        mended: Example::Told("berthage fleet lab.toml --spare 1"),
    },
];
