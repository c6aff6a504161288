//! What can be wrong with a call for a lab: the one place of these errors' texts.

use std::path::Path;

use crate::diagnose::{Diagnostic, ErrorKind, suggest};
use crate::lab::keys::range::COUNT;
use crate::lab::{Guest, Host, Lab};
use crate::unit::format::{count, plural};

/// Most names that a hint lists.
const MOST_NAMES: usize = 20;
/// What to do where there is one host too few.
const ANOTHER: &str =
    "add a [[host]] to the lab, include a file of hosts, or name another with --host";

fn hosts(lab: &Lab) -> impl Iterator<Item = &str> {
    lab.hosts.iter().map(|host| host.name.as_str())
}

fn guests(lab: &Lab) -> impl Iterator<Item = &str> {
    lab.guests.iter().map(|guest| guest.name.as_str())
}

fn listed<'a>(names: impl IntoIterator<Item = &'a str>) -> String {
    suggest::list(names, MOST_NAMES)
}

/// An option that is not taken, or not as it is.
fn invalid(message: impl Into<String>, hint: impl Into<String>) -> Diagnostic {
    Diagnostic::new(ErrorKind::InvalidOption, message).hint(hint)
}

/// An option names no host.
pub(super) fn unknown_host(option: &str, name: &str, lab: &Lab) -> Diagnostic {
    let message = format!("{option} {name:?} names no host of the lab");
    Diagnostic::new(ErrorKind::UnknownHost, message)
        .hint_near(name, hosts(lab))
        .hint(format!("hosts of this lab: {}", listed(hosts(lab))))
}

/// One host is answered for, several are meant.
pub(super) fn several_hosts(meant: &[&Host]) -> Diagnostic {
    let names = listed(meant.iter().map(|host| host.name.as_str()));
    let meant = meant.len();
    let message = format!("this command answers for one host, but {meant} are meant");
    Diagnostic::new(ErrorKind::AmbiguousHost, message).hint(format!(
        "name one with --host: {names}; `compare` sets several side by side"
    ))
}

/// So many hosts are answered for at most, and so many are meant.
pub(super) fn many_hosts(most: usize, meant: usize) -> Diagnostic {
    let (most, meant) = (count(most as u64), count(meant as u64));
    let message = format!("`fit` answers for at most {most} hosts, but {meant} are meant");
    Diagnostic::new(ErrorKind::AmbiguousHost, message)
        .hint("name some with --host; `compare` ranks thousands")
}

/// One host has nothing to be compared with.
pub(super) fn one_host() -> Diagnostic {
    let message = "`compare` needs at least 2 hosts, but was asked about 1";
    Diagnostic::new(ErrorKind::TooFewHosts, message)
        .hint(format!("{ANOTHER}; `fit` answers for one host"))
}

/// The host that is owned is the only one.
pub(super) fn only_old(name: &str) -> Diagnostic {
    let message = format!(
        "--old {name:?} is the only host that was asked about: there is none to put in its place"
    );
    Diagnostic::new(ErrorKind::TooFewHosts, message).hint(ANOTHER)
}

/// No host is left, or more sets of failing hosts than so many, which are tried.
pub(super) fn spares(spare: usize, hosts: usize, most_sets: u64) -> Diagnostic {
    let there = plural(hosts as u64, "host", "hosts");
    let message = match hosts.checked_sub(spare) {
        None | Some(0) => format!(
            "--spare must be at most {} with {there}, one of which must be left, but is {spare}",
            hosts - 1
        ),
        Some(_) => format!(
            "--spare {spare} of {there} are more sets of failing hosts than the {} that are evaluated",
            count(most_sets)
        ),
    };
    Diagnostic::new(ErrorKind::TooManySpares, message)
        .hint("ask for fewer with --spare, or about other hosts with --host NAME")
}

