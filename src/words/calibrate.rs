//! The sentences of `calibrate`.

use std::fmt::{self, Display, Formatter};

use super::caution::{Caution, Worded, written_as_cautions, written_as_text};
use crate::calibrate::answer::{CalibrateAnswer, HeldOut, UsedAs};
use crate::calibrate::cautions::{CalibrateCaution, LateStep, OddReading};
use crate::calibrate::estimates::{EstimateAnswer, Provenance};
use crate::calibrate::next_reading::{Narrowing, NextReading};
use crate::calibrate::notes::Note;
use crate::calibrate::predict::Prediction;
use crate::calibrate::prior::BasePrior;
use crate::calibrate::smaller_memory::Smaller;
use crate::calibrate::swap::{Swap, SwapState};
use crate::calibrate::written::Written;
use crate::unit::format::{byte_rate, bytes, bytes_per_day, count, plural, seconds, share};

written_as_text!(Note, NextReading, Swap, UsedAs);
written_as_cautions!(CalibrateCaution);

fn guests(n: u64) -> String {
    plural(n, "guest", "guests")
}

impl Display for UsedAs {
    fn fmt(&self, f: &mut Formatter) -> fmt::Result {
        let name = self.usage.name();
        if self.held_out {
            write!(f, "held out ({name})")
        } else {
            f.write_str(name)
        }
    }
}

impl Display for Note {
    fn fmt(&self, f: &mut Formatter) -> fmt::Result {
        let text = match self {
            Note::SaidFresh => "The guests read were never busy since they started (--fresh).",
            Note::NeverBusy => {
                "In the lab this guest is never busy, so fresh and lived-in are the same."
            }
            Note::Counters => {
                "What is shared comes from the merge counters; where guests are backed by 2 MiB pages they leave out the \
                 empty parts, so a step would find more."
            }
            Note::HoveringAsMerged => {
                "An adaptive scanner hovers at its threshold, so a settled reading there only bounds the merged demand \
                 from above; without a better one it is taken as merged, which is on the safe side."
            }
            Note::UntrackedSteps => {
                "Steps are taken as read before the scanner tracked the new pages."
            }
            Note::LateSteps => {
                "Steps are corrected by what the merge counters show as saved since the reading before the start."
            }
            Note::NoFreedom => {
                "There are just as many readings as numbers sought, so their error cannot be estimated: 1 % is assumed, or the \
                 rounding of what was written where that is coarser."
            }
            Note::OtherGuests => {
                "Other guests of the lab are taken as not running while this one was read."
            }
            Note::CountedOthers => {
                "Other guests of the lab ran beside the one that was read, as columns count them: what they hold is taken \
                 from the lab, and the intervals include no error of it."
            }
            Note::NoPair(said) => return write!(f, "L{}.", &said[1..]),
            Note::FewGuests(lines) => &few_guests(lines),
            Note::Base(prior, base) => &base_note(*prior, *base),
            Note::SharedAsInLab { merged } => &shared_as_in_lab(*merged),
            Note::Keeps(keeps) => &format!(
                "The guests read had been busy, so each keeps {} of what it touched then; say --fresh if they were not.",
                share(*keeps)
            ),
            Note::SharedTogether(common) => &format!(
                "common and repeats are estimated together and split as in the lab, {} common.",
                share(*common)
            ),
            Note::UnknownState(readings) => &format!(
                "{} in an unknown state only bound the answer: say settled = yes or no where you know it.",
                plural(*readings, "reading", "readings")
            ),
            Note::UnusedColumns(columns) => &format!("Columns not used: {}.", columns.join(", ")),
        };
        f.write_str(text)
    }
}

fn few_guests(lines: &[usize]) -> String {
    let numbers: Vec<String> = lines.iter().map(ToString::to_string).collect();
    let line = if lines.len() == 1 { "line" } else { "lines" };
    format!(
        "Readings with fewer than 4 guests ({line} {}) only bound the answer: merged copies still grow with the count, so \
         few guests share less than more will.",
        numbers.join(", ")
    )
}

