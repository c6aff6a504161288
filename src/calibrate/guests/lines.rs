//! The lines of a survey of guests → what each guest did, moment by moment.

use std::collections::BTreeMap;

use crate::calibrate::error;
use crate::calibrate::readings::columns::{Columns, heading};
use crate::calibrate::readings::row::{time, within_limits};
use crate::calibrate::readings::table::{Line, OpenTable, open};
use crate::diagnose::source::{Medium, Sources};
use crate::diagnose::{Diagnostic, Diagnostics, MOST_KEPT};
use crate::lab::Guest;
use crate::survey::each::kind::matches_pattern;
use crate::survey::each::line::{GUEST, headings, without_number};

/// Counters of a guest below this much processor time began to count while its boot went on `[s]` (assumption).
const BOOTING: f64 = 60.0;

/// A guest at one moment; sizes `[B]`, counters from its start.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Moment {
    /// When `[s]`.
    pub at: f64,
    /// Processor time used `[s]`.
    pub cpu: Option<f64>,
    /// How often its threads were given a processor.
    pub dispatches: Option<f64>,
    /// Anonymous memory of its control group.
    pub held: Option<f64>,
    /// Its memory that is resident, merged pages counted in full.
    pub ram: Option<f64>,
    /// Resident anonymous memory beside that.
    pub process: Option<f64>,
    /// Its merged pages.
    pub merged: Option<f64>,
    /// Its pages that are the kernel's zero page.
    pub zero: Option<f64>,
    /// Its pages that other guests hold too.
    pub common: Option<f64>,
    /// Bytes written.
    pub written: Option<f64>,
    /// Bytes received and sent.
    pub net: [Option<f64>; 2],
}

impl Moment {
    /// What the guest has touched and not given back: resident pages and those of the zero page.
    pub fn touched(&self) -> Option<f64> {
        Some(self.ram? + self.zero.unwrap_or(0.0))
    }

    /// Memory of the host that it holds `[B]`: what its control group says, else its pages and its process's that are not merged.
    pub fn in_memory(&self) -> Option<f64> {
        let own = || Some(self.ram? + self.process? - self.merged.unwrap_or(0.0));
        self.held.or_else(own)
    }
}

/// A guest from one start to the next.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Run {
    /// Whether its boot was seen.
    pub from_start: bool,
    /// Its moments in order.
    pub moments: Vec<Moment>,
}

/// A guest that was watched.
#[derive(Debug, Clone, PartialEq)]
pub struct Watched {
    /// Its name.
    pub name: String,
    /// Its kind.
    pub kind: String,
    /// Virtual processors.
    pub vcpus: Option<u64>,
    /// Memory assigned `[B]`.
    pub memory: Option<f64>,
    /// From start to start.
    pub runs: Vec<Run>,
}

/// What was watched.
#[derive(Debug, Clone)]
pub struct Record {
    /// The guests by name.
    pub guests: Vec<Watched>,
    /// Headings that were not used.
    pub unused: Vec<String>,
}

impl Record {
    /// The record with the kinds that guests of a lab claim by the patterns of their names.
    #[must_use]
    pub fn by_names(mut self, guests: &[Guest]) -> Record {
        for watched in &mut self.guests {
            let claims = |guest: &&Guest| {
                let names = guest.matches.as_ref();
                names.is_some_and(|names| matches_pattern(&watched.name, names))
            };
            if let Some(guest) = guests.iter().find(claims) {
                watched.kind.clone_from(&guest.name);
            }
        }
        self
    }
}

/// Whether a text is lines of guests and not readings of a host: by the column `guest`.
pub fn are_guests(text: &str) -> bool {
    open(text.trim_start_matches('\u{feff}'), 0)
        .is_ok_and(|table| table.header.iter().any(|cell| heading(&cell.text) == GUEST))
}

