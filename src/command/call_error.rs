//! What is wrong with a call for a lab: errors as data, and the one place of their texts.

use std::path::PathBuf;

use crate::diagnose::{Diagnostic, Diagnostics, ErrorKind, suggest};
use crate::lab::keys::range::COUNT;
use crate::lab::{Guest, Host};
use crate::unit::format::{count, plural};

/// Most names that a hint lists.
const MOST_NAMES: usize = 20;

/// What is wrong with a call.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum CallError {
    /// Hosts that are asked about.
    Hosts(HostFault),
    /// The guest that readings count.
    Guest(GuestFault),
    /// What must run, and the option that says it.
    Need(&'static str, NeedFault),
    /// A busy spell as it was typed.
    Spell(String, SpellFault),
    /// An option for readings of a host, and a file that holds lines of guests.
    ForHostReadings(&'static str, PathBuf),
    /// A kind of guests whose memory no line gives.
    NoMemory(String),
    /// A file that holds no lines of guests.
    NoLines(PathBuf),
    /// A file of lines of guests, the kinds in it, and the guests of the lab, none of which is among them.
    NotRecorded(PathBuf, Vec<String>, Vec<String>),
    /// A file of lines that holds one moment only.
    OneMoment(PathBuf),
    /// Ready guests and those that were watched.
    TwoSourcesOfGuests,
    /// `--steps` does not rise.
    StepsFall,
    /// A time of the day where no clock shows the periods: the names of those that are a share of the time.
    NoClock(Vec<String>),
    /// A kind of error that does not exist.
    UnknownKind(String),
}

/// What is wrong with the hosts of a call.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum HostFault {
    /// An option names no host, and those that there are.
    Unknown {
        option: &'static str,
        name: String,
        known: Vec<String>,
    },
    /// One host is answered for, several are meant.
    Several(Vec<String>),
    /// So many hosts are answered for at most, and so many are meant.
    Many { most: usize, meant: usize },
    /// One host has nothing to be compared with.
    One,
    /// The host that is owned is the only one.
    OnlyOld(String),
    /// No host is left, or more sets of failing hosts than are tried.
    Spares {
        spare: usize,
        hosts: usize,
        most_sets: u64,
    },
}

/// What is wrong with the guest that readings count.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum GuestFault {
    /// A name that no guest has, or no name where there are several.
    Unknown(Option<String>, Vec<String>),
    /// A guest that takes what it is given.
    Fixed(String),
}

/// What is wrong with `--need` or `--guests`.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum NeedFault {
    /// A part without an equals sign.
    NoNumber(String),
    /// A guest that is named twice.
    Twice(String),
    /// A name that no guest has.
    Unknown(String, Vec<String>),
    /// A guest, what was given as its number, and the largest number.
    Number(String, String, u64),
    /// A number of guests that the mix cannot have beside `fixed`, or that is no multiple of the set of them.
    NotAMix {
        number: u64,
        fixed: u64,
        is_set: bool,
    },
    /// Nothing is needed.
    Nothing,
}

/// What is wrong with a busy spell.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum SpellFault {
    /// It does not have its four parts.
    Shape,
    /// A number of guests that is none.
    Number(String),
    /// A name that no guest has.
    Guest(String, Vec<String>),
}

/// The names of all guests.
pub(super) fn guest_names(guests: &[Guest]) -> Vec<String> {
    guests.iter().map(|guest| guest.name.clone()).collect()
}

/// The names of hosts.
pub(super) fn host_names<'a>(hosts: impl IntoIterator<Item = &'a Host>) -> Vec<String> {
    hosts.into_iter().map(|host| host.name.clone()).collect()
}

impl From<CallError> for Diagnostics {
    fn from(error: CallError) -> Diagnostics {
        Diagnostic::from(error).into()
    }
}

