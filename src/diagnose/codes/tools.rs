//! E09: what the program writes for you.

use super::{Code, Entry, Example};

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        code: Code::FileThere,
        number: "E0901",
        title: "a file that is there would be replaced",
        explanation: "`new` writes a lab to start from and does not write over one that somebody may have worked on. \
                  With `--force` it does.",
        wrong: Example::Told("berthage new lab.toml, where lab.toml is there"),
        mended: Example::Told("berthage new other.toml"),
    },
    Entry {
        code: Code::NotAPicture,
        number: "E0902",
        title: "a picture that is none by its name",
        explanation: "`--chart` draws SVG, which every browser and wiki shows. A file with another ending would be taken \
                      for something it is not.",
        wrong: Example::Told("berthage fit lab.toml --chart load.png"),
        mended: Example::Told("berthage fit lab.toml --chart load.svg"),
    },
];
