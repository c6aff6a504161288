//! E02: single values.

use super::{Code, Entry, Example};

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        code: Code::WrongType,
        number: "E0201",
        title: "a value of the wrong type",
        explanation: "Each key takes one type of value: a quantity, a whole number, a word, true or false, a list or a \
                      table. Counts and money are written without quotes, values with a unit and names with them.",
        wrong: Example::File("[policy]\nmax_guests = \"40\""),
        mended: Example::File("[policy]\nmax_guests = 40"),
    },
    Entry {
        code: Code::WrongUnit,
        number: "E0202",
        title: "a wrong unit",
        explanation: "The unit does not exist here or measures something else. Upper and lower case count: GB is 10^9 \
                      bytes, GiB is 2^30 bytes, Gbit is 10^9 bits. Months are not a unit, because they differ.",
        wrong: Example::File("[policy]\nservice_life = \"5 GiB\""),
        mended: Example::File("[policy]\nservice_life = \"5 years\""),
    },
    Entry {
        code: Code::OutOfRange,
        number: "E0203",
        title: "a number out of range",
        explanation: "The number is one that the key does not allow; the message says what is allowed. A bare number in \
                      a share is a part of 1, so 8 is 800 %, and 8 % is \"8 %\" or 0.08.",
        wrong: Example::File("[policy]\nmemory_keep_free = \"120 %\""),
        mended: Example::File("[policy]\nmemory_keep_free = \"12 %\""),
    },
    Entry {
        code: Code::NoUnit,
        number: "E0204",
        title: "a number without its unit",
        explanation: "A bare number has more than one reading: 32 could be 32 GiB (2^30 bytes each) or 32 GB (10^9), \
                      which differ by 7 %. Write the unit. Shares, counts, operations per second and money need none.",
        wrong: Example::File("[[guest]]\nname = \"web\"\nmemory = 32"),
        mended: Example::File("[[guest]]\nname = \"web\"\nmemory = \"32 GiB\""),
    },
    Entry {
        code: Code::NotFinite,
        number: "E0205",
        title: "not a finite number",
        explanation: "TOML knows `nan` and `inf`; no quantity of a lab is one of these. Leave a key out to say that it is \
                      no limit.",
        wrong: Example::File("[policy]\ncpu_slowdown = inf"),
        mended: Example::File("[policy]\ncpu_slowdown = 2"),
    },
    Entry {
        code: Code::UnknownWord,
        number: "E0206",
        title: "a word that is no choice",
        explanation: "The key takes one of a few words, in lower case. The message names them.",
        wrong: Example::File("[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\nclone = \"linked\""),
        mended: Example::File("[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\nclone = \"overlay\""),
    },
    Entry {
        code: Code::NotWhole,
        number: "E0207",
        title: "not a whole number",
        explanation: "Cores, threads, vCPUs, devices, modules and guests are counted, and come whole.",
        wrong: Example::File("[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\nvcpus = 1.5"),
        mended: Example::File("[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\nvcpus = 2"),
    },
    Entry {
        code: Code::BadUncertain,
        number: "E0208",
        title: "a wrong uncertain value",
        explanation: "An uncertain value has three numbers of one kind, low ≤ likely ≤ high, each of them allowed by \
                      itself. What hosts, images and guests are can be uncertain; what you accept in `policy` cannot.",
        wrong: Example::File(
            "[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\ntouched = { low = \"900 MiB\", likely = \"600 MiB\", high = \"1 GiB\" }",
        ),
        mended: Example::File(
            "[[guest]]\nname = \"web\"\nmemory = \"2 GiB\"\ntouched = { low = \"500 MiB\", likely = \"600 MiB\", high = \"1 GiB\" }",
        ),
    },
    Entry {
        code: Code::BadName,
        number: "E0209",
        title: "not a name",
        explanation: "Names are printed, and --set finds things by them. A name has 1 to 64 characters, none of them a \
                      line break or another control character.",
        wrong: Example::File("[[guest]]\nname = \"\"\nmemory = \"2 GiB\""),
        mended: Example::File("[[guest]]\nname = \"web\"\nmemory = \"2 GiB\""),
    },
];