/// Reads the text of the file called `name`.
///
/// Lines of a guest keep the order of the file. A counter of processor time or of bytes written that falls is a restart; a
/// clock that goes back begins a new run too, without a boot.
///
/// # Errors
/// Everything that is wrong with the table, at once.
pub fn read(name: &str, text: &str) -> Result<Record, Diagnostics> {
    let mut sources = Sources::default();
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let source = sources.add(name, text, Medium::File);
    let failed = |errors| Diagnostics::new(sources.clone(), errors);
    let OpenTable { header, lines, .. } =
        open(text, source).map_err(|error| failed(vec![error]))?;
    let mut errors = Vec::new();
    let columns = Columns::find(&header, &headings(), &[], &["time"], &mut errors);
    if !errors.is_empty() {
        return Err(failed(errors));
    }
    let mut guests: BTreeMap<String, Watched> = BTreeMap::new();
    for row in lines {
        match line(&columns, &row) {
            Ok((watched, moment)) => {
                let guest = guests.entry(watched.name.clone()).or_insert(watched);
                guest.add(moment);
            }
            Err(error) => errors.push(error),
        }
        if errors.len() >= MOST_KEPT {
            break;
        }
    }
    if guests.is_empty() && errors.is_empty() {
        errors.push(error::no_guests(header.first().map(|cell| cell.place)));
    }
    if !errors.is_empty() {
        return Err(failed(errors));
    }
    Ok(Record {
        guests: guests.into_values().collect(),
        unused: columns.unused,
    })
}

impl Watched {
    /// Adds a moment to the run it belongs to.
    fn add(&mut self, moment: Moment) {
        let last = self.runs.last().and_then(|run| run.moments.last());
        let fell = |pick: fn(&Moment) -> Option<f64>| {
            let both = last.and_then(pick).zip(pick(&moment));
            both.is_some_and(|(before, now)| now < before)
        };
        let restarted = fell(|moment| moment.cpu) || fell(|moment| moment.written);
        let is_first = last.is_none();
        let jumped = last.is_some_and(|last| moment.at <= last.at);
        if is_first || restarted || jumped {
            let young = moment.cpu.is_some_and(|cpu| cpu < BOOTING);
            self.runs.push(Run {
                from_start: (is_first || restarted) && young,
                moments: Vec::new(),
            });
        }
        if let Some(run) = self.runs.last_mut() {
            run.moments.push(moment);
        }
    }

    /// All moments.
    pub fn moments(&self) -> impl Iterator<Item = &Moment> {
        self.runs.iter().flat_map(|run| &run.moments)
    }
}

/// One line: whose it is, and the moment.
fn line(columns: &Columns, row: &Line) -> Result<(Watched, Moment), Diagnostic> {
    let needed = |column| {
        let cell = columns.cell(row, column);
        cell.ok_or_else(|| error::empty_cell(column, row.place))
    };
    let (name, at) = (needed("guest")?, needed("time")?);
    let number = |column: &str| -> Result<Option<f64>, Diagnostic> {
        let Some(cell) = columns.cell(row, column) else {
            return Ok(None);
        };
        let number = within_limits(cell.text.parse().ok());
        let wrong = || error::no_number(&cell.text, column).at(cell.place, "");
        number.map(Some).ok_or_else(wrong)
    };
    let moment = Moment {
        at: time(&at.text).map_err(|error| error.at(at.place, ""))?,
        cpu: number("cpu_s")?,
        dispatches: number("dispatches")?,
        held: number("held")?,
        ram: number("ram_held")?,
        process: number("process_held")?,
        merged: number("merged")?,
        zero: number("zero")?,
        common: number("common")?,
        written: number("written")?,
        net: [number("net_in")?, number("net_out")?],
    };
    let vcpus = number("vcpus")?.filter(|vcpus| (1.0..=4096.0).contains(vcpus));
    let kind = columns.cell(row, "kind");
    let kind = kind.map_or(without_number(&name.text), |kind| &kind.text);
    let watched = Watched {
        name: name.text.clone(),
        kind: kind.to_owned(),
        vcpus: vcpus.map(|vcpus| vcpus as u64),
        memory: number("memory")?.filter(|memory| *memory > 0.0),
        runs: Vec::new(),
    };
    Ok((watched, moment))
}