fn shared_as_in_lab(merged: bool) -> String {
    let together = if merged {
        "only base and common together can be estimated"
    } else {
        "only what a guest holds with nothing merged can be estimated"
    };
    format!(
        "common and repeats stay as in the lab: without a reading right before and right after a start, or merge counters, \
         {together}. What rests on them too is marked \"both\"; their error is not known, so no interval is given for \
         it."
    )
}

/// What is known of the host's own memory, and with that what the intervals hold.
fn base_note(prior: BasePrior, base: f64) -> String {
    let base = bytes(base);
    let between = |low, high| {
        format!(
            "{} to {} in 90 % of cases; the intervals include that beside the error of the readings",
            bytes(low),
            bytes(high)
        )
    };
    let why = "because only settled readings at two counts determine it";
    let first = match prior {
        BasePrior::Determined => "The intervals hold the error of the readings.".to_owned(),
        BasePrior::Exact => format!(
            "base stays as in the lab ({base}), {why}. The lab gives one value, so the intervals include no error of it, \
             only that of the readings: give it as {{ low, likely, high }} to have both."
        ),
        BasePrior::Range(low, high) => format!(
            "base stays as in the lab ({base}), {why}: by its range {}.",
            between(low, high)
        ),
        BasePrior::Reported(low, high) => format!(
            "base stays at its default ({base}), {why}: as owners report it {}.",
            between(low, high)
        ),
    };
    format!(
        "{first} What else the lab gives (overhead, keeps, touched_busy, the split of common and repeats) is taken as exact."
    )
}

impl Caution for CalibrateCaution {
    fn worded(&self) -> Worded {
        match self {
            CalibrateCaution::Outlier(reading, expected) => Worded::new(
                "outlier",
                format!(
                    "Line {} is farther from the others than their error explains.",
                    reading.line
                ),
                outlier(reading, *expected),
            ),
            CalibrateCaution::OutsideBounds(reading, bounds) => Worded::new(
                "outside_bounds",
                format!(
                    "Line {} lies outside of what its state allows.",
                    reading.line
                ),
                outside_bounds(reading, *bounds),
            ),
            CalibrateCaution::OtherHost {
                total,
                host,
                visible,
            } => {
                let (total, visible) = (bytes(*total), bytes(*visible));
                Worded::new(
                    "other_host",
                    format!("Readings of a host with {total}; {host} has {visible} in the lab."),
                    format!(
                        "The readings come from a host that sees {total}, but {host} sees {visible} in the lab."
                    ),
                )
            }
            CalibrateCaution::LateStep(seen) => Worded::new(
                "late_step",
                "A step may have been read too late: read it right after the start.".to_owned(),
                late_step(*seen),
            ),
            CalibrateCaution::FreshFlatters => Worded::fixed(
                "fresh_flatters",
                "Fresh guests flatter: what busy ones keep is taken from the lab.",
                "Fresh guests flatter: what a guest keeps once it has been busy is taken from the lab (touched_busy, \
                 keeps), not from these readings.",
            ),
            CalibrateCaution::HeldAtBound => Worded::fixed(
                "held_at_bound",
                "The best fit lies just beyond what is possible; it is held at the edge.",
                "The best fit would need a number just beyond what is possible; it is held at the edge, within the error \
                 of the readings.",
            ),
            CalibrateCaution::Estimate => Worded::fixed(
                "estimate",
                "An estimate from the readings and the numbers given.",
                "The answer is an estimate from the readings and the numbers given.",
            ),
        }
    }
}

fn outlier(reading: &OddReading, expected: f64) -> String {
    format!(
        "The reading in line {} ({}) is farther from the others than their error explains: read {}, expected {}. It was \
         used all the same; check it, and remove it only if you know why it is wrong.",
        reading.line,
        guests(reading.guests),
        bytes(reading.read),
        bytes(expected)
    )
}

fn outside_bounds(reading: &OddReading, [low, high]: [f64; 2]) -> String {
    format!(
        "The reading in line {} ({}, {}) lies outside of what its state allows, {} (all merged) to {} (just started): other \
         things may have run then.",
        reading.line,
        guests(reading.guests),
        bytes(reading.read),
        bytes(low),
        bytes(high)
    )
}

