//! `berthage explain`: every number of one host, or what an error code means.

use super::{Reply, hosts_asked};
use crate::cli::ExplainArgs;
use crate::diagnose::{Diagnostic, Diagnostics, codes, codes::Code, source::Sources};
use crate::inventory::key_path;
use crate::inventory::keys::later_command;
use crate::inventory::lab::{Host, Lab};
use crate::inventory::load;
use crate::report;
use crate::report::document::{Document, Sheet};
use crate::sizing::answer::Outcome;
use crate::sizing::explain::{UsedLater, explain};
use crate::sizing::fit::fit_host;

pub(super) fn run(args: &ExplainArgs) -> Result<Reply, Diagnostics> {
    let subject = args.subject.to_string_lossy();
    if is_code(&subject) {
        return code(&subject);
    }
    let lab = load(&args.subject, &args.common.sets)?;
    let hosts = hosts_asked(&lab, &args.common)?;
    // One host is explained; the first where several were named.
    let host = hosts[0];
    let fitted = fit_host(&lab, host);
    let n = args.guests.or(fitted.fits).unwrap_or(0);
    let answer = explain(&lab, host, n, fitted.unit, used_later(&lab, host));
    Ok(Reply {
        document: report::explain::document(&answer),
        json: report::json::render(&answer),
        outcome: Outcome::Fits,
    })
}

/// "E0203", in upper or lower case.
fn is_code(subject: &str) -> bool {
    let mut letters = subject.chars();
    matches!(letters.next(), Some('E' | 'e'))
        && subject.len() == 5
        && letters.all(|letter| letter.is_ascii_digit())
}

/// Keys that were given but that only a later command uses.
fn used_later(lab: &Lab, host: &Host) -> Vec<UsedLater> {
    let own = key_path(&["host", &host.name]) + ".";
    let given = lab
        .origins
        .iter()
        .filter(|(path, _)| !path.starts_with("host.") || path.starts_with(&own));
    given
        .filter_map(|(path, _)| {
            Some(UsedLater {
                key: path.clone(),
                command: later_command(path)?,
            })
        })
        .collect()
}

/// What an error code means.
fn code(number: &str) -> Result<Reply, Diagnostics> {
    let Some(entry) = codes::find(number) else {
        let known: Vec<&str> = codes::entries().map(|entry| entry.number).collect();
        let error = Diagnostic::new(
            Code::UnknownCode,
            format!("there is no error code {number}"),
        )
        .help(format!("codes are {}", known.join(", ")));
        return Err(Diagnostics::new(Sources::default(), vec![error]));
    };
    let mut document = Document::new();
    document.heading(1, format!("{}: {}", entry.number, entry.title));
    document.paragraph(entry.explanation);
    document.heading(2, "Refused");
    document.list(entry.wrong.text().lines());
    document.heading(2, "Mended");
    document.list(entry.mended.text().lines());
    let mut sheet = Sheet::new(["code", "title", "explanation", "refused", "mended"]);
    sheet.row([
        entry.number,
        entry.title,
        entry.explanation,
        entry.wrong.text(),
        entry.mended.text(),
    ]);
    document.sheet = sheet;
    let json = serde_json::json!({
        "report": "explain",
        "version": crate::sizing::fit::CONTRACT,
        "code": entry.number,
        "title": entry.title,
        "explanation": entry.explanation,
        "refused": entry.wrong.text(),
        "mended": entry.mended.text(),
    });
    Ok(Reply {
        document,
        json: report::json::render(&json),
        outcome: Outcome::Fits,
    })
}
