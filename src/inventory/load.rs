//! Reads files, follows `include`, parses.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::string::FromUtf8Error;

use toml::de::DeTable;

use crate::diagnose::ErrorKind;
use crate::diagnose::source::{Medium, Place, Sources};
use crate::diagnose::{Diagnostic, Diagnostics};
use crate::pipe;

use super::tree::{self, Base, Table};

mod hint;
mod syntax;

/// Largest file `[B]`; ten thousand hosts take about a quarter of it.
pub(super) const LARGEST_FILE: u64 = 16 * 1024 * 1024;
/// How deep files may include one another.
const DEEPEST: usize = 32;
/// How many files one inventory may have.
const MOST_FILES: usize = 1000;

/// The parsed files, the one asked for first, and their texts.
#[derive(Debug)]
pub(super) struct Loaded {
    /// All texts.
    pub sources: Sources,
    /// The tables of the files, in the order in which they are included.
    pub files: Vec<Table>,
}

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
    if text.len() as u64 > LARGEST_FILE {
        loading.errors.push(too_large(name));
    } else {
        let identity = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        loading.parse(path, identity, text);
    }
    loading.finish()
}

/// The state of loading.
#[derive(Default)]
struct Loading {
    sources: Sources,
    files: Vec<Table>,
    errors: Vec<Diagnostic>,
    /// Files being read, each included by the one before it.
    open: Vec<PathBuf>,
    /// Files read, so that one included by two others is read once.
    seen: Vec<PathBuf>,
}

impl Loading {
    fn finish(self) -> Result<Loaded, Diagnostics> {
        if self.errors.is_empty() {
            Ok(Loaded {
                sources: self.sources,
                files: self.files,
            })
        } else {
            Err(Diagnostics::new(self.sources, self.errors))
        }
    }

    /// Reads one file, asked for on the command line or by the `include` at a place.
    fn file(&mut self, path: &Path, asked: Option<Place>) {
        let name = path.display().to_string();
        // What has no path of its own, such as a pipe, is what it is called; reading says whether it is there.
        let identity = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        if self.open.contains(&identity) {
            let error = Diagnostic::new(
                ErrorKind::IncludeLoop,
                format!("`{name}` includes itself, directly or through others"),
            )
            .at_any(asked, "leads back to a file that is being read")
            .hint("take one of the files out of the `include` list");
            self.errors.push(error);
            return;
        }
        if self.seen.contains(&identity) {
            return;
        }
        if self.open.len() >= DEEPEST || self.seen.len() >= MOST_FILES {
            let words = format!(
                "more than {DEEPEST} files include one another, or there are more than {MOST_FILES}"
            );
            let error =
                Diagnostic::new(ErrorKind::IncludeLoop, words).at_any(asked, "one file too many");
            self.errors.push(error.hint("put more into one file"));
            return;
        }
        let bytes = pipe::read(path, LARGEST_FILE).map_err(|error| unreadable(&name, &error));
        let text = bytes.and_then(|bytes| match bytes.len() as u64 {
            ..=LARGEST_FILE => String::from_utf8(bytes).map_err(|error| not_text(&name, &error)),
            _ => Err(too_large(&name)),
        });
        match text {
            Ok(text) => self.parse(path, identity, &text),
            Err(error) => self.errors.push(error.at_any(asked, "included here")),
        }
    }

    /// Parses the text of one file and goes on with what it includes.
    fn parse(&mut self, path: &Path, identity: PathBuf, text: &str) {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let source = self
            .sources
            .add(&path.display().to_string(), text, Medium::File);
        let base = Base { source, offset: 0 };
        if let Some(mut errors) = syntax::hopeless(text, base) {
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

fn unreadable(name: &str, error: &io::Error) -> Diagnostic {
    match error.kind() {
        io::ErrorKind::NotFound if name == "-" => {
            Diagnostic::new(ErrorKind::UnreadableFile, "there is no file `-`")
                .hint("name /dev/stdin to read what is piped in")
        }
        io::ErrorKind::NotFound => Diagnostic::new(ErrorKind::UnreadableFile, format!("there is no file `{name}`"))
            .hint("give the path of an inventory file, or write one to start from with `berthage new`; a path in `include` starts at the file it stands in"),
        io::ErrorKind::IsADirectory => Diagnostic::new(ErrorKind::IsADirectory, format!("`{name}` is a directory, not a file"))
            .hint("name the inventory file in it"),
        io::ErrorKind::PermissionDenied => {
            Diagnostic::new(ErrorKind::UnreadableFile, format!("`{name}` may not be read by you")).hint("change who may read it, or name another file")
        }
        _ => Diagnostic::new(ErrorKind::UnreadableFile, format!("`{name}` cannot be read: {error}"))
            .hint("name a file that can be read"),
    }
}

fn too_large(name: &str) -> Diagnostic {
    let limit = LARGEST_FILE / (1024 * 1024);
    Diagnostic::new(
        ErrorKind::FileTooLarge,
        format!("`{name}` is larger than the {limit} MiB that an inventory may have"),
    )
    .hint("split it with `include`, or name the right file")
}

fn not_text(name: &str, error: &FromUtf8Error) -> Diagnostic {
    let (bytes, at) = (error.as_bytes(), error.utf8_error().valid_up_to());
    let line = 1 + bytes.iter().take(at).filter(|byte| **byte == b'\n').count();
    let value = bytes.get(at).copied().unwrap_or(0);
    Diagnostic::new(
        ErrorKind::NotUtf8,
        format!(
            "`{name}` is not UTF-8 text: byte 0x{value:02X} in line {line} (byte {at} of the file)"
        ),
    )
    .hint("save it as UTF-8")
}
