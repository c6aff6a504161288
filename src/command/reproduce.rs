//! How a page was made: the program, its version and the call, for whoever wants it again.

use std::ffi::OsString;
use std::path::Path;

use crate::report::document::Document;

/// Makes a page of a report: what it says of files told without folders of this machine, the version and the call.
pub(super) fn append(document: &mut Document, args: &[OsString]) {
    let folders = folders(args);
    document.reword(|text| {
        let mut text = text.to_owned();
        for folder in &folders {
            text = text.replace(folder, "");
        }
        text
    });
    document.heading(2, "How this page was made");
    document.paragraph(format!(
        "By berthage {}, from the inventory named here. The same version and inventory give the same page again (a path from the root is shortened to its name, and where the page went is left out):",
        env!("CARGO_PKG_VERSION")
    ));
    document.code(call(args));
}

/// The folders that paths from the root were given with, each up to its last "/", longest first. What a lab includes
/// lies below its folder and keeps its way from there.
fn folders(args: &[OsString]) -> Vec<String> {
    let words = args.iter().skip(1).map(|arg| arg.to_string_lossy());
    let mut folders: Vec<String> = words
        .filter_map(|word| {
            let path = Path::new(valued(&word).1);
            let folder = path.is_absolute().then(|| path.parent())??;
            let folder = folder.display().to_string();
            // The root itself names no folder of interest, and taking it away would take every "/".
            (folder != "/").then(|| folder + "/")
        })
        .collect();
    folders.sort_by_key(|folder| std::cmp::Reverse(folder.len()));
    folders
}

/// The call as a person would type it: no path of this machine, nothing about where the page goes.
fn call(args: &[OsString]) -> String {
    let mut words = vec!["berthage".to_owned()];
    let mut rest = args.iter().skip(1).map(|arg| arg.to_string_lossy());
    while let Some(word) = rest.next() {
        if word == "--output" {
            rest.next();
        } else if !word.starts_with("--output=") {
            words.push(quoted(&local(&word)));
        }
    }
    words.join(" ")
}

/// A path from the root of this machine is its last part to everybody else.
fn local(word: &str) -> String {
    let (option, path) = valued(word);
    match Path::new(path).file_name() {
        Some(name) if Path::new(path).is_absolute() => {
            format!("{option}{}", name.to_string_lossy())
        }
        _ => word.to_owned(),
    }
}

/// `--option=` and what it is given, or nothing and the word.
fn valued(word: &str) -> (&str, &str) {
    match word.find('=') {
        Some(sign) if word.starts_with("--") => word.split_at(sign + 1),
        _ => ("", word),
    }
}

/// The word as a shell takes it for one.
fn quoted(word: &str) -> String {
    let plain = |letter: char| letter.is_ascii_alphanumeric() || "-_./:=,@%+".contains(letter);
    if !word.is_empty() && word.chars().all(plain) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', "'\\''"))
    }
}

#[cfg(test)]
mod tests {
    use super::call;

    fn shown(args: &[&str]) -> String {
        let args: Vec<_> = args.iter().map(Into::into).collect();
        call(&args)
    }

    #[test]
    fn the_call_can_be_pasted_and_tells_nothing_of_the_machine() {
        assert_eq!(
            shown(&[
                "/opt/bin/berthage",
                "fit",
                "/srv/labs/lab.toml",
                "--output",
                "/srv/log.md",
                "--plot"
            ]),
            "berthage fit lab.toml --plot"
        );
        assert_eq!(
            shown(&[
                "berthage",
                "fit",
                "--set",
                "guest.web.memory=\"4 GiB\"",
                "--output=x",
                "--chart=/srv/load.svg"
            ]),
            "berthage fit --set 'guest.web.memory=\"4 GiB\"' --chart=load.svg"
        );
        assert_eq!(
            shown(&["berthage", "fit", "it's"]),
            "berthage fit 'it'\\''s'"
        );
    }
}
