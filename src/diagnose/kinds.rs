//! The kinds of errors. What `explain out-of-range` prints of each stands in `kinds.txt`.

use std::sync::LazyLock;

/// Declares [`ErrorKind`] and the list of its kinds with their names.
macro_rules! kinds {
    ($($kind:ident $name:literal)*) => {
        /// The kinds of errors: of files, values, keys and names, values against each other, `--set`, the call,
        /// readings and surveys, the purchase, output files.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum ErrorKind {
            $(#[doc = concat!("`", $name, "`, see `kinds.txt`.")] $kind,)*
        }

        impl ErrorKind {
            /// Every kind.
            pub const ALL: &[ErrorKind] = &[$(ErrorKind::$kind,)*];

            /// Its name, `out-of-range`.
            pub fn name(self) -> &'static str {
                match self {
                    $(ErrorKind::$kind => $name,)*
                }
            }
        }
    };
}

kinds! {
    UnreadableFile "unreadable-file"
    IsADirectory "is-a-directory"
    NotUtf8 "not-utf8"
    FileTooLarge "file-too-large"
    IncludeLoop "include-loop"
    SyntaxError "syntax-error"
    WrongType "wrong-type"
    WrongUnit "wrong-unit"
    OutOfRange "out-of-range"
    MissingUnit "missing-unit"
    NotFinite "not-finite"
    UnknownChoice "unknown-choice"
    NotWhole "not-whole"
    InvalidUncertainValue "invalid-uncertain-value"
    InvalidName "invalid-name"
    UnknownKey "unknown-key"
    MissingKey "missing-key"
    Duplicate "duplicate"
    EmptyLab "empty-lab"
    UnknownReference "unknown-reference"
    PartExceedsWhole "part-exceeds-whole"
    ConflictingKeys "conflicting-keys"
    UnpairedKey "unpaired-key"
    InvalidLayout "invalid-layout"
    InvalidPeriod "invalid-period"
    NoMemoryLeft "no-memory-left"
    ModulesDoNotFit "modules-do-not-fit"
    InvalidSet "invalid-set"
    UnknownPath "unknown-path"
    UnknownHost "unknown-host"
    TooFewHosts "too-few-hosts"
    CannotWrite "cannot-write"
    UnknownErrorKind "unknown-error-kind"
    AmbiguousHost "ambiguous-host"
    InvalidOption "invalid-option"
    UnknownCommand "unknown-command"
    UnknownOption "unknown-option"
    MissingArgument "missing-argument"
    ConflictingOptions "conflicting-options"
    NotATable "not-a-table"
    InvalidHeading "invalid-heading"
    InvalidCell "invalid-cell"
    DecimalComma "decimal-comma"
    TooFewReadings "too-few-readings"
    ContradictoryReadings "contradictory-readings"
    UnknownGuest "unknown-guest"
    NotInThisFile "not-in-this-file"
    NotALinuxHost "not-a-linux-host"
    DifferentColumns "different-columns"
    InvalidNeed "invalid-need"
    UnknownNeed "unknown-need"
    NothingToPlace "nothing-to-place"
    TooManySpares "too-many-spares"
    FileExists "file-exists"
    NotSvg "not-svg"
}

/// The text about all kinds.
const TEXT: &str = include_str!("kinds.txt");

/// The entries of `kinds.txt`, in its order.
static ENTRIES: LazyLock<Vec<Entry>> =
    LazyLock::new(|| TEXT.split("\n== ").skip(1).filter_map(entry).collect());

/// What is known of a kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The kind.
    pub kind: ErrorKind,
    /// What is wrong, in a few words.
    pub title: &'static str,
    /// Why it is refused and what to do.
    pub explanation: String,
    /// An example that is refused with this kind.
    pub wrong: Example,
    /// The same, put right.
    pub right: Example,
}

/// An example of an error.
#[derive(Debug, Clone, PartialEq)]
pub enum Example {
    /// A part of an inventory; the rest of it does not matter.
    File(String),
    /// An argument of `--set`.
    Set(String),
    /// Anything else: a call, readings, a description.
    Text(String),
}

impl Example {
    /// What to print.
    pub fn text(&self) -> &str {
        match self {
            Example::File(text) | Example::Set(text) | Example::Text(text) => text,
        }
    }
}

/// All kinds, in the order of `kinds.txt`.
pub fn entries() -> impl Iterator<Item = &'static Entry> {
    ENTRIES.iter()
}

/// The entry of a kind's name as typed, upper or lower case.
pub fn find(name: &str) -> Option<&'static Entry> {
    entries().find(|entry| entry.kind.name().eq_ignore_ascii_case(name))
}

/// One section of `kinds.txt`: a line `name title`, the explanation, two examples. `None` if it is malformed.
fn entry(section: &'static str) -> Option<Entry> {
    let (head, rest) = section.split_once('\n')?;
    let (name, title) = head.split_once(' ')?;
    let kind = ErrorKind::ALL.iter().find(|kind| kind.name() == name)?;
    let (explanation, rest) = rest.split_once("\nwrong ")?;
    let (wrong, right) = rest.split_once("\nright ")?;
    Some(Entry {
        kind: *kind,
        title,
        explanation: explanation.replace('\n', " "),
        wrong: example(wrong)?,
        right: example(right)?,
    })
}

/// An example from its medium, a colon and indented lines.
fn example(text: &str) -> Option<Example> {
    let (medium, lines) = text.split_once(":\n")?;
    let lines: Vec<&str> = lines
        .trim_end()
        .lines()
        .map(|line| line.strip_prefix("    ").unwrap_or(line))
        .collect();
    let text = lines.join("\n");
    match medium {
        "file" => Some(Example::File(text)),
        "set" => Some(Example::Set(text)),
        "text" => Some(Example::Text(text)),
        _ => None,
    }
}
