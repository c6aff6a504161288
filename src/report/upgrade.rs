//! The document of `upgrade`.

use super::document::{Align, Cell, Document, Sheet, Table};
use crate::lab::Lab;
use crate::purchase::upgrade::answer::{Choice, UpgradeAnswer};
use crate::purchase::upgrade::change::Note;
use crate::sizing::named::Named;
use crate::sizing::search::Largest;
use crate::unit::format;
use crate::unit::format::listed;
use crate::words::name::{named_run_out_first, resource_label};

/// Builds the document of an answer of `upgrade`.
#[must_use]
pub fn document(answer: &UpgradeAnswer, lab: &Lab) -> Document {
    let mut document = Document::new();
    document.heading(1, format!("What to buy next for {}", answer.host));
    document.lead(sentence(answer, lab));
    if answer.options.is_empty() {
        document.paragraph(
            "Nothing can be bought that the lab names a price for: add module_prices with slots and max_module, the \
             price and capacity_prices of a pool, link_prices, or the price of the host.",
        );
    } else {
        document.heading(
            2,
            "What each purchase adds, most guests for the money first",
        );
        document.table(table(answer, lab));
        document.list(notes(answer).iter().map(Note::to_string));
    }
    document.heading(2, "Cautions");
    document.caution(
        "prices",
        "Prices are those of the lab. What old parts sell for, and the power that new ones draw, is not counted.",
    );
    document.caution(
        "estimate",
        "This is an estimate from the numbers given. Measure a first handful of guests before you spend money on it.",
    );
    document.sheet = sheet(answer);
    document
}

/// The notes of all options, each once; several changes at once have only those that one of them has by itself.
fn notes(answer: &UpgradeAnswer) -> Vec<Note> {
    let mut notes = Vec::new();
    for option in &answer.options {
        if let [note] = option.note.0[..]
            && !notes.contains(&note)
        {
            notes.push(note);
        }
    }
    notes
}

/// What the host holds now, and what is best to do.
fn sentence(answer: &UpgradeAnswer, lab: &Lab) -> String {
    let now = match answer.now.fits {
        Some(n) => format!(
            "{} holds {} now; {}",
            answer.host,
            counted(answer, n),
            runs_out(&answer.now.binds)
        ),
        None if answer.now.binds.is_empty() => {
            format!("{}: nothing that was considered runs out", answer.host)
        }
        None => format!(
            "{} does not hold the guests that must run: {}",
            answer.host,
            runs_out(&answer.now.binds)
        ),
    };
    let limit = answer.budget.map_or_else(String::new, |budget| {
        format!("within {} ", format::money(budget, &lab.currency))
    });
    let best = match answer.best.map(|index| &answer.options[index]) {
        None => format!("nothing that could be bought {limit}holds more"),
        Some(best) => {
            let held = match best.fits {
                None => "without a limit".to_owned(),
                Some(0) => {
                    "every limit is kept, with no guest beside those that must run".to_owned()
                }
                Some(n) => counted(answer, n),
            };
            let price = match best.price {
                Some(price) if price > 0.0 => {
                    format!(" for {}", format::money(price, &lab.currency))
                }
                _ => String::new(),
            };
            let most = match answer.budget {
                Some(_) => "most are held with",
                None => "most for the money is gained with",
            };
            format!("{limit}{most} {}: {held}{price}", best.change)
        }
    };
    let mut capital = best.chars();
    let best = capital.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(capital).collect()
    });
    format!("{now}. {best}.")
}

fn counted(answer: &UpgradeAnswer, n: u64) -> String {
    match answer.unit {
        "sets" => format::plural(n, "set", "sets"),
        _ => format::plural(n, "guest", "guests"),
    }
}

/// "memory runs out first".
fn runs_out(binding: &[Named]) -> String {
    let pairs = binding.iter().map(|one| (one.resource, one.name.as_str()));
    named_run_out_first(&pairs.collect::<Vec<_>>())
}

fn table(answer: &UpgradeAnswer, lab: &Lab) -> Table {
    let per = format!("per 100 {}", lab.currency);
    let mut table = Table::new(&[
        ("purchase", Align::Left),
        ("price", Align::Right),
        ("holds", Align::Right),
        ("gain", Align::Right),
        (per.trim_end(), Align::Right),
        ("runs out first then", Align::Left),
    ]);
    for (index, one) in answer.options.iter().enumerate() {
        let strong = answer.best == Some(index);
        let cell = |text: String| {
            if strong {
                Cell::strong(text)
            } else {
                Cell::text(text)
            }
        };
        let mark = match (strong, answer.budget) {
            (true, Some(_)) => " (most)",
            (true, None) => " (best)",
            (false, _) => "",
        };
        table.row([
            cell(format!("{}{mark}", one.change)),
            cell(one.price.map_or_else(
                || "no price".to_owned(),
                |price| format::money(price, &lab.currency),
            )),
            cell(holds(one)),
            cell(gain(one)),
            cell(
                one.gain_per_100
                    .map_or_else(|| "–".to_owned(), format::number),
            ),
            cell(then(one)),
        ]);
    }
    table
}

fn holds(one: &Choice) -> String {
    match one.largest {
        Largest::Bound(n) => format::count(n),
        Largest::Unbounded => "no limit".to_owned(),
        Largest::Infeasible => "does not fit".to_owned(),
    }
}

fn gain(one: &Choice) -> String {
    match one.gain {
        Some(0) => "nothing".to_owned(),
        Some(gain) if gain < 0 => format!("-{}", format::count(gain.unsigned_abs())),
        Some(gain) => format!("+{}", format::count(gain.unsigned_abs())),
        None => "all".to_owned(),
    }
}

/// What binds afterwards; where nothing is gained, that this is why.
fn then(one: &Choice) -> String {
    let labels = one.binds.iter();
    let labels = labels.map(|one| resource_label(one.resource, &one.name));
    let labels = listed(&labels.collect::<Vec<_>>());
    match one.gain {
        Some(0) if !labels.is_empty() => format!("{labels}, as before"),
        _ => labels,
    }
}

fn sheet(answer: &UpgradeAnswer) -> Sheet {
    let mut sheet = Sheet::new([
        "host",
        "change",
        "price",
        "fits",
        "gain",
        "gain_per_100",
        "binds",
        "replaces",
        "note",
    ]);
    let text = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
    let whole = |value: Option<u64>| value.map_or_else(String::new, |value| value.to_string());
    sheet.row([
        answer.host.clone(),
        "now".to_owned(),
        String::new(),
        whole(answer.now.fits),
        String::new(),
        String::new(),
        names(&answer.now.binds),
    ]);
    for one in &answer.options {
        sheet.row([
            answer.host.clone(),
            one.change.to_string(),
            text(one.price),
            whole(one.fits),
            one.gain.map_or_else(String::new, |gain| gain.to_string()),
            text(one.gain_per_100),
            names(&one.binds),
            texts(&one.replaces),
            texts(&one.note.0),
        ]);
    }
    sheet
}

fn names(binding: &[Named]) -> String {
    let names = binding.iter().map(|one| one.name.as_str());
    names.collect::<Vec<_>>().join(" ")
}

fn texts<T: ToString>(all: &[T]) -> String {
    let texts = all.iter().map(T::to_string);
    texts.collect::<Vec<_>>().join(" ")
}
