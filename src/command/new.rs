//! `berthage new`: a commented lab to start from.

use std::io::Write;
use std::path::Path;

use super::write;
use crate::cli::tool::NewArgs;
use crate::diagnose::Diagnostics;
use crate::inventory::starter::starter;

pub(super) fn run(args: &NewArgs, stdout: &mut dyn Write) -> Result<(), Diagnostics> {
    let text = starter(&args.guests);
    if args.force {
        write::put(&text, Some(&args.lab), &[], stdout)?;
    } else {
        write::create(&args.lab, &text)?;
    }
    write::print(&next(&args.lab), stdout)
}

/// What was written, and what to do with it.
fn next(lab: &Path) -> String {
    // A file in this folder called lab.toml is found without its name.
    let name = match lab.to_str() {
        Some("lab.toml") => String::new(),
        _ => format!(" {}", lab.display()),
    };
    format!(
        "{} is written. It is a whole lab with invented numbers: edit it, then run\n\n  \
         berthage check{name}\n  berthage fit{name}\n",
        lab.display()
    )
}