impl From<CallError> for Diagnostic {
    fn from(error: CallError) -> Diagnostic {
        match error {
            CallError::Hosts(fault) => of_hosts(&fault),
            CallError::Guest(fault) => of_guest(&fault),
            CallError::Need(option, fault) => of_need(option, &fault),
            CallError::Spell(typed, fault) => of_spell(&typed, &fault),
            CallError::ForHostReadings(option, file) => {
                let file = file.display();
                let message =
                    format!("{option} is for readings of a host, and {file} holds lines of guests");
                Diagnostic::new(ErrorKind::InvalidOption, message).hint(format!(
                    "leave {option} out: every kind in the file gets its profile"
                ))
            }
            CallError::NoMemory(kind) => {
                let message =
                    format!("no line says how much memory guests of the kind `{kind}` were given");
                Diagnostic::new(ErrorKind::InvalidCell, message)
                    .hint("fill in the column `memory`, in bytes")
            }
            CallError::NoLines(file) => {
                let message = format!("{} holds no lines of guests", file.display());
                Diagnostic::new(ErrorKind::NotATable, message)
                    .hint("name a file that `berthage survey --each --output FILE` wrote")
            }
            CallError::NotRecorded(file, kinds, known) => {
                let message = format!(
                    "no kind of guests in {} is a guest of the lab",
                    file.display()
                );
                Diagnostic::new(ErrorKind::UnknownGuest, message)
                    .hint(format!("recorded kinds: {}; guests of this lab: {}", listed(&kinds), listed(&known)))
                    .hint("give a guest `matches = \"NAME-*\"`, or add the kinds with `berthage calibrate LAB.toml GUESTS.csv --write NEW.toml`")
            }
            CallError::OneMoment(file) => {
                let message = format!("{} holds one moment of each guest", file.display());
                Diagnostic::new(ErrorKind::TooFewReadings, message)
                    .hint("watch for longer: `berthage survey --each --every 10s --for 2days --output FILE`")
            }
            CallError::TwoSourcesOfGuests => Diagnostic::new(
                ErrorKind::InvalidOption,
                "--guest and --all write ready guests, and --from-survey with a file the guests of that file",
            )
            .hint("leave one of them out"),
            CallError::StepsFall => {
                let message = "--steps must rise, because guests are only started";
                Diagnostic::new(ErrorKind::InvalidOption, message)
                    .hint("write for example 20,40,50")
            }
            CallError::NoClock(shares) => no_clock(&shares),
            CallError::UnknownKind(name) => {
                let names = || ErrorKind::ALL.iter().map(|kind| kind.name());
                let message =
                    format!("there is no kind of error `{name}`, and no file of that name");
                Diagnostic::new(ErrorKind::UnknownErrorKind, message)
                    .hint_near(&name, names())
                    .hint(format!("kinds are {}", suggest::list(names(), usize::MAX)))
            }
        }
    }
}

fn of_hosts(fault: &HostFault) -> Diagnostic {
    let another = "add a [[host]] to the lab, include a file of hosts, or name another with --host";
    match fault {
        HostFault::Unknown {
            option,
            name,
            known,
        } => {
            let message = format!("{option} {name:?} names no host of the lab");
            Diagnostic::new(ErrorKind::UnknownHost, message)
                .hint_near(name, names(known))
                .hint(format!("hosts of this lab: {}", listed(known)))
        }
        HostFault::Several(hosts) => {
            let meant = hosts.len();
            let message = format!("this command answers for one host, but {meant} are meant");
            Diagnostic::new(ErrorKind::AmbiguousHost, message).hint(format!(
                "name one with --host: {}; `compare` sets several side by side",
                listed(hosts)
            ))
        }
        HostFault::Many { most, meant } => {
            let (most, meant) = (count(*most as u64), count(*meant as u64));
            let message = format!("`fit` answers for at most {most} hosts, but {meant} are meant");
            Diagnostic::new(ErrorKind::AmbiguousHost, message)
                .hint("name some with --host; `compare` ranks thousands")
        }
        HostFault::One => {
            let message = "`compare` needs at least 2 hosts, but was asked about 1";
            Diagnostic::new(ErrorKind::TooFewHosts, message)
                .hint(format!("{another}; `fit` answers for one host"))
        }
        HostFault::OnlyOld(name) => {
            let message = format!(
                "--old {name:?} is the only host that was asked about: there is none to put in its place"
            );
            Diagnostic::new(ErrorKind::TooFewHosts, message).hint(another)
        }
        HostFault::Spares {
            spare,
            hosts,
            most_sets,
        } => {
            let there = plural(*hosts as u64, "host", "hosts");
            let message = if spare >= hosts {
                format!(
                    "--spare must be at most {} with {there}, one of which must be left, but is {spare}",
                    hosts - 1
                )
            } else {
                format!(
                    "--spare {spare} of {there} are more sets of failing hosts than the {} that are evaluated",
                    count(*most_sets)
                )
            };
            Diagnostic::new(ErrorKind::TooManySpares, message)
                .hint("ask for fewer with --spare, or about other hosts with --host NAME")
        }
    }
}

