//! The document of `compare`: a column a host, the better value of each row marked in words.

use super::choose::several_of_a_kind;
use super::document::{Document, Rank};
use super::hosts;
use super::table::{Cell, Rows, Table};
use crate::lab::Lab;
use crate::model::YEAR;
use crate::purchase::compare::{
    Better, CompareAnswer, best_host, cost_per_guest, held, lasts, life, price_per_month, runs,
    watts_per_guest,
};
use crate::sizing::answer::HostAnswer;
use crate::sizing::resource::Resource;
use crate::sizing::search::Largest;
use crate::unit::format;
use crate::words::choose::{best, break_even, guessed, holds_more, several};
use crate::words::fit::{holds, lead, not_alike, total, total_found};
use crate::words::growth;
use crate::words::name::{count_or, label, load, or_dash, titled};

/// Pairs of hosts that a short screen says something of.
const PAIRS: usize = 3;

/// Builds the document of an answer of `compare`.
pub fn document(answer: &CompareAnswer, lab: &Lab) -> Document {
    let title = titled("Hosts side by side", &answer.lab);
    let mut document = Document::answering(title, best(answer));
    document.section(Rank::Brief);
    document.table(short(answer, lab));
    let pairs = answer.break_even.iter();
    let pairs = pairs.map(|pair| break_even(pair, &lab.currency, &answer.hosts));
    let pairs: Vec<String> = pairs.collect();
    document.say(pairs.iter().take(PAIRS));
    document.section(Rank::Answer);
    document.say(several(&answer.multiples, &lab.currency));
    document.say(holds_more(&answer.holds_more));
    document.say(not_alike(&answer.hosts));
    document.caution_lines(&hosts::caution_lines(&answer.hosts), "Everything: --full.");
    document.heading(2, "Each host");
    document.list(answer.hosts.iter().map(|host| lead(host, lab)));
    document.table(table(answer, lab));
    document.list(pairs);
    several_of_a_kind(&mut document, &answer.multiples, lab);
    document.paragraph(guessed(&answer.hosts));
    document.cautions(2, &hosts::cautions(&answer.hosts));
    document
}

/// What is known of a host in numbers.
type Value = fn(&HostAnswer) -> Option<f64>;

/// How a number is written.
type Text<'a> = &'a dyn Fn(f64) -> String;

const WATTS: Value = |host| Some(host.power.as_ref()?.watts);

/// A line a host; what is known of none has no column.
fn short<'a>(answer: &'a CompareAnswer, lab: &Lab) -> Rows<&'a HostAnswer> {
    let money = |amount| format::money(amount, &answer.currency);
    let years: Value = |host| life(host).filter(|years| years.is_finite());
    let horizon = format!("per guest, {}", format::years(answer.years));
    let columns: [(&str, Value, Text); 4] = [
        ("price a month", price_per_month, &money),
        (&horizon, cost_per_guest, &money),
        ("at the wall", WATTS, &format::power),
        ("disks last", years, &|years| format::seconds(years * YEAR)),
    ];
    let table = hosts::table(&answer.hosts, lab);
    columns
        .into_iter()
        .fold(table, |table, (heading, value, text)| {
            let is_known = answer.hosts.iter().any(|host| value(host).is_some());
            table.right_if(is_known, heading, |host| or_dash(value(host), text))
        })
}

fn table(answer: &CompareAnswer, lab: &Lab) -> Rows<Row> {
    let word = match answer.hosts.len() {
        0..=2 => "better",
        _ => "best",
    };
    let rows = counts(&answer.hosts, lab)
        .into_iter()
        .chain(money_and_power(answer));
    let known = rows.filter(|row| row.texts.iter().any(|text| text != "–"));
    let mut table = Table::of(known).left("", |row| row.label.clone());
    for (index, host) in answer.hosts.iter().enumerate() {
        table = table.right(&host.name, |row| {
            let text = &row.texts[index];
            match row.winner == Some(index) {
                true => Cell::strong(format!("{text} ({word})")),
                false => text.into(),
            }
        });
    }
    table
}

/// A row.
struct Row {
    /// What it is.
    label: String,
    /// What is known of each host, in their order.
    texts: Vec<String>,
    /// Place of the host that is better than all others.
    winner: Option<usize>,
}

