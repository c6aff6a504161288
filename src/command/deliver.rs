//! Writes a report where it was asked for: to the terminal, or to a file whole or not at all.

use std::fs;
use std::io::{self, ErrorKind, Write};
use std::path::Path;

use anyhow::Context;

use super::Reply;
use crate::cli::{Color, Format, OutputArgs};
use crate::diagnose::{Diagnostic, Diagnostics, codes::Code, source::Sources};
use crate::report::{csv, markdown, terminal};

/// What is known of the terminal; tests make one up.
#[derive(Debug, Clone, Copy)]
pub struct Terminal {
    /// Whether the report goes to a terminal.
    pub stdout_is_terminal: bool,
    /// Whether errors go to a terminal.
    pub stderr_is_terminal: bool,
    /// Columns of the terminal, where there is one.
    pub width: Option<u16>,
    /// Whether NO_COLOR is set.
    pub no_color: bool,
}

/// Columns when there is no terminal to ask.
const PIPED_WIDTH: u16 = 80;
/// Columns of errors when there is no terminal to ask: wide enough for a line of a file.
const PIPED_ERROR_WIDTH: u16 = 120;

impl Terminal {
    pub(super) fn stderr_width(&self) -> usize {
        usize::from(
            self.width
                .filter(|_| self.stderr_is_terminal)
                .unwrap_or(PIPED_ERROR_WIDTH),
        )
    }
}

/// Whether bold and colour may be used.
pub(super) fn color(asked: Color, is_terminal: bool, terminal: &Terminal) -> bool {
    match asked {
        Color::Always => true,
        Color::Never => false,
        Color::Auto => is_terminal && !terminal.no_color,
    }
}

/// Writes a reply in the format asked for. A reader that has gone away is no error.
pub(super) fn deliver(
    reply: &Reply,
    asked: &OutputArgs,
    terminal: &Terminal,
    stdout: &mut dyn Write,
) -> Result<(), Diagnostics> {
    let to_terminal = asked.output.is_none() && terminal.stdout_is_terminal;
    let text = match asked.format {
        Format::Json => reply.json.clone(),
        Format::Csv => csv::render(&reply.document),
        Format::Markdown => markdown::render(&reply.document),
        Format::Text => {
            let own_width = terminal
                .width
                .filter(|_| to_terminal)
                .unwrap_or(PIPED_WIDTH);
            let look = terminal::Look {
                width: usize::from(asked.width.unwrap_or(own_width)),
                color: color(asked.color, to_terminal, terminal),
                ascii: asked.ascii,
            };
            terminal::render(&reply.document, &look)
        }
    };
    match &asked.output {
        Some(path) => {
            write_whole(path, text.as_bytes()).map_err(|error| cannot_write(path, &error))
        }
        None => match stdout
            .write_all(text.as_bytes())
            .and_then(|()| stdout.flush())
        {
            Err(error) if error.kind() != ErrorKind::BrokenPipe => {
                Err(cannot_write(Path::new("the report"), &error.into()))
            }
            Ok(()) | Err(_) => Ok(()),
        },
    }
}

/// Writes a file whole or not at all: beside its place first, then moved there in one step.
fn write_whole(path: &Path, bytes: &[u8]) -> anyhow::Result<()> {
    // A pipe or device cannot be replaced by a file; it is written as it is.
    if fs::metadata(path).is_ok_and(|there| !there.is_file() && !there.is_dir()) {
        return Ok(fs::OpenOptions::new()
            .write(true)
            .open(path)?
            .write_all(bytes)?);
    }
    anyhow::ensure!(!path.is_dir(), "it is a directory");
    let parent = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    let folder = parent.unwrap_or(Path::new("."));
    anyhow::ensure!(folder.is_dir(), "there is no folder {}", folder.display());
    let mut draft = new_file(folder).context("no new file can be made beside it")?;
    draft
        .write_all(bytes)
        .context("the draft beside it takes no more")?;
    draft
        .as_file()
        .sync_all()
        .context("the draft beside it takes no more")?;
    draft
        .persist(path)
        .context("the draft cannot be moved into its place")?;
    Ok(())
}

/// A new file beside the wanted place, with the permissions any new file would get.
fn new_file(folder: &Path) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".berthage-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder)
}

fn cannot_write(path: &Path, error: &anyhow::Error) -> Diagnostics {
    let error = Diagnostic::new(
        Code::CannotWrite,
        format!("{} cannot be written: {error:#}", path.display()),
    )
    .help("choose a file in a folder that exists and that you may write to; nothing was written");
    Diagnostics::new(Sources::default(), vec![error])
}