/// The readings count a guest that no name says, or one that the lab does not have.
pub(super) fn unknown_guest(name: Option<&str>, lab: &Lab) -> Diagnostic {
    let message = match name {
        Some(name) => format!("--guest {name:?} names no guest of the lab"),
        None => "the lab has several guests, and the readings count one of them".to_owned(),
    };
    Diagnostic::new(ErrorKind::UnknownGuest, message)
        .hint_near(name.unwrap_or_default(), guests(lab))
        .hint(format!("name one with --guest: {}", listed(guests(lab))))
}

/// The readings count a guest that takes what it is given.
pub(super) fn fixed_guest(guest: &Guest) -> Diagnostic {
    let name = &guest.name;
    let message = format!("{name:?} is a container, pinned or from reserved huge pages");
    Diagnostic::new(ErrorKind::UnknownGuest, message)
        .hint("what such a guest takes is given, or shared in another way; name a virtual machine")
}

/// An option for readings of a host, and a file that holds lines of guests.
pub(super) fn for_host_readings(option: &str, file: &Path) -> Diagnostic {
    let file = file.display();
    invalid(
        format!("{option} is for readings of a host, and {file} holds lines of guests"),
        format!("leave {option} out: every kind in the file gets its profile"),
    )
}

/// A kind of guests whose memory no line gives.
pub(super) fn no_memory(kind: &str) -> Diagnostic {
    let message = format!("no line says how much memory guests of the kind `{kind}` were given");
    Diagnostic::new(ErrorKind::InvalidCell, message).hint("fill in the column `memory`, in bytes")
}

/// A file that holds no lines of guests.
pub(super) fn no_lines(file: &Path) -> Diagnostic {
    let message = format!("{} holds no lines of guests", file.display());
    Diagnostic::new(ErrorKind::NotATable, message)
        .hint("name a file that `berthage survey --each --output FILE` wrote")
}

/// A file of lines of guests of these kinds, none of which is a guest of the lab.
pub(super) fn not_recorded<'a>(
    file: &Path,
    kinds: impl IntoIterator<Item = &'a str>,
    lab: &Lab,
) -> Diagnostic {
    let file = file.display();
    let (kinds, known) = (listed(kinds), listed(guests(lab)));
    let message = format!("no kind of guests in {file} is a guest of the lab");
    Diagnostic::new(ErrorKind::UnknownGuest, message)
        .hint(format!("recorded kinds: {kinds}; guests of this lab: {known}"))
        .hint("give a guest `matches = \"NAME-*\"`, or add the kinds with `berthage calibrate LAB.toml GUESTS.csv --write NEW.toml`")
}

/// A file of lines that holds one moment only.
pub(super) fn one_moment(file: &Path) -> Diagnostic {
    let message = format!("{} holds one moment of each guest", file.display());
    Diagnostic::new(ErrorKind::TooFewReadings, message)
        .hint("watch for longer: `berthage survey --each --every 10s --for 2days --output FILE`")
}

/// Ready guests and those that were watched.
pub(super) fn two_sources_of_guests() -> Diagnostic {
    invalid(
        "--guest and --all write ready guests, and --from-survey with a file the guests of that file",
        "leave one of them out",
    )
}

/// `--steps` does not rise.
pub(super) fn steps_fall() -> Diagnostic {
    invalid(
        "--steps must rise, because guests are only started",
        "write for example 20,40,50",
    )
}

/// A time of the day where no clock shows the periods: the first of those that are a share of the time.
pub(super) fn no_clock(share: Option<&str>) -> Diagnostic {
    let example = "[[period]] with name = \"night\" and hours = \"22-6\"";
    let (wrong, hint) = match share {
        None => (
            "the lab has no period".to_owned(),
            format!("add {example}, and give `busy` of guests by period; or leave --at out"),
        ),
        Some(name) => (
            format!("`{name}` is a share of the time, which no clock shows"),
            format!(
                "give it hours as in {example}; or leave --at out: then each guest is as busy as in its busiest period"
            ),
        ),
    };
    invalid(format!("--at needs periods by hours, but {wrong}"), hint)
}

