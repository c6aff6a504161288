//! Where a value comes from, and how uncertain it is.

/// Where a value comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Origin {
    /// The value as a person would write it: the text of the file, or the default.
    pub text: String,
    /// Its source.
    pub source: Source,
}

impl Origin {
    /// Where the value comes from, in words.
    pub fn words(&self) -> String {
        match &self.source {
            Source::File { file, line } => format!("{file}:{line}"),
            Source::CommandLine => "--set".to_owned(),
            Source::Default(origin) => match origin {
                DefaultOrigin::Published(source) => format!("default, {source}"),
                DefaultOrigin::Measured => "default, measured for this project".to_owned(),
                DefaultOrigin::Reported(sources) => {
                    format!("default, reported by owners, {sources} sources")
                }
                DefaultOrigin::OtherMachines(readings) => format!("default, {readings}"),
                DefaultOrigin::CommonPractice => "default, common practice, no source".to_owned(),
                DefaultOrigin::Assumption => "default, an assumption".to_owned(),
                DefaultOrigin::Derived => "default, follows from other keys".to_owned(),
            },
        }
    }
}

/// The source of a value.
#[derive(Debug, Clone, PartialEq)]
pub enum Source {
    /// A line of an inventory file.
    File {
        /// File name as the user gave it (or as `include` named it).
        file: String,
        /// Line, counted from 1.
        line: usize,
    },
    /// `--set` on the command line.
    CommandLine,
    /// A default with its stated origin.
    Default(DefaultOrigin),
}

/// What a default rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DefaultOrigin {
    /// A published source, named.
    Published(&'static str),
    /// Measured for this project.
    Measured,
    /// Readings and advice that owners report, from so many independent sources.
    Reported(u32),
    /// Readings of other machines than those of small labs, named; a guess for these.
    OtherMachines(&'static str),
    /// Reported practice without a source that can be cited.
    CommonPractice,
    /// A guess; listed as such in every report.
    Assumption,
    /// Follows from other keys (`file_cache_floor` from `file_cache`); the text says how.
    Derived,
}

impl DefaultOrigin {
    /// Whether a default is a guess that a report has to list: it rests on nothing published or measured.
    pub fn is_guess(self) -> bool {
        matches!(
            self,
            DefaultOrigin::Assumption
                | DefaultOrigin::Reported(_)
                | DefaultOrigin::OtherMachines(_)
        )
    }
}

/// An uncertain value (beta-PERT): low ≤ likely ≤ high.
#[derive(Debug, Clone, PartialEq)]
pub struct Uncertain {
    /// Key path.
    pub path: String,
    /// Smallest value.
    pub low: f64,
    /// Most likely value.
    pub likely: f64,
    /// Largest value.
    pub high: f64,
}