fn late_step(seen: LateStep) -> String {
    let seen = match seen {
        LateStep::Counters {
            line,
            counted,
            explained,
        } => format!(
            "the merge counters in line {line} show {} saved, but the steps explain {}",
            bytes(counted),
            bytes(explained)
        ),
        LateStep::HardlyShared { shared, touched } => {
            let some = match bytes(shared).as_str() {
                "0 B" => "nothing".to_owned(),
                some => format!("only {some}"),
            };
            let touched = bytes(touched);
            format!("by the steps guests share {some} of the {touched} that a fresh one touches")
        }
    };
    format!(
        "A step may have been read too late: {seen}. Where sharing works while guests start, a reading minutes after the \
         start makes a fresh guest look too small; read it at once, or a few guests with sharing switched off."
    )
}

impl Display for Swap {
    fn fmt(&self, f: &mut Formatter) -> fmt::Result {
        let state = match self.state {
            SwapState::Churning => {
                "Swap is churning: guests wait for memory that is read back again and again"
            }
            SwapState::Empty => "Swap is empty",
            SwapState::Quiet => "Swap is quiet: what is in it is not used",
            SwapState::Occasional => "Swap is used now and then",
        };
        write!(
            f,
            "{state} (at most {} in it, {} in and out, tasks wait for memory {} of the time).",
            bytes(self.used),
            self.rate
                .map_or_else(|| "rate not read".to_owned(), byte_rate),
            self.pressure
                .map_or_else(|| "an unknown part".to_owned(), share)
        )
    }
}

impl Display for NextReading {
    fn fmt(&self, f: &mut Formatter) -> fmt::Result {
        f.write_str(&match *self {
            NextReading::FixedScanner => {
                "a settled reading with the scanner at a fixed speed: an adaptive one hovers at its threshold with any \
                 count this host holds, and a reading there only bounds what merged guests take"
                    .to_owned()
            }
            NextReading::Step(batch) => format!(
                "a reading right after the start of {}, beside one right before: it gives what a fresh guest touches, \
                 and separates what guests share from what the host itself takes",
                plural(batch, "more guest", "more guests")
            ),
            NextReading::AfterStart(narrowing) => {
                format!("a reading right after a start, beside one right before, with {narrowing}")
            }
            NextReading::Settled(narrowing) => format!("a settled reading with {narrowing}"),
            NextReading::AboveThreshold(n) => format!(
                "a settled reading with {}: above its threshold an adaptive scanner works at its fastest, so it gives \
                 what merged guests take; one at the threshold only bounds it",
                guests(n)
            ),
            NextReading::SecondCount(n) => format!(
                "a settled reading with {}: two different counts separate the guests from the host itself, whose memory is \
                 taken from the lab now",
                guests(n)
            ),
        })
    }
}

impl Display for Narrowing {
    fn fmt(&self, f: &mut Formatter) -> fmt::Result {
        write!(
            f,
            "{}; it narrows the interval of what {} hold to about {} of its width",
            guests(self.guests),
            guests(self.goal),
            share(self.narrows_to.min(1.0))
        )
    }
}

/// The sentences a person quotes.
pub fn lead(answer: &CalibrateAnswer) -> String {
    // Where only unmerged guests were read, that is what the readings say.
    let (one, how) = match answer.estimates.get("unmerged") {
        Some(unmerged) => (unmerged, "one more guest with nothing merged"),
        None => (&answer.estimates["unique"], "one more settled guest"),
    };
    let touched = &answer.estimates["touched"];
    let fresh = if touched.from == Provenance::Readings {
        format!("; a fresh one touches {}", bytes(touched.value))
    } else {
        String::new()
    };
    let predicts = &answer.predicts;
    let host = &answer.host;
    let fits = if predicts.fits.value.is_some() {
        let noun = ["guest", "guests"];
        format!(
            "{host} then safely holds {}",
            prediction(predicts.fits, noun)
        )
    } else {
        format!("nothing then bounds what {host} safely holds, or it holds none")
    };
    let breaks = if predicts.breaks_at.value.is_some() {
        format!(
            "; it thrashes or kills guests at about {} at the latest",
            bare(predicts.breaks_at)
        )
    } else {
        String::new()
    };
    format!(
        "By {}, {how} takes {} ({}){fresh}. {fits}{breaks}.{}",
        readings_used(answer),
        bytes(one.value),
        interval(one),
        never_busy(answer)
    )
}