/// A kind of error that does not exist.
pub(super) fn unknown_kind(name: &str) -> Diagnostic {
    let names = || ErrorKind::ALL.iter().map(|kind| kind.name());
    let message = format!("there is no kind of error `{name}`, and no file of that name");
    Diagnostic::new(ErrorKind::UnknownErrorKind, message)
        .hint_near(name, names())
        .hint(format!("kinds are {}", suggest::list(names(), usize::MAX)))
}

fn invalid_need(message: String, hint: impl Into<String>) -> Diagnostic {
    Diagnostic::new(ErrorKind::InvalidNeed, message).hint(hint)
}

/// A part of `--need` or `--guests` without an equals sign.
pub(super) fn no_number(option: &str, part: &str) -> Diagnostic {
    invalid_need(
        format!("{option} takes guests and how many of each must run, but {part:?} has no ="),
        format!("write for example {option} \"web=40,build=6\""),
    )
}

/// A guest that is named twice.
pub(super) fn named_twice(option: &str, guest: &Guest) -> Diagnostic {
    invalid_need(
        format!("{option} names {:?} twice", guest.name),
        "give once how many of it must run",
    )
}

/// A name that no guest has.
pub(super) fn unknown_need(option: &str, name: &str, lab: &Lab) -> Diagnostic {
    let commas = match name.contains([';', '=']) {
        true => format!("put commas between guests: {option} \"web=40,build=6\""),
        false => String::new(),
    };
    let message = format!("{option} {name:?} names no guest of the lab");
    Diagnostic::new(ErrorKind::UnknownNeed, message)
        .hint_near(name, guests(lab))
        .hint(commas)
        .hint(format!("guests of this lab: {}", listed(guests(lab))))
}

/// What was given as the number of a guest, and the largest number.
pub(super) fn wrong_number(option: &str, name: &str, given: &str, most: u64) -> Diagnostic {
    let most = count(most);
    invalid_need(
        format!("{option} must give {name:?} a whole number from 0 to {most}, but gives {given:?}"),
        format!("write for example {option} \"{name}=40\""),
    )
}

/// A number of guests that the mix cannot have beside the fixed ones, or that is no multiple of the set of them.
pub(super) fn not_a_mix(option: &str, number: u64, fixed: u64, is_set: bool) -> Diagnostic {
    let must = plural(fixed, "guest", "guests");
    let wrong = match is_set {
        true => format!("is not a multiple of the set of {must} that the lab counts"),
        false => format!("is fewer than the {must} that must run"),
    };
    invalid_need(
        format!("{option} {number} {wrong}"),
        format!("name each kind: {option} \"web=40,build=6\""),
    )
}

/// Nothing is needed.
pub(super) fn nothing_needed(option: &str) -> Diagnostic {
    Diagnostic::new(ErrorKind::NothingToPlace, "there is no guest to place").hint(format!(
        "name them with {option} \"web=40,build=6\", or give guests a `count` in the lab"
    ))
}

/// A busy spell that does not have its four parts.
pub(super) fn no_spell(typed: &str) -> Diagnostic {
    invalid(
        format!("--busy-at {typed:?} is not WHEN:GUEST=NUMBER:HOW LONG"),
        "write for example 2h:web=3:10min",
    )
}

/// A number of guests of a busy spell that is none.
pub(super) fn wrong_spell_number(typed: &str, given: &str) -> Diagnostic {
    let must = COUNT.words;
    invalid(
        format!("--busy-at {typed:?}: NUMBER must be {must}, but is {given:?}"),
        "write for example 2h:web=3:10min",
    )
}

/// A busy spell of a guest that the lab does not have.
pub(super) fn no_guest_of_spell(typed: &str, given: &str, lab: &Lab) -> Diagnostic {
    let message = format!("--busy-at {typed:?}: no guest of the lab is called {given:?}");
    Diagnostic::new(ErrorKind::InvalidOption, message)
        .hint_near(given.trim(), guests(lab))
        .hint(format!("guests of this lab: {}", listed(guests(lab))))
}
