//! Files: `include`, loops, what is no file, what is no text.

use std::fs;
use std::path::{Path, PathBuf};

use super::super::load;
use super::super::load::MOST_MARKS;
use super::{GUEST, HOST};
use crate::diagnose::Diagnostics;
use crate::diagnose::ErrorKind;
use crate::lab::Source;

/// A directory of its own for one test, gone when the test is.
struct Place(PathBuf);

impl Place {
    fn new(name: &str) -> Place {
        let path = std::env::temp_dir().join(format!("berthage-{name}-{}", std::process::id()));
        fs::create_dir_all(&path).expect("a directory");
        Place(path)
    }

    fn write(&self, name: &str, content: impl AsRef<[u8]>) -> PathBuf {
        let path = self.0.join(name);
        fs::create_dir_all(path.parent().unwrap_or(Path::new(""))).expect("a directory");
        fs::write(&path, content).expect("a file");
        path
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

#[track_caller]
fn refused(path: &Path, kind: ErrorKind) -> Diagnostics {
    let errors = load(path, &[]).expect_err("wrong");
    assert_eq!(errors.list()[0].kind, kind, "{errors}");
    errors
}

#[test]
fn included_files_are_read_beside_the_including_one() {
    let place = Place::new("include");
    place.write(
        "parts/guests.toml",
        format!("include = [\"images.toml\"]\n{GUEST}image = \"small\"\n"),
    );
    place.write(
        "parts/images.toml",
        "[[image]]\nname = \"small\"\nsize = \"3 GiB\"\n",
    );
    // Included twice, read once.
    let lab = place.write(
        "lab.toml",
        format!("include = [\"parts/guests.toml\", \"parts/images.toml\"]\n{HOST}"),
    );
    let lab = load(&lab, &[]).unwrap_or_else(|errors| panic!("{errors}"));
    assert_eq!(
        (lab.hosts.len(), lab.images.len(), lab.guests[0].image),
        (1, 1, Some(0))
    );
    let Source::File { file, line } = &lab.origins["guest.web.memory"].source else {
        panic!("no file")
    };
    assert!(file.ends_with("guests.toml") && *line == 5, "{file}:{line}");
}

#[test]
fn the_same_name_in_two_files_shows_both_places() {
    let place = Place::new("twice");
    place.write("more.toml", format!("[policy]\ncpu_slowdown = 2\n{GUEST}"));
    let lab = place.write(
        "lab.toml",
        format!("include = [\"more.toml\"]\n[policy]\ncpu_slowdown = 3\n{HOST}{GUEST}"),
    );
    let errors = refused(&lab, ErrorKind::Duplicate);
    assert_eq!(errors.list().len(), 2, "{errors}");
    let text = errors.to_string();
    assert!(text.contains("two guests have the name `web`"), "{text}");
    assert!(
        text.contains("more.toml:5:8") && text.contains("lab.toml:11:8"),
        "{text}"
    );
}

#[test]
fn loops_are_refused() {
    let place = Place::new("loop");
    let lab = place.write("lab.toml", format!("include = [\"a.toml\"]\n{HOST}{GUEST}"));
    place.write("a.toml", "include = [\"b.toml\"]");
    place.write("b.toml", "include = [\"./a.toml\"]");
    let errors = refused(&lab, ErrorKind::IncludeLoop);
    assert!(errors.to_string().contains("b.toml:1:12"), "{errors}");
    let own = place.write("own.toml", "include = [\"own.toml\"]");
    refused(&own, ErrorKind::IncludeLoop);
    for index in 0..40 {
        place.write(
            &format!("deep-{index}.toml"),
            format!("include = [\"deep-{}.toml\"]", index + 1),
        );
    }
    place.write("deep-40.toml", "");
    refused(&place.0.join("deep-0.toml"), ErrorKind::IncludeLoop);
}

#[test]
fn what_is_no_file_and_what_is_no_text_is_refused() {
    let place = Place::new("no-file");
    refused(&place.0.join("missing.toml"), ErrorKind::UnreadableFile);
    refused(&place.0, ErrorKind::IsADirectory);
    refused(Path::new(""), ErrorKind::UnreadableFile);
    let errors = refused(
        &place.write("latin.toml", b"[lab]\nname = \"gr\xf6\xdfe\"\n"),
        ErrorKind::NotUtf8,
    );
    assert!(errors.to_string().contains("0xF6 in line 2"), "{errors}");
    refused(
        &place.write("utf16.toml", b"\xff\xfe[\0l\0"),
        ErrorKind::NotUtf8,
    );
    let large = place.write("large.toml", "");
    fs::File::options()
        .write(true)
        .open(&large)
        .and_then(|file| file.set_len(17 << 20))
        .expect("a large file");
    refused(&large, ErrorKind::FileTooLarge);
    // The files of an inventory have one limit together.
    let comment = format!("#{}\n", " ".repeat(9 << 20));
    place.write("half.toml", &comment);
    let both = format!("include = [\"half.toml\"]\n{HOST}{GUEST}{comment}");
    let errors = refused(&place.write("both.toml", both), ErrorKind::FileTooLarge);
    assert!(errors.to_string().contains("both.toml:1:12"), "{errors}");
    let blank = "\n".repeat(MOST_MARKS + 1);
    refused(&place.write("blank.toml", &blank), ErrorKind::FileTooLarge);
    let list = format!("[lab]\nnotes = [{}]", "1,".repeat(MOST_MARKS + 1));
    refused(&place.write("list.toml", list), ErrorKind::FileTooLarge);
    // What is in a comment does not count, and what only looks like one does.
    for comment in ["#", ",", "= "] {
        let comment = comment.repeat(MOST_MARKS + 1);
        let name = place.write("comment.toml", format!("{HOST}{GUEST}#{comment}\n"));
        assert!(load(&name, &[]).is_ok());
    }
    for start in [
        "notes = [\"#\",",
        "notes = ['#',",
        "notes = [\"\"\"\n#\"\"\",",
    ] {
        let list = format!("[lab]\n{start}{}]", "1,".repeat(MOST_MARKS + 1));
        refused(&place.write("list.toml", list), ErrorKind::FileTooLarge);
    }
    let includes = place.write(
        "includes.toml",
        format!("include = [\"missing.toml\", \".\", \"latin.toml\"]\n{HOST}{GUEST}"),
    );
    let errors = load(&includes, &[]).expect_err("three bad files");
    let codes: Vec<ErrorKind> = errors
        .list()
        .iter()
        .map(|diagnostic| diagnostic.kind)
        .collect();
    assert_eq!(
        codes,
        [
            ErrorKind::UnreadableFile,
            ErrorKind::IsADirectory,
            ErrorKind::NotUtf8
        ],
        "{errors}"
    );
}

#[test]
fn a_byte_order_mark_is_no_error() {
    let place = Place::new("mark");
    let lab = place.write("lab.toml", format!("\u{feff}{HOST}{GUEST}"));
    assert!(load(&lab, &[]).is_ok());
}
