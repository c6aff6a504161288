//! `berthage survey`: the running host as a table for a lab file, or as lines of readings.

use std::io::{self, Write};
use std::path::Path;
use std::thread::sleep;
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use super::Terminal;
use super::append::Series;
use super::file_error;
use super::write::{Outputs, print};
use crate::cli::SurveyArgs;
use crate::diagnose::{Diagnostic, Diagnostics};
use crate::inventory::load;
use crate::sizing::answer::Outcome;
use crate::survey::each::kind::Pattern;
use crate::survey::each::line::headings;
use crate::survey::each::{GuestFilter, Watch};
use crate::survey::reading::Snapshot;
use crate::survey::table::HostTable;
use crate::survey::{Known, Root, survey};
use crate::words::survey as words;

/// Rates of a single reading are taken over this time `[s]`.
const GLANCE: f64 = 1.0;

pub(super) fn run(
    args: &SurveyArgs,
    terminal: &Terminal,
    stdout: &mut dyn Write,
    stderr: &mut dyn Write,
) -> Result<Outcome, Diagnostics> {
    if args.each {
        let root = host_at(&args.root)?;
        return each(args, &root, terminal, stdout, stderr).map(|()| Outcome::Fits);
    }
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
fn host_at(folder: &Path) -> Result<Root, Diagnostic> {
    let root = Root::new(folder).map_err(|error| file_error::no_host(folder, Some(&error)))?;
    if !root.exists("proc/meminfo") && !root.exists("sys/devices/system/cpu") {
        return Err(file_error::no_host(folder, None));
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
    fn put(&mut self, line: &str) -> Result<Reader, Diagnostic> {
        match self {
            Sink::File(series) => series.line(line).map(|()| Reader::IsThere),
            Sink::Stdout(stdout) => {
                match writeln!(stdout, "{line}").and_then(|()| stdout.flush()) {
                    Ok(()) => Ok(Reader::IsThere),
                    Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(Reader::HasGone),
                    Err(error) => {
                        let why = file_error::of_file(&error);
                        Err(file_error::cannot_write(Path::new("the reading"), why, &[]))
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
    paced(args, |turn| {
        if turn > 0 {
            before = Some(std::mem::replace(&mut now, Snapshot::take(root, clock())));
        }
        let line = now.line(before.as_ref(), args.guests.unwrap_or(0), args.settled);
        Ok(sink.put(&line)?)
    })
}

/// Does something once, or again and again as the call says; turns are counted from 0. The time between turns is that of a
/// clock that is never set back.
fn paced(
    args: &SurveyArgs,
    mut turn: impl FnMut(u32) -> Result<Reader, Diagnostics>,
) -> Result<(), Diagnostics> {
    let start = Instant::now();
    for number in 0_u32.. {
        if turn(number)? == Reader::HasGone {
            break;
        }
        let Some(every) = args.every else { break };
        let next = f64::from(number + 1) * every;
        if args.lasting.is_some_and(|lasting| next > lasting) {
            break;
        }
        wait(next - start.elapsed().as_secs_f64());
    }
    Ok(())
}

/// The mappings of processes are read this far apart: that takes longer than all else `[s]`.
const DEEP: f64 = 60.0;

/// Lines of guests.
fn each(
    args: &SurveyArgs,
    root: &Root,
    terminal: &Terminal,
    stdout: &mut dyn Write,
    stderr: &mut dyn Write,
) -> Result<(), Diagnostics> {
    let wanted = GuestFilter {
        under: args.under.clone(),
        processes: args.process.clone(),
    };
    let mut kinds = args.kinds.clone();
    if let Some(lab) = &args.lab {
        kinds.extend(load(lab, &[])?.guests.into_iter().filter_map(|guest| {
            let (kind, names) = (guest.name, guest.matches?);
            Some(Pattern { kind, names })
        }));
    }
    let mut watch = Watch::new(wanted, kinds, args.pages);
    let header = headings().join(",");
    let mut sink = match &args.output {
        Some(path) => Sink::File(Series::open(path, &header)?),
        None => Sink::Stdout(stdout),
    };
    if matches!(sink, Sink::Stdout(_)) && sink.put(&header)? == Reader::HasGone {
        return Ok(());
    }
    let every = args.every.unwrap_or(DEEP);
    let deep = (DEEP / every).ceil().max(1.0) as u32;
    let live = terminal.live();
    let mut written = 0;
    paced(args, |turn| {
        let lines = watch.lines_at(root, clock(), turn % deep == 0);
        if turn == 0 {
            // If that is closed too there is no reader left.
            let _ = stderr.write_all(words::not_measured(&watch, lines.len()).as_bytes());
        }
        written += lines.len();
        live.set_message(words::live(lines.len(), written));
        live.tick();
        if lines.is_empty() {
            Ok(Reader::IsThere)
        } else {
            Ok(sink.put(&lines.join("\n"))?)
        }
    })?;
    live.finish_and_clear();
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
