//! E06: what a command was asked for, and where its report goes.

use super::{Code, Entry, Example};

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        code: Code::UnknownHost,
        number: "E0601",
        title: "`--host` names no host",
        explanation: "The lab has no host of that name. Names are compared letter by letter, upper and lower case apart.",
        wrong: Example::Told(
            "berthage fit lab.toml --host shelf-b, where the lab has only \"shelf-a\"",
        ),
        mended: Example::Told("berthage fit lab.toml --host shelf-a"),
    },
    Entry {
        code: Code::TooFewHosts,
        number: "E0602",
        title: "too few hosts to compare",
        explanation: "`compare` sets hosts side by side and needs two or more, and with --old one besides the old one. `fit` answers for one.",
        wrong: Example::Told("berthage compare lab.toml, where the lab has one [[host]]"),
        mended: Example::Told("berthage fit lab.toml"),
    },
    Entry {
        code: Code::CannotWrite,
        number: "E0603",
        title: "the report cannot be written",
        explanation: "The file of `--output` or the standard output did not take the report. A file is written beside \
                      its place and then moved there, so what stood there before is still whole.",
        wrong: Example::Told("berthage fit lab.toml --output missing-folder/log.md"),
        mended: Example::Told("berthage fit lab.toml --output log.md"),
    },
    Entry {
        code: Code::UnknownCode,
        number: "E0604",
        title: "no such error code",
        explanation: "`explain` takes an inventory, or a code as an error message prints it.",
        wrong: Example::Told("berthage explain E9999"),
        mended: Example::Told("berthage explain E0203"),
    },
    Entry {
        code: Code::OneHost,
        number: "E0605",
        title: "which host is meant",
        explanation: "The command answers for one host, and the lab has several. Name one with `--host`.",
        wrong: Example::Told("berthage rollout lab.toml, where the lab has two hosts"),
        mended: Example::Told("berthage rollout lab.toml --host shelf-a"),
    },
    Entry {
        code: Code::BadOption,
        number: "E0606",
        title: "an option's value cannot be read",
        explanation: "Values on the command line are written like those in a file, with their unit; the space before the \
                      unit is optional.",
        wrong: Example::Told("berthage rollout lab.toml --wait 5"),
        mended: Example::Told("berthage rollout lab.toml --wait 5min"),
    },
];
