//! E07: readings of a running host, and surveys.

use super::{Code, Entry, Example};

pub(super) const ENTRIES: &[Entry] = &[
    Entry {
        code: Code::NoTable,
        number: "E0701",
        title: "readings that are no table",
        explanation: "Readings are a text file in UTF-8: one line of headings, then one line a reading, with commas, \
                      semicolons or tabs between the cells and as many cells in each line as there are headings.",
        wrong: Example::Told("guests,memory_used\n10,24.1 GiB,yes"),
        mended: Example::Told("guests,memory_used,settled\n10,24.1 GiB,yes"),
    },
    Entry {
        code: Code::BadHeading,
        number: "E0702",
        title: "a heading is missing, unknown or given twice",
        explanation: "`guests` and `memory_used` have to be there. A heading close to a known one is taken for a slip; \
                      one that is like none is left alone, and the report names it.",
        wrong: Example::Told("guests,memory_usd"),
        mended: Example::Told("guests,memory_used"),
    },
    Entry {
        code: Code::BadCell,
        number: "E0703",
        title: "a cell that cannot be read",
        explanation: "`guests` is a whole number. `memory_used` is a share (78 %, 0.78) or a size with its unit \
                      (61.2 GiB); a bare number of 16,777,216 or more is taken as bytes. `settled` is yes, no or unknown.",
        wrong: Example::Told("guests,memory_used\n10,78"),
        mended: Example::Told("guests,memory_used\n10,78 %"),
    },
    Entry {
        code: Code::DecimalComma,
        number: "E0704",
        title: "a comma in a number",
        explanation: "In 1,024 the comma may be a decimal comma or set off thousands, which differ by a thousand. Write \
                      decimals with a point, and thousands without a mark. Spreadsheets have a setting for it.",
        wrong: Example::Told("guests;memory_used\n10;78,5 %"),
        mended: Example::Told("guests;memory_used\n10;78.5 %"),
    },
    Entry {
        code: Code::TooFewReadings,
        number: "E0705",
        title: "too few readings",
        explanation: "What a guest holds needs at least one settled reading, or a reading right before and one right \
                      after a batch of guests was started. Two settled readings at different counts tell the guest \
                      from the host; a step tells what a fresh guest touches. The message says what to take next.",
        wrong: Example::Told("guests,memory_used,settled\n10,40 %,unknown"),
        mended: Example::Told("guests,memory_used,settled\n10,40 %,yes\n20,61 %,yes"),
    },
    Entry {
        code: Code::Contradiction,
        number: "E0706",
        title: "readings that contradict one another",
        explanation: "No guest has all the properties that these readings ask for: more guests that hold less, a fresh \
                      guest that is smaller than what a settled one keeps for itself, more memory than there is. The \
                      message names the readings. Often one was taken in another state than its `settled` says.",
        wrong: Example::Told("guests,memory_used,settled\n10,60 %,yes\n20,40 %,yes"),
        mended: Example::Told("guests,memory_used,settled\n10,40 %,yes\n20,60 %,yes"),
    },
    Entry {
        code: Code::UnknownGuest,
        number: "E0707",
        title: "`--guest` names no guest that can be calibrated",
        explanation: "The readings count clones of one guest profile of the lab. Containers, pinned guests and guests \
                      from reserved huge pages hold what they are given or share files in another way, so readings of \
                      the host's memory tell nothing new of them.",
        wrong: Example::Told("berthage calibrate lab.toml readings.csv --guest wep"),
        mended: Example::Told("berthage calibrate lab.toml readings.csv --guest web"),
    },
    Entry {
        code: Code::WouldReplace,
        number: "E0708",
        title: "`--write` would replace a file",
        explanation: "A file of that name is there already. Nothing was written.",
        wrong: Example::Told("berthage calibrate lab.toml readings.csv --write lab.toml"),
        mended: Example::Told("berthage calibrate lab.toml readings.csv --write calibrated.toml"),
    },
    Entry {
        code: Code::NoPlace,
        number: "E0709",
        title: "the calibrated values have no place in the file",
        explanation: "`--write` copies the inventory and changes some values. The host and the guest must stand in that \
                      file itself, not in one that it includes; and where it includes others by relative paths, the \
                      copy must lie beside it.",
        wrong: Example::Told("berthage calibrate lab.toml readings.csv --write elsewhere/lab.toml"),
        mended: Example::Told("berthage calibrate lab.toml readings.csv --write calibrated.toml"),
    },
    Entry {
        code: Code::NoHostThere,
        number: "E0710",
        title: "no Linux host to survey",
        explanation: "The tree of `--root` has no /proc and /sys with the files of a Linux kernel, or it cannot be read.",
        wrong: Example::Told("berthage survey --root missing-tree"),
        mended: Example::Told("berthage survey"),
    },
    Entry {
        code: Code::OtherColumns,
        number: "E0711",
        title: "the file holds readings of other columns",
        explanation: "Lines are appended only below the headings that they belong to. A host that got or lost a disk \
                      has other columns.",
        wrong: Example::Told("berthage survey --reading --guests 3 --output notes.txt"),
        mended: Example::Told("berthage survey --reading --guests 3 --output readings.csv"),
    },
];
