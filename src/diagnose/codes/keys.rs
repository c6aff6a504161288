//! E03: keys and names.

use super::{Code, Entry, Example};

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        code: Code::UnknownKey,
        number: "E0301",
        title: "an unknown key",
        explanation: "A key that is not known could only be ignored, and a mistyped limit that is ignored is dangerous. \
                      The message names the likely key, or the table that the key belongs in.",
        wrong: Example::File("[policy]\nmemory_riks = \"1 %\""),
        mended: Example::File("[policy]\nmemory_risk = \"1 %\""),
    },
    Entry {
        code: Code::MissingKey,
        number: "E0302",
        title: "a key is missing",
        explanation: "Only the name of a thing and what cannot be guessed has to be given; this is one of them.",
        wrong: Example::File("[[guest]]\nname = \"web\""),
        mended: Example::File("[[guest]]\nname = \"web\"\nmemory = \"2 GiB\""),
    },
    Entry {
        code: Code::SaidTwice,
        number: "E0303",
        title: "said twice",
        explanation: "Two hosts, images, guests or pools of one host have the same name, or one key is given twice, \
                      in one file or in two that are read together. Both places are shown.",
        wrong: Example::File(
            "[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\n\n[[guest]]\nname = \"web\"\nmemory = \"4 GiB\"",
        ),
        mended: Example::File(
            "[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\n\n[[guest]]\nname = \"web-large\"\nmemory = \"4 GiB\"",
        ),
    },
    Entry {
        code: Code::NothingThere,
        number: "E0304",
        title: "no host or no guest",
        explanation: "There is a question only where something should run on something: at least one [[host]] with \
                      cores and memory, and at least one [[guest]] with memory.",
        wrong: Example::File("guest = []"),
        mended: Example::File("[[guest]]\nname = \"web\"\nmemory = \"2 GiB\""),
    },
];
