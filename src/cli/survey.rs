//! What `survey` takes.

use std::path::PathBuf;

use clap::builder::PossibleValue;
use clap::{Args, ValueEnum};

use super::refused::Refused;
use crate::survey::each::kind::Pattern;
use crate::survey::reading::Settled;
use crate::unit::parse::{Dimension, parse};

/// What `survey` takes.
#[derive(Debug, Args)]
pub struct SurveyArgs {
    /// Read this tree in place of the running host's own
    #[arg(long, value_name = "DIR", default_value = "/")]
    pub root: PathBuf,
    /// Call the host so in the table [default: its own host name]
    #[arg(long, value_name = "NAME", value_parser = host_name, conflicts_with = "lines")]
    pub name: Option<String>,
    /// Guests that run now; with 0 the host's own memory is taken from what is in use
    #[arg(long, value_name = "N", value_parser = super::number::whole::<u64>(0, 1_000_000, 20))]
    pub guests: Option<u64>,
    /// Print a line of readings for `calibrate` instead of the table
    #[arg(long, requires = "guests", group = "lines")]
    pub reading: bool,
    /// Print a line for each guest that runs, for `calibrate` and `new`
    #[arg(long, group = "lines", conflicts_with = "guests")]
    pub each: bool,
    /// Each control group right below this one is a guest (repeatable)
    #[arg(long, value_name = "GROUP", requires = "each")]
    pub under: Vec<String>,
    /// Each process whose program has such a name is a guest, * for any letters (repeatable)
    #[arg(long, value_name = "PATTERN", requires = "each")]
    pub process: Vec<String>,
    /// Find out which pages guests hold together; takes root, and 0.1 s a guest each minute
    #[arg(long, requires = "each")]
    pub pages: bool,
    /// Guests whose names look so are of this kind, * for any letters (repeatable)
    #[arg(long = "kind", value_name = "KIND=PATTERN", value_parser = kind, requires = "each")]
    pub kinds: Vec<Pattern>,
    /// Guests whose names look like `matches` of a guest of this lab are of that kind
    #[arg(long, value_name = "LAB.toml", requires = "each")]
    pub lab: Option<PathBuf>,
    /// Whether the host has settled since guests were started or stopped
    #[arg(long, value_enum, default_value_t = Settled::Unknown, requires = "reading")]
    pub settled: Settled,
    /// Take readings or lines again and again, this far apart
    #[arg(long, value_name = "TIME", value_parser = time, requires = "lines")]
    pub every: Option<f64>,
    /// Stop after this time [default: when interrupted]
    #[arg(long = "for", value_name = "TIME", value_parser = time, requires = "every")]
    pub lasting: Option<f64>,
    /// Write the table to a file, or append whole lines to it
    #[arg(long, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Let the table replace a file that is there
    #[arg(long, requires = "output", conflicts_with = "lines")]
    pub force: bool,
}

impl ValueEnum for Settled {
    fn value_variants<'a>() -> &'a [Self] {
        &[Settled::Yes, Settled::No, Settled::Unknown]
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        let meaning = match self {
            Settled::Yes => "Page sharing has found what it will find",
            Settled::No => "Guests have just started",
            Settled::Unknown => "Not known",
        };
        Some(PossibleValue::new(self.word()).help(meaning))
    }
}

/// Shortest time between two readings `[s]`.
const SHORTEST: f64 = 0.01;
/// Longest `[s]`, a year.
const LONGEST: f64 = 365.25 * 86_400.0;

fn time(text: &str) -> Result<f64, Refused> {
    // People type 10m at a prompt; nothing else that passes is meant by it.
    let minutes = text
        .strip_suffix('m')
        .filter(|number| number.ends_with(|letter: char| letter.is_ascii_digit() || letter == ' '))
        .map(|number| format!("{number}min"));
    let allowed = |seconds: f64| (SHORTEST..=LONGEST).contains(&seconds);
    let (but, hint) = match parse(minutes.as_deref().unwrap_or(text), Dimension::Time) {
        Ok(seconds) if allowed(seconds) => return Ok(seconds),
        Ok(_) => (None, None),
        Err(error) => {
            let is_meant = error.readings().any(allowed);
            (Some(error.to_string()), is_meant.then(|| error.hint()))
        }
    };
    Err(Refused {
        must: "between 10 ms and 1 year".to_owned(),
        but,
        hint: hint.unwrap_or_else(|| "write for example 30s".to_owned()),
    })
}

fn kind(text: &str) -> Result<Pattern, Refused> {
    let parts = text.split_once('=');
    let parts = parts.filter(|(kind, names)| crate::lab::is_name(kind) && !names.is_empty());
    let (kind, names) = parts.ok_or_else(|| Refused {
        must: "a kind and what the names of its guests look like".to_owned(),
        but: None,
        hint: "write for example web='web-*'".to_owned(),
    })?;
    Ok(Pattern {
        kind: kind.to_owned(),
        names: names.to_owned(),
    })
}

fn host_name(text: &str) -> Result<String, Refused> {
    if crate::lab::is_name(text) {
        return Ok(text.to_owned());
    }
    Err(Refused {
        must: "a name of 1 to 64 characters without control characters".to_owned(),
        but: None,
        hint: "write for example shelf-a".to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::time;

    #[test]
    fn times_as_people_type_them() {
        assert_eq!(
            (time("30s"), time("10m"), time("10 m")),
            (Ok(30.0), Ok(600.0), Ok(600.0))
        );
        assert_eq!((time("12min"), time("20 ms")), (Ok(720.0), Ok(0.02)));
        assert!(time("10").is_err() && time("m").is_err() && time("0 s").is_err());
    }
}
