//! Reads files, follows `include`, parses.

use std::fs;
use std::path::{Path, PathBuf};

use toml::de::DeTable;

use crate::diagnose::source::{Medium, Place, Sources};
use crate::diagnose::{Diagnostic, Diagnostics};
use crate::pipe;

use super::problem::files;
use super::tree::{self, Base, Table};

mod hint;
mod syntax;

/// Most bytes of all files together `[B]`; ten thousand hosts take about a sixth of it.
pub(super) const LARGEST_FILE: u64 = 16 * 1024 * 1024;
/// Most marks of all files together; ten thousand hosts have about half of it. The parser and what is made of
/// its parts keep about 200 bytes for each, so this bounds the memory that it takes.
pub(super) const MOST_MARKS: usize = 800_000;
/// How deep files may include one another.
const DEEPEST: usize = 32;
/// How many files one inventory may have.
const MOST_FILES: usize = 1000;

/// All texts, and the tables of the files in the order in which they are included.
type Loaded = (Sources, Vec<Table>);

/// Reads the file at `path` and what it includes.
pub(super) fn open(path: &Path) -> Result<Loaded, Diagnostics> {
    let mut loading = Loading::default();
    loading.file(path, None);
    loading.finish()
}

/// Takes `text` for the file called `name` and reads what it includes.
pub(super) fn text(name: &str, text: &str) -> Result<Loaded, Diagnostics> {
    let mut loading = Loading::default();
    let path = Path::new(name);
    let identity = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    match loading.count_in(name, text) {
        Ok(()) => loading.parse(path, identity, text),
        Err(error) => loading.errors.push(error),
    }
    loading.finish()
}

/// The state of loading.
#[derive(Default)]
struct Loading {
    /// Bytes and marks of the files so far.
    bytes: u64,
    marks: usize,
    sources: Sources,
    files: Vec<Table>,
    errors: Vec<Diagnostic>,
    /// Files being read, each included by the one before it.
    open: Vec<PathBuf>,
    /// Files read, so that one included by two others is read once.
    seen: Vec<PathBuf>,
    /// How many were asked for, those that cannot be read included.
    asked: usize,
}

impl Loading {
    fn finish(self) -> Result<Loaded, Diagnostics> {
        if self.errors.is_empty() {
            Ok((self.sources, self.files))
        } else {
            Err(Diagnostics::new(self.sources, self.errors))
        }
    }

    /// Counts a file in, if there is room for it.
    fn count_in(&mut self, name: &str, text: &str) -> Result<(), Diagnostic> {
        self.bytes += text.len() as u64;
        self.marks += count_marks(text);
        if self.bytes > LARGEST_FILE {
            Err(too_large(name))
        } else if self.marks > MOST_MARKS {
            Err(files::too_many_marks(name, MOST_MARKS))
        } else {
            Ok(())
        }
    }

    /// Reads one file, asked for on the command line or by the `include` at a place.
    fn file(&mut self, path: &Path, asked: Option<Place>) {
        let name = path.display().to_string();
        // What has no canonical path, such as a pipe, is identified by its name; reading shows whether it is there.
        let identity = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        if self.open.contains(&identity) {
            let error = files::include_loop(&name);
            let error = error.at_any(asked, "leads back to a file that is being read");
            return self.errors.push(error);
        }
        if self.seen.contains(&identity) {
            return;
        }
        self.asked += 1;
        if self.open.len() >= DEEPEST || self.asked > MOST_FILES {
            // Said once, however many more there are.
            if self.asked <= MOST_FILES + 1 {
                let error = files::too_many(DEEPEST, MOST_FILES);
                self.errors.push(error.at_any(asked, "one file too many"));
            }
            return;
        }
        let left = LARGEST_FILE.saturating_sub(self.bytes);
        let bytes = pipe::read(path, left).map_err(|error| files::unreadable(&name, &error));
        let text = bytes.and_then(|bytes| match bytes.len() as u64 > left {
            false => String::from_utf8(bytes).map_err(|error| files::not_utf8(&name, &error)),
            true => Err(too_large(&name)),
        });
        let counted = text.and_then(|text| self.count_in(&name, &text).map(|()| text));
        match counted {
            Ok(text) => self.parse(path, identity, &text),
            Err(error) => self.errors.push(error.at_any(asked, "included here")),
        }
    }

    /// Parses the text of one file, then what it includes.
    fn parse(&mut self, path: &Path, identity: PathBuf, text: &str) {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let source = self
            .sources
            .add(&path.display().to_string(), text, Medium::File);
        let base = Base { source, offset: 0 };
        if let Some(mut errors) = syntax::not_toml(text, base) {
            self.errors.append(&mut errors);
            return;
        }
        let (parsed, errors) = DeTable::parse_recoverable(text);
        if !errors.is_empty() {
            self.errors
                .extend(syntax::diagnostics(&errors, parsed.get_ref(), text, base));
            return;
        }
        let file = tree::table(parsed.get_ref(), base);
        let included = included(&file);
        self.files.push(file);
        self.seen.push(identity.clone());
        self.open.push(identity);
        let beside = path.parent().unwrap_or(Path::new(""));
        for (name, place) in included {
            self.file(&beside.join(name), Some(place));
        }
        self.open.pop();
    }
}

/// The files a file includes; what is no list of names is left to be reported with the other values.
fn included(file: &Table) -> Vec<(String, Place)> {
    let list = file.list("include").iter();
    list.filter_map(|node| Some((node.text()?.to_owned(), node.place)))
        .collect()
}

/// Roughly how many parts the parser takes a text for: spaces in a row are one, and a comment is one.
fn count_marks(text: &str) -> usize {
    let lines = text.as_bytes().split_inclusive(|byte| *byte == b'\n');
    lines.map(marks_of_line).sum()
}

fn marks_of_line(line: &[u8]) -> usize {
    // A `#` after which no text can end begins a comment, or is within a text of several lines.
    let quote = line.iter().rposition(|byte| matches!(byte, b'"' | b'\''));
    let rest = quote.map_or(0, |at| at + 1);
    let comment = line[rest..].iter().position(|byte| *byte == b'#');
    let line = comment.map_or(line, |at| &line[..=rest + at]);
    let before = [b'\n'].into_iter().chain(line.iter().copied());
    let pairs = before.zip(line);
    let starts = pairs.filter(|(before, byte)| match byte {
        b' ' | b'\t' => before != *byte,
        b'\n' | b',' | b'=' | b'.' | b'[' | b']' | b'{' | b'}' | b'"' | b'\'' | b'#' => true,
        _ => false,
    });
    starts.count()
}

fn too_large(name: &str) -> Diagnostic {
    files::too_large(name, LARGEST_FILE / (1024 * 1024))
}
