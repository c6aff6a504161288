//! `berthage new`: a commented lab to start from.

use std::io::Write;
use std::path::Path;

use super::survey::surveyed;
use super::write::Outputs;
use crate::cli::tool::NewArgs;
use crate::diagnose::Diagnostics;
use crate::inventory::starter::{starter, starter_on};
use crate::survey::Known;

/// The lab of three keys a host and one guest profile.
const SHORT: &str = include_str!("new/short.toml");

pub(super) fn run(args: &NewArgs, stdout: &mut dyn Write) -> Result<(), Diagnostics> {
    let is_short = args.guests.is_empty() && !args.all;
    let (text, missing) = if args.from_survey {
        let table = surveyed(&args.root, &Known::default())?;
        let text = match SHORT.find("[[host]]").zip(SHORT.find("[[guest]]")) {
            Some((host, guest)) if is_short => {
                format!("{}{}\n{}", &SHORT[..host], table.text(), &SHORT[guest..])
            }
            _ => starter_on(&table.text(), &args.guests),
        };
        (text, table.missing().to_vec())
    } else if is_short {
        (SHORT.to_owned(), Vec::new())
    } else {
        (starter(&args.guests), Vec::new())
    };
    let files = Outputs::one(&args.lab, text);
    let files = if args.force { files } else { files.new_only() };
    Ok(files.write(&[], &next(&args.lab, &missing), stdout)?)
}

/// What was written, and what to do with it.
fn next(lab: &Path, missing: &[&'static str]) -> String {
    // A file in this folder called lab.toml is found without its name.
    let name = match lab.to_str() {
        Some("lab.toml") => String::new(),
        _ => format!(" {}", lab.display()),
    };
    let first = match missing {
        [] => "It is a whole lab.\nLook over its numbers, then run".to_owned(),
        keys => format!(
            "This could not be read\nand has to be added first: {}.\nThen run",
            keys.join(", ")
        ),
    };
    format!(
        "{} is written. {first}\n\n  berthage check{name}\n  berthage fit{name}\n",
        lab.display()
    )
}
