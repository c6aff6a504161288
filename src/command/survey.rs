//! `berthage survey`: the running host as a table for a lab file, or as lines of readings.

use std::io::{self, Write};
use std::path::Path;
use std::thread::sleep;
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use super::Terminal;
use super::append::Series;
use super::file_error;
use super::write::{Replace, write_or_print};
use crate::cli::SurveyArgs;
use crate::diagnose::{Diagnostic, Diagnostics};
use crate::inventory::load;
use crate::sizing::answer::Outcome;
use crate::survey::each::kind::Pattern;
use crate::survey::each::line::headings;
use crate::survey::each::{GuestFilter, Watch};
use crate::survey::reading::Snapshot;
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
    let root = host_at(&args.root)?;
    if args.each {
        return each(args, &root, terminal, stdout, stderr).map(|()| Outcome::Fits);
    }
    if args.reading {
        readings(args, &root, stdout)?;
        return Ok(Outcome::Fits);
    }
    let known = Known {
        name: args.name.clone(),
        guests: args.guests,
    };
    let table = survey(&root, &known);
    let may = match args.force {
        true => Replace::Others,
        false => Replace::Nothing,
    };
    write_or_print(args.output.as_deref(), table.text(), may, stdout)?;
    // A table that has to be finished by hand is not what was asked for.
    Ok(Outcome::of(table.missing().is_empty()))
}

/// A folder that holds a Linux host's files.
pub(super) fn host_at(folder: &Path) -> Result<Root, Diagnostic> {
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

impl<'a> Sink<'a> {
    /// The file of the call, or the standard output, with the headings in it; none where that has no reader.
    fn open(
        args: &SurveyArgs,
        header: &str,
        stdout: &'a mut dyn Write,
    ) -> Result<Option<Sink<'a>>, Diagnostic> {
        if let Some(path) = &args.output {
            return Ok(Some(Sink::File(Series::open(path, header)?)));
        }
        let mut sink = Sink::Stdout(stdout);
        Ok(sink.put(header)?.then_some(sink))
    }

    /// Writes a line; false where the output has lost its reader.
    fn put(&mut self, line: &str) -> Result<bool, Diagnostic> {
        let written = match self {
            Sink::File(series) => return series.line(line).map(|()| true),
            Sink::Stdout(stdout) => writeln!(stdout, "{line}").and_then(|()| stdout.flush()),
        };
        match written {
            Ok(()) => Ok(true),
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(false),
            Err(error) => {
                let why = file_error::of_file(&error);
                Err(file_error::cannot_write(Path::new("the reading"), why, &[]))
            }
        }
    }
}

fn readings(args: &SurveyArgs, root: &Root, stdout: &mut dyn Write) -> Result<(), Diagnostic> {
    let mut before = None;
    let mut now = Snapshot::take(root, clock());
    let Some(mut sink) = Sink::open(args, &now.header(), stdout)? else {
        return Ok(());
    };
    // A copied tree does not move, so a second look at it shows nothing new.
    if root.is_running() {
        wait(GLANCE);
        before = Some(std::mem::replace(&mut now, Snapshot::take(root, clock())));
    }
    paced(args, |turn| {
        if turn > 0 {
            before = Some(std::mem::replace(&mut now, Snapshot::take(root, clock())));
        }
        sink.put(&now.line(before.as_ref(), args.guests.unwrap_or(0), args.settled))
    })
}

/// Does something once, or again and again as the call says, while the output has a reader; turns are counted from 0. The
/// time between turns is that of a clock that is never set back.
fn paced(
    args: &SurveyArgs,
    mut turn: impl FnMut(u32) -> Result<bool, Diagnostic>,
) -> Result<(), Diagnostic> {
    let start = Instant::now();
    for number in 0_u32.. {
        if !turn(number)? {
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
    let Some(mut sink) = Sink::open(args, &headings().join(","), stdout)? else {
        return Ok(());
    };
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
        Ok(lines.is_empty() || sink.put(&lines.join("\n"))?)
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