/// Why the plan says fewer than run at this moment.
fn never_busy(answer: &CalibrateAnswer) -> String {
    let predicts = &answer.predicts;
    let (fits, breaks) = (predicts.fresh, predicts.breaks_at_fresh);
    let is_told = fits.value.is_some() && breaks.value.is_some();
    if !is_told || answer.age != "fresh" || fits == predicts.fits {
        return String::new();
    }
    format!(
        " That is with guests that have been busy and keep what they touched; as long as they never are, it is {} and {}.",
        bare(fits),
        bare(breaks)
    )
}

/// "5 readings", "3 readings (2 held out)".
fn readings_used(answer: &CalibrateAnswer) -> String {
    let readings = answer.readings.iter();
    let held = readings.filter(|one| one.used_as.held_out).count();
    let used = plural((answer.readings.len() - held) as u64, "reading", "readings");
    if held > 0 {
        format!("{used} ({held} held out)")
    } else {
        used
    }
}

/// "410 MiB to 430 MiB".
pub fn interval(estimate: &EstimateAnswer) -> String {
    format!("{} to {}", bytes(estimate.low), bytes(estimate.high))
}

/// "62 guests (58 to 66)".
fn prediction(prediction: Prediction, [one, many]: [&str; 2]) -> String {
    let Prediction { value, low, high } = prediction;
    let Some(value) = value else {
        return "no bound".to_owned();
    };
    let low = low.unwrap_or(0);
    let ends = match high {
        Some(high) if high == low => String::new(),
        Some(high) => format!(" ({} to {})", count(low), count(high)),
        None => format!(" ({} or more)", count(low)),
    };
    format!("{}{ends}", plural(value, one, many).trim_end())
}

/// The same without a noun, "62 (58 to 66)".
pub fn bare(count: Prediction) -> String {
    prediction(count, ["", ""])
}

/// The error on readings that were left out.
pub fn held_out(held: &HeldOut) -> String {
    if held.readings == 0 {
        return "Readings held out: none of them says where memory should be.".to_owned();
    }
    format!(
        "Held out: {}, off by {} (root mean square) and {} at most; {} within the interval given.",
        plural(held.readings as u64, "reading", "readings"),
        share(held.error_rms),
        share(held.error_most),
        held.within
    )
}

/// What else the readings say about the plan: bytes written, swap, a smaller memory.
pub fn plan(answer: &CalibrateAnswer) -> Vec<String> {
    let written = answer.written.as_ref().map(written);
    let swap = answer.swap.as_ref().map(Swap::to_string);
    let smaller = answer.smaller_memory.as_ref().map(smaller);
    [written, swap, smaller].into_iter().flatten().collect()
}

fn written(written: &Written) -> String {
    let between = match written.high {
        Some(high) => format!(
            " (between {} and {})",
            bytes_per_day(written.low),
            bytes_per_day(high)
        ),
        None => " (too few stretches of time for an interval)".to_owned(),
    };
    let base = if written.determines_base {
        "the host itself"
    } else {
        "the host itself, as in the lab,"
    };
    format!(
        "Written, by the guest's own counters: {} a guest{between}; {base} {}; read over {}.",
        bytes_per_day(written.value),
        bytes_per_day(written.base),
        seconds(written.seconds)
    )
}

fn smaller(smaller: &Smaller) -> String {
    let count = |number: Option<u64>| number.map_or_else(|| "no bound".to_owned(), count);
    let [now, then] = smaller.fits;
    let held = if now == then {
        format!(
            "it would still safely hold {}, because what guests hold stays the same,",
            count(now)
        )
    } else {
        format!(
            "it would safely hold {} in place of {},",
            count(then),
            count(now)
        )
    };
    format!(
        "No guest has touched more than {}, so {} of memory would do in place of {}: {held} and by the plain sum {} in place \
         of {}.",
        bytes(smaller.highest),
        bytes(smaller.enough),
        bytes(smaller.now),
        count(smaller.plain_sum[1]),
        count(smaller.plain_sum[0])
    )
}
