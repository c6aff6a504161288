//! `berthage survey`: the running host as a table for a lab file, or as lines of readings.

use std::io::{self, Write};
use std::path::Path;
use std::thread::sleep;
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use super::append::Series;
use super::file_error::{FileError, HostFault, WriteFault};
use super::write::{Outputs, print};
use crate::cli::SurveyArgs;
use crate::diagnose::Diagnostics;
use crate::sizing::answer::Outcome;
use crate::survey::reading::Snapshot;
use crate::survey::table::HostTable;
use crate::survey::{Known, Root, survey};

/// Rates of a single reading are taken over this time `[s]`.
const GLANCE: f64 = 1.0;

pub(super) fn run(args: &SurveyArgs, stdout: &mut dyn Write) -> Result<Outcome, Diagnostics> {
    if args.reading {
        return readings(args, &host_at(&args.root)?, stdout).map(|()| Outcome::Fits);
    }
    let known = Known {
        name: args.name.clone(),
        guests: args.guests,
    };
    let table = surveyed(&args.root, &known)?;
    let text = table.text();
    match &args.output {
        Some(path) if args.force => Outputs::one(path, text).write(&[], "", stdout)?,
        Some(path) => Outputs::one(path, text).new_only().write(&[], "", stdout)?,
        None => print(&text, stdout)?,
    }
    // A table that has to be finished by hand is not what was asked for.
    Ok(if table.missing().is_empty() {
        Outcome::Fits
    } else {
        Outcome::DoesNotFit
    })
}

/// The table of the host whose files lie below a folder.
pub(super) fn surveyed(folder: &Path, known: &Known) -> Result<HostTable, Diagnostics> {
    Ok(survey(&host_at(folder)?, known))
}

/// A folder that holds a Linux host's files.
fn host_at(folder: &Path) -> Result<Root, Diagnostics> {
    let wrong = |fault| FileError::NoHost(folder.to_owned(), fault);
    let root = Root::new(folder)
        .map_err(|error| wrong(HostFault::System(error.kind(), error.to_string())))?;
    if !root.exists("proc/meminfo") && !root.exists("sys/devices/system/cpu") {
        return Err(wrong(HostFault::NoFiles).into());
    }
    Ok(root)
}

/// Where lines of readings go.
enum Sink<'a> {
    Stdout(&'a mut dyn Write),
    File(Series),
}

/// Whether the output still has a reader.
#[derive(PartialEq, Eq)]
enum Reader {
    IsThere,
    HasGone,
}

impl Sink<'_> {
    fn put(&mut self, line: &str) -> Result<Reader, FileError> {
        match self {
            Sink::File(series) => series.line(line).map(|()| Reader::IsThere),
            Sink::Stdout(stdout) => {
                match writeln!(stdout, "{line}").and_then(|()| stdout.flush()) {
                    Ok(()) => Ok(Reader::IsThere),
                    Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(Reader::HasGone),
                    Err(error) => {
                        let fault = WriteFault::of_file(&error);
                        Err(FileError::cannot_write(Path::new("the reading"), fault))
                    }
                }
            }
        }
    }
}

fn readings(args: &SurveyArgs, root: &Root, stdout: &mut dyn Write) -> Result<(), Diagnostics> {
    let mut before = None;
    let mut now = Snapshot::take(root, clock());
    let header = now.header();
    let mut sink = match &args.output {
        Some(path) => Sink::File(Series::open(path, &header)?),
        None => Sink::Stdout(stdout),
    };
    if matches!(sink, Sink::Stdout(_)) && sink.put(&header)? == Reader::HasGone {
        return Ok(());
    }
    // A copied tree does not move, so a second look at it shows nothing new.
    if root.is_running() {
        wait(GLANCE);
        before = Some(std::mem::replace(&mut now, Snapshot::take(root, clock())));
    }
    let start = Instant::now();
    for turn in 1_u32.. {
        let line = now.line(before.as_ref(), args.guests.unwrap_or(0), args.settled);
        if sink.put(&line)? == Reader::HasGone {
            break;
        }
        let Some(every) = args.every else { break };
        let next = f64::from(turn) * every;
        if args.lasting.is_some_and(|lasting| next > lasting) {
            break;
        }
        wait(next - start.elapsed().as_secs_f64());
        before = Some(std::mem::replace(&mut now, Snapshot::take(root, clock())));
    }
    Ok(())
}

fn wait(seconds: f64) {
    sleep(Duration::try_from_secs_f64(seconds).unwrap_or_default());
}

/// Seconds since 1970.
fn clock() -> f64 {
    SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .map_or(0.0, |since| since.as_secs_f64())
}
