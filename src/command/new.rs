//! `berthage new`: a commented lab to start from.

use std::io::Write;
use std::path::Path;

use super::survey::host_at;
use super::write::{Outputs, Replace};
use super::{calibrate_guests, call_error};
use crate::calibrate::guests::apply::added_guest;
use crate::calibrate::guests::profile::profiles;
use crate::calibrate::guests::table;
use crate::cli::tool::NewArgs;
use crate::diagnose::Diagnostics;
use crate::inventory::starter::{starter, starter_on};
use crate::survey::{Known, survey};

/// The lab of three keys a host and one guest profile.
const SHORT: &str = include_str!("new/short.toml");

pub(super) fn run(args: &NewArgs, stdout: &mut dyn Write) -> Result<(), Diagnostics> {
    let is_short = args.guests.is_empty() && !args.all;
    let starter = || {
        if is_short {
            SHORT.to_owned()
        } else {
            starter(&args.guests)
        }
    };
    let (text, missing) = match &args.from_survey {
        None => (starter(), Vec::new()),
        Some(lines) => {
            let table = survey(&host_at(&args.root)?, &Known::default());
            let guests = lines.as_ref().map(|file| watched(file)).transpose()?;
            let text = match (SHORT.find("[[host]]").zip(SHORT.find("[[guest]]")), guests) {
                (Some(_), Some(_)) if !is_short => {
                    return Err(call_error::two_sources_of_guests().into());
                }
                (Some((host, guest)), guests) if is_short => {
                    let guests = guests.unwrap_or_else(|| SHORT[guest..].to_owned());
                    format!("{}{}\n{guests}", &SHORT[..host], table.text())
                }
                _ => starter_on(&table.text(), &args.guests),
            };
            (text, table.missing().to_vec())
        }
    };
    let may = match args.force {
        true => Replace::Others,
        false => Replace::Nothing,
    };
    let files = Outputs::default().with(&args.lab, text, may);
    Ok(files.write(&[], &next(&args.lab, &missing), stdout)?)
}

/// The guests that lines say, a table a kind.
fn watched(file: &Path) -> Result<String, Diagnostics> {
    let record = calibrate_guests::record(file, &calibrate_guests::lines(file)?, &[])?;
    let name = file
        .file_name()
        .unwrap_or(file.as_os_str())
        .to_string_lossy();
    let name = name.replace(char::is_control, "?");
    let profiles = profiles(&[], &record);
    let guests = profiles.iter().map(|profile| {
        let guest = added_guest(profile);
        table::profile(profile, &guest, &name, calibrate_guests::comment)
    });
    Ok(guests.collect::<Vec<_>>().join("\n"))
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
