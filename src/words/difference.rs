//! What a change did to a host, in words.

use super::fit::total;
use super::growth;
use super::name::{binding, is_plural, label, or_dash, runs_out_first};
use crate::lab::Lab;
use crate::purchase::compare::runs;
use crate::sizing::answer::HostAnswer;
use crate::sizing::difference::{Difference, Figure, HostChange};
use crate::unit::format;

/// A host and its lab.
pub type At<'a> = (&'a HostAnswer, &'a Lab);

/// "box: 41 guests, 35 before; memory runs out first, as before."; a host of another name is one "in place of" the other.
pub fn sentence(change: &HostChange, before: At, after: At) -> String {
    let name = match before.0.name == change.host {
        true => change.host.clone(),
        false => format!("{} in place of {}", change.host, before.0.name),
    };
    if change.figures.is_empty() {
        return format!("{name}: the change moves nothing.");
    }
    let [was, is] = [before, after].map(|at| runs_out_first(&binding(at.0)));
    let first = match (was == is, is.is_empty()) {
        (_, true) => "nothing runs out".to_owned(),
        (true, _) => format!("{is}, as before"),
        (false, _) if was.is_empty() => format!("{is}, before it nothing did"),
        (false, _) => format!("{is}, where before {was}"),
    };
    let held = match after.0.fits {
        Some(n) => format::plural(total(after.0, after.1, n), "guest", "guests"),
        None => count(after, None),
    };
    let was = count(before, before.0.fits);
    let full = |at: At| Some(growth::lasts(at.0.full_in.as_ref()?.months?));
    let full = match [before, after].map(full) {
        [Some(was), Some(is)] if was != is => format!("; full in {is}, {was} before"),
        _ => String::new(),
    };
    match was == count(after, after.0.fits) {
        true => format!(
            "{name}: {held}, as before; {}{full}.",
            first.trim_end_matches(", as before")
        ),
        false => format!("{name}: {held}, {was} before; {first}{full}."),
    }
}

/// A count of guests, or why there is none.
fn count((host, lab): At, n: Option<u64>) -> String {
    match n {
        Some(n) => format::count(total(host, lab, n)),
        None if runs(host) => "no limit".to_owned(),
        None => "not these".to_owned(),
    }
}

/// What a figure is called.
pub fn figure(one: &Difference) -> String {
    match &one.figure {
        Figure::Fits => "safely holds, guests".to_owned(),
        Figure::BreaksAt => "cliff at the latest".to_owned(),
        Figure::FullIn => "full if guests keep coming in".to_owned(),
        Figure::Holds(named) => {
            let hold = if is_plural(named.resource) {
                "hold"
            } else {
                "holds"
            };
            format!("{} {hold}", label(&named.name))
        }
        Figure::Load(named) => format!("{}, load", label(&named.name)),
        Figure::Price => "price".to_owned(),
        Figure::Watts => "watts at the wall".to_owned(),
        Figure::Energy => "energy a year".to_owned(),
        Figure::PerGuest => "price and energy per guest".to_owned(),
        Figure::Restart => "all guests up after a power cut in".to_owned(),
    }
}

/// Its value before or after.
pub fn value(figure: &Figure, value: Option<f64>, at: At) -> String {
    let counted = |value: Option<f64>| value.map(|n| n as u64);
    let money = |amount| format::money(amount, &at.1.currency);
    match figure {
        Figure::Fits => count(at, counted(value)),
        Figure::Holds(_) => counted(value).map_or_else(|| "–".to_owned(), |n| count(at, Some(n))),
        Figure::BreaksAt => match counted(value) {
            Some(n) => count(at, Some(n)),
            None => "not reached".to_owned(),
        },
        Figure::FullIn if at.0.full_in.is_some() => growth::lasts(value.unwrap_or(f64::INFINITY)),
        Figure::FullIn => "–".to_owned(),
        Figure::Load(_) => or_dash(value, format::share),
        Figure::Restart => or_dash(value, format::seconds),
        Figure::Price | Figure::PerGuest => or_dash(value, money),
        Figure::Watts => or_dash(value, format::power),
        Figure::Energy => or_dash(value, format::energy),
    }
}
