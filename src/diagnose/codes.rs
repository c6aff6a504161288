//! Every error code with its explanation and an example, as `explain E0203` prints it.

mod calls;
mod files;
mod keys;
mod purchase;
mod readings;
mod relations;
mod tools;
mod values;

/// The kinds of errors. E01: files, E02: values, E03: keys and names, E04: values against each other, E05: `--set`,
/// E06: the call, E07: readings and surveys, E08: the purchase, E09: what the program writes for you.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Code {
    /// A file is missing or cannot be read.
    Unreadable,
    /// A directory in place of a file.
    Directory,
    /// Not UTF-8.
    NotText,
    /// Too large.
    TooLarge,
    /// Files that include each other, or too many.
    IncludeLoop,
    /// Not TOML.
    Syntax,
    /// A value of another type.
    WrongType,
    /// A unit that does not exist or measures something else.
    WrongUnit,
    /// A number that is not allowed.
    OutOfRange,
    /// A number without the unit it needs.
    NoUnit,
    /// Not a finite number.
    NotFinite,
    /// A word that is none of the choices.
    UnknownWord,
    /// A fraction in place of a whole number.
    NotWhole,
    /// An uncertain value that is not low ≤ likely ≤ high.
    BadUncertain,
    /// A name that cannot be one.
    BadName,
    /// A key that does not exist.
    UnknownKey,
    /// A key that has to be given.
    MissingKey,
    /// A name or a key given twice.
    SaidTwice,
    /// No host or no guest.
    NothingThere,
    /// A name that names nothing.
    Dangling,
    /// A part larger than its whole.
    WrongOrder,
    /// Two keys that exclude each other.
    Exclusive,
    /// A key that means nothing alone.
    NeedsPartner,
    /// A layout that these devices cannot have.
    LayoutDevices,
    /// A host without memory.
    NoMemoryLeft,
    /// Modules that the board does not take.
    DoesNotPlug,
    /// `--set` without a path or a value.
    BadSet,
    /// A path that names nothing.
    UnknownPath,
    /// `--host` names no host.
    UnknownHost,
    /// Fewer than two hosts to compare.
    TooFewHosts,
    /// More than one host to explain.
    OneHost,
    /// The report cannot be written.
    CannotWrite,
    /// `explain` of a code that does not exist.
    UnknownCode,
    /// A value on the command line that cannot be read.
    BadOption,
    /// Readings that are no table.
    NoTable,
    /// A heading that is missing, unknown or given twice.
    BadHeading,
    /// A cell that cannot be read.
    BadCell,
    /// A comma in place of a decimal point.
    DecimalComma,
    /// Too few readings for an answer.
    TooFewReadings,
    /// Readings that contradict one another or the lab.
    Contradiction,
    /// `--guest` names no guest, or none that can be calibrated.
    UnknownGuest,
    /// `--write` would replace a file.
    WouldReplace,
    /// The calibrated values have no place in the file.
    NoPlace,
    /// A tree that is no Linux host's.
    NoHostThere,
    /// Readings of other columns in the file to append to.
    OtherColumns,
    /// `--need` that cannot be read.
    BadNeed,
    /// `--need` names no guest.
    UnknownNeed,
    /// No guest to place.
    NothingToPlace,
    /// More hosts may fail than there are.
    TooManySpare,
    /// A file that `new` would replace.
    FileThere,
    /// A picture whose name is none of a picture.
    NotAPicture,
}

/// What is known of a code.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Entry {
    /// The code.
    pub code: Code,
    /// The number, `E0203`.
    pub number: &'static str,
    /// What is wrong, in a few words.
    pub title: &'static str,
    /// Why it is refused and how to mend it.
    pub explanation: &'static str,
    /// An example that is refused with this code.
    pub wrong: Example,
    /// The same, mended.
    pub mended: Example,
}

/// An example of an error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Example {
    /// A part of an inventory; the rest of it does not matter.
    File(&'static str),
    /// An option of the command line.
    Option(&'static str),
    /// Something that is better told than shown.
    Told(&'static str),
}

impl Example {
    /// What to print.
    pub fn text(&self) -> &'static str {
        match self {
            Example::File(text) | Example::Option(text) | Example::Told(text) => text,
        }
    }
}

impl Code {
    /// The number, `E0203`.
    pub fn number(self) -> &'static str {
        self.entry().map_or("E0000", |entry| entry.number)
    }

    /// What is known of it.
    pub fn entry(self) -> Option<&'static Entry> {
        entries().find(|entry| entry.code == self)
    }
}

/// All codes, by number.
pub fn entries() -> impl Iterator<Item = &'static Entry> {
    files::ENTRIES
        .iter()
        .chain(values::ENTRIES)
        .chain(keys::ENTRIES)
        .chain(relations::ENTRIES)
        .chain(calls::ENTRIES)
        .chain(readings::ENTRIES)
        .chain(purchase::ENTRIES)
        .chain(tools::ENTRIES)
}

/// The entry of a number as typed, upper or lower case.
pub fn find(number: &str) -> Option<&'static Entry> {
    entries().find(|entry| entry.number.eq_ignore_ascii_case(number))
}