impl Row {
    /// A row of words.
    fn words(hosts: &[HostAnswer], label: &str, text: impl Fn(&HostAnswer) -> String) -> Row {
        Row {
            label: label.to_owned(),
            texts: hosts.iter().map(text).collect(),
            winner: None,
        }
    }
}

fn counts(hosts: &[HostAnswer], lab: &Lab) -> Vec<Row> {
    let fits = |host: &HostAnswer| match host.fits {
        Some(n) => format::count(total(host, lab, n)),
        None if runs(host) => "no limit".to_owned(),
        None => "does not fit".to_owned(),
    };
    type Count = fn(&HostAnswer) -> Option<u64>;
    let count = |label: &str, count: Count, text: &dyn Fn(&HostAnswer) -> String| {
        let winner = best_host(hosts, |host| held(host, count(host)), Better::More);
        Row {
            winner,
            ..Row::words(hosts, label, text)
        }
    };
    let reached = |host: &HostAnswer| {
        let n = host.breaks_at.map(|n| total(host, lab, n));
        count_or(n, "not reached")
    };
    let found =
        |what: fn(&HostAnswer) -> Largest| move |h: &HostAnswer| total_found(h, lab, what(h));
    let [fresh, unshared, plain_sum] = [
        found(|h| h.fresh),
        found(|h| h.unshared),
        found(|h| h.plain_sum),
    ];
    let unshared_label = "memory alone: without page sharing";
    vec![
        count("safely holds, guests", |h| h.fits, &fits),
        Row::words(hosts, "runs out first", hosts::first),
        Row::words(hosts, "then", |host| then(host, lab)),
        count("cliff at the latest", |h| h.breaks_at, &reached),
        count("memory alone: fresh guests", |h| h.fresh.bound(), &fresh),
        count(unshared_label, |h| h.unshared.bound(), &unshared),
        Row::words(hosts, "memory alone: by the plain sum", plain_sum),
        Row::words(hosts, "memory load", |h| or_dash(memory(h), load)),
    ]
}

fn memory(host: &HostAnswer) -> Option<f64> {
    let mut resources = host.resources.iter();
    let memory = resources.find(|one| one.resource == Resource::Memory);
    memory.map(|one| one.load).filter(|load| load.is_finite())
}

/// What would bind next.
fn then(host: &HostAnswer, lab: &Lab) -> String {
    let after = host.resources.iter();
    let mut after = after.filter(|one| !host.binds.contains(&one.name));
    match after.find(|one| one.fits.is_some()) {
        Some(one) => format!("{} at {}", label(&one.name), holds(host, lab, one)),
        None => "nothing".to_owned(),
    }
}

fn money_and_power(answer: &CompareAnswer) -> Vec<Row> {
    let money = |amount| format::money(amount, &answer.currency);
    let years = format::years(answer.years);
    let per_guest = format!("price and energy per guest, {years}");
    let ends = |years: f64| match years.is_finite() {
        true => format::seconds(years * YEAR),
        false => "never".to_owned(),
    };
    let row = |better: Better, label: &str, value: Value, text: Text| Row {
        winner: best_host(&answer.hosts, value, better),
        ..Row::words(&answer.hosts, label, |host| or_dash(value(host), text))
    };
    let more = |label: &str, value: Value, text: Text| row(Better::More, label, value, text);
    let less = |label: &str, value: Value, text: Text| row(Better::Less, label, value, text);
    let energy: Value = |h| Some(h.power.as_ref()?.kwh_per_year);
    let running: Value = |h| h.cost.as_ref()?.running_per_year;
    vec![
        more("full if guests keep coming in", lasts, &growth::lasts),
        less("price a month until then", price_per_month, &money),
        less("price", |h| h.cost.as_ref()?.price, &money),
        less(&per_guest, cost_per_guest, &money),
        less("watts at the wall", WATTS, &format::power),
        less("watts per guest", watts_per_guest, &format::power),
        less("energy a year, at most", energy, &format::energy),
        less("money a year for energy", running, &money),
        more("disk: rated writes used up in", life, &ends),
    ]
}