fn of_guest(fault: &GuestFault) -> Diagnostic {
    match fault {
        GuestFault::Unknown(name, known) => {
            let message = match name {
                Some(name) => format!("--guest {name:?} names no guest of the lab"),
                None => "the lab has several guests, and the readings count one of them".to_owned(),
            };
            Diagnostic::new(ErrorKind::UnknownGuest, message)
                .hint_near(name.as_deref().unwrap_or_default(), names(known))
                .hint(format!("name one with --guest: {}", listed(known)))
        }
        GuestFault::Fixed(name) => {
            let message = format!("{name:?} is a container, pinned or from reserved huge pages");
            Diagnostic::new(ErrorKind::UnknownGuest, message).hint(
                "what such a guest takes is given, or shared in another way; name a virtual machine",
            )
        }
    }
}

fn of_need(option: &str, fault: &NeedFault) -> Diagnostic {
    let invalid = |message: String| Diagnostic::new(ErrorKind::InvalidNeed, message);
    let example = format!("write for example {option} \"web=40,build=6\"");
    match fault {
        NeedFault::NoNumber(part) => invalid(format!(
            "{option} takes guests and how many of each must run, but {part:?} has no ="
        ))
        .hint(example),
        NeedFault::Twice(name) => invalid(format!("{option} names {name:?} twice"))
            .hint("give once how many of it must run"),
        NeedFault::Unknown(name, known) => {
            let commas = match name.contains([';', '=']) {
                true => format!("put commas between guests: {option} \"web=40,build=6\""),
                false => String::new(),
            };
            let message = format!("{option} {name:?} names no guest of the lab");
            Diagnostic::new(ErrorKind::UnknownNeed, message)
                .hint_near(name, names(known))
                .hint(commas)
                .hint(format!("guests of this lab: {}", listed(known)))
        }
        NeedFault::Number(name, given, most) => invalid(format!(
            "{option} must give {name:?} a whole number from 0 to {}, but gives {given:?}",
            count(*most)
        ))
        .hint(format!("write for example {option} \"{name}=40\"")),
        NeedFault::NotAMix {
            number,
            fixed,
            is_set,
        } => {
            let must = plural(*fixed, "guest", "guests");
            let wrong = match is_set {
                true => format!("is not a multiple of the set of {must} that the lab counts"),
                false => format!("is fewer than the {must} that must run"),
            };
            invalid(format!("{option} {number} {wrong}"))
                .hint(format!("name each kind: {option} \"web=40,build=6\""))
        }
        NeedFault::Nothing => {
            Diagnostic::new(ErrorKind::NothingToPlace, "there is no guest to place").hint(format!(
                "name them with {option} \"web=40,build=6\", or give guests a `count` in the lab"
            ))
        }
    }
}

fn no_clock(shares: &[String]) -> Diagnostic {
    let example = "[[period]] with name = \"night\" and hours = \"22-6\"";
    let (wrong, hint) = match shares {
        [] => (
            "the lab has no period".to_owned(),
            format!("add {example}, and give `busy` of guests by period; or leave --at out"),
        ),
        [name, ..] => (
            format!("`{name}` is a share of the time, which no clock shows"),
            format!(
                "give it hours as in {example}; or leave --at out: then each guest is as busy as in its busiest period"
            ),
        ),
    };
    let message = format!("--at needs periods by hours, but {wrong}");
    Diagnostic::new(ErrorKind::InvalidOption, message).hint(hint)
}

fn of_spell(typed: &str, fault: &SpellFault) -> Diagnostic {
    let wrong = match fault {
        SpellFault::Shape => " is not WHEN:GUEST=NUMBER:HOW LONG".to_owned(),
        SpellFault::Number(given) => format!(": NUMBER must be {}, but is {given:?}", COUNT.words),
        SpellFault::Guest(given, _) => format!(": no guest of the lab is called {given:?}"),
    };
    let error = Diagnostic::new(
        ErrorKind::InvalidOption,
        format!("--busy-at {typed:?}{wrong}"),
    );
    match fault {
        SpellFault::Guest(given, known) => error
            .hint_near(given.trim(), names(known))
            .hint(format!("guests of this lab: {}", listed(known))),
        _ => error.hint("write for example 2h:web=3:10min"),
    }
}

fn names(known: &[String]) -> impl Iterator<Item = &str> {
    known.iter().map(String::as_str)
}

fn listed(known: &[String]) -> String {
    suggest::list(names(known), MOST_NAMES)
}
