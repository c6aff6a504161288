//! E01: files.

use super::{Code, Entry, Example};

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        code: Code::Unreadable,
        number: "E0101",
        title: "a file cannot be read",
        explanation: "The file named on the command line or in `include` is not there, or you may not read it. \
                      A path in `include` starts at the file it stands in, not at the directory you work in.",
        wrong: Example::File("include = [\"no-such-guests.toml\"]"),
        mended: Example::File("include = []"),
    },
    Entry {
        code: Code::Directory,
        number: "E0102",
        title: "a directory in place of a file",
        explanation: "An inventory is one file, which may include others. Name the file in the directory.",
        wrong: Example::File("include = [\".\"]"),
        mended: Example::File("include = []"),
    },
    Entry {
        code: Code::NotText,
        number: "E0103",
        title: "not UTF-8 text",
        explanation: "An inventory is TOML, and TOML is UTF-8. The message says which byte is none. \
                      Save the file as UTF-8, or check that it is the right file.",
        wrong: Example::Told("a file with the byte 0xFF"),
        mended: Example::Told("the same file saved as UTF-8"),
    },
    Entry {
        code: Code::TooLarge,
        number: "E0104",
        title: "a file is too large",
        explanation: "A file may have 16 MiB, which is room for tens of thousands of hosts. \
                      Split a longer one with `include`.",
        wrong: Example::Told("a file of 17 MiB"),
        mended: Example::Told("two files of 8.5 MiB, one including the other"),
    },
    Entry {
        code: Code::IncludeLoop,
        number: "E0105",
        title: "files include each other",
        explanation: "A file includes itself, directly or through others, or files are included more than 32 deep. \
                      A file that two others include is read once and is no error.",
        wrong: Example::File("include = [\"lab.toml\"]  # in lab.toml itself"),
        mended: Example::File("include = []"),
    },
    Entry {
        code: Code::Syntax,
        number: "E0106",
        title: "not TOML",
        explanation: "The text does not follow the TOML format. Mend these errors first: what the values say is looked \
                      at only in a text that can be read as a whole. Texts and values with units need quotes.",
        wrong: Example::File("[policy]\nservice_life = 5 years"),
        mended: Example::File("[policy]\nservice_life = \"5 years\""),
    },
];
