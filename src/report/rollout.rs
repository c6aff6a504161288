//! The document of `rollout`.

use super::document::{Align, Cell, Document, Table};
use super::rollout_chart::chart;
use super::rollout_sheet::sheet;
use crate::lab::Lab;
use crate::rollout::{
    BatchAnswer, Change, EventKind, Plan, RolloutAnswer, Run, Shortfall, ShortfallAnswer, Why,
};
use crate::sizing::answer::CautionAnswer;
use crate::sizing::composition::Unit;
use crate::unit::format;

/// A run with the plan it came from.
#[derive(Debug, Clone)]
pub struct Told {
    /// What every format says.
    pub answer: RolloutAnswer,
    /// The run.
    pub run: Run,
    /// The plan, where one was made.
    pub plan: Option<Plan>,
    /// How guests of a batch follow one another: "a guest every 30 s", "all at the same moment".
    pub pace: String,
    /// Whether guests became busy on the way.
    pub busied: bool,
    /// Guests that memory holds safely once they have been busy; none where it has no bound.
    pub lived_in: Option<u64>,
    /// What target and reached count.
    pub unit: Unit,
}

/// Batches of a table that a person reads; more are cut in the middle (all of them stand in JSON and CSV).
const MOST_ROWS: usize = 40;

/// Builds the document; `picture` is the file that the picture was drawn to.
#[must_use]
pub fn document(told: &Told, lab: &Lab, picture: Option<String>) -> Document {
    let answer = &told.answer;
    let mut document = Document::new();
    document.heading(
        1,
        format!("Starting guests without a storm: {}", answer.host),
    );
    document.lead(sentence(told));
    if let Some(shortfall) = &answer.shortfall {
        let missing = match shortfall.missing {
            0.0 => String::new(),
            bytes => format!("; {} are missing", format::bytes(bytes)),
        };
        document.paragraph(format!("Why not safely: {}{missing}.", shortfall.why));
        if !shortfall.changes.is_empty() {
            document.paragraph("What would change it, each by itself; each was tried:");
            document.list(shortfall.changes.clone());
        }
    }
    if let Some(held) = told.lived_in.filter(|held| *held < answer.reached) {
        let fresh = if told.busied {
            "Guests that were not busy yet are fresh."
        } else {
            "These guests are fresh."
        };
        document.paragraph(format!(
            "{fresh} Once all have been busy, memory holds {} safely (`fit`).",
            told.counted(held)
        ));
    }
    if let Some(other) = other_way(told) {
        document.paragraph(other);
    }
    if let Some(late) = late(answer) {
        document.paragraph(late);
    }
    document.chart(chart(told), picture);
    if !answer.batches.is_empty() {
        document.heading(2, "Batch by batch");
        document.table(batches(answer));
    }
    if let Some(dashes) = dashes(answer) {
        document.paragraph(dashes);
    }
    if answer.batches.len() > MOST_ROWS {
        document.paragraph(format!(
            "{} batches in all; JSON and CSV have every one.",
            format::count(answer.batches.len() as u64)
        ));
    }
    let happened = happened(told, lab);
    if !happened.is_empty() {
        document.heading(2, "What happened on the way");
        document.list(happened);
    }
    document.heading(2, "Cautions");
    document.cautions(&answer.cautions);
    document.sheet = sheet(answer);
    document
}

/// The sentence on top that a person can quote.
fn sentence(told: &Told) -> String {
    let answer = &told.answer;
    let peak = format!(
        "memory peaks at {} against a limit of {}",
        format::share(answer.peak),
        format::share(answer.limit)
    );
    let how = match (answer.plan, answer.batches.as_slice()) {
        (Some(plan), batches) if batches.len() > 1 => format!(
            ": start {} every {} ({})",
            format::count(plan.batch),
            format::seconds(plan.wait_s),
            told.pace
        ),
        (Some(_), [only]) if only.started == 1 => ": start it".to_owned(),
        (Some(_), [only]) => format!(
            ": start all {} in one go ({})",
            format::count(only.started),
            told.pace
        ),
        (_, batches) => format!(
            ": start them in {} ({})",
            format::plural(batches.len() as u64, "batch", "batches"),
            told.pace
        ),
    };
    let time = answer.total_s.map_or_else(String::new, |total| {
        format!(", {} in all", format::seconds(total))
    });
    let guests = told.running();
    if answer.batches.is_empty() {
        let asked = match answer.target {
            0 => String::new(),
            n => format!(" of {} asked for", format::count(n)),
        };
        return format!(
            "{} holds no guest safely, so none{asked} is started; {peak}.",
            answer.host
        );
    }
    if answer.safe {
        return format!(
            "{} safely reaches {guests}{how}{time}; {peak}.",
            answer.host
        );
    }
    let lost = match answer.killed {
        0 => String::new(),
        killed => format!(
            "; the kernel kills {}",
            format::plural(killed, "guest", "guests")
        ),
    };
    let verb = if crate::model::within(answer.peak, answer.limit) {
        "reaches"
    } else {
        "does not safely reach its target:"
    };
    format!(
        "{} {verb} {guests} of {} asked for{how}{time}; {peak}{lost}.",
        answer.host,
        format::count(answer.target)
    )
}

/// Adds to the answer what stands in every format: why it is not safe, and the cautions.
pub fn complete(told: &mut Told) {
    // A rule that reaches the target needs no excuse, whatever the list of its plan came to.
    let shortfall = told.plan.as_ref().and_then(|plan| plan.shortfall.as_ref());
    told.answer.shortfall =
        shortfall
            .filter(|_| !told.answer.safe)
            .map(|shortfall| ShortfallAnswer {
                why: why(shortfall, told),
                missing: shortfall.missing,
                changes: shortfall.changes.iter().filter_map(change).collect(),
            });
    let cautions = cautions(told);
    told.answer.cautions = cautions
        .into_iter()
        .map(|(id, text)| CautionAnswer {
            id,
            text: text.to_owned(),
        })
        .collect();
}

fn why(shortfall: &Shortfall, told: &Told) -> String {
    match shortfall.why {
        Why::NothingFits => "not even the first guest fits under the limit".to_owned(),
        Why::Settled => format!(
            "{} would settle above the limit, so no order and no patience helps",
            told.counted(told.answer.target)
        ),
        Why::NotMergedYet => "all of them would settle below the limit, but the last ones do not fit before their pages \
                              are merged"
            .to_owned(),
    }
}

impl Told {
    /// "62 guests", "1 set".
    fn counted(&self, n: u64) -> String {
        match self.unit {
            Unit::Guests => format::plural(n, "guest", "guests"),
            Unit::Sets => format::plural(n, "set", "sets"),
        }
    }

    /// What runs at the end: "20 sets (60 guests)", "96 guests beside the 2 that must run".
    fn running(&self) -> String {
        let (n, all) = (self.answer.reached, self.run.guests.iter().sum::<u64>());
        let counted = self.counted(n);
        match (self.unit, all.saturating_sub(n)) {
            (Unit::Sets, _) => format!("{counted} ({})", format::plural(all, "guest", "guests")),
            (Unit::Guests, 0) => counted,
            (Unit::Guests, fixed) => {
                format!(
                    "{counted} beside the {} that must run",
                    format::count(fixed)
                )
            }
        }
    }
}

fn change(change: &Change) -> Option<String> {
    match change {
        Change::Memory(bytes) if *bytes <= 0.0 => None,
        Change::Memory(bytes) => Some(format!("{} more memory in the host", format::bytes(*bytes))),
        Change::Limit(share) => Some(format!("a limit of {} (--at-most)", format::share(*share))),
        Change::Sharing(pages) => Some(format!(
            "page sharing (same-page merging) at {} pages per wake, in mode fixed",
            format::number(*pages)
        )),
    }
}

/// What the plan offers beside the way that was taken.
fn other_way(told: &Told) -> Option<String> {
    let plan = told.plan.as_ref()?;
    let list = &plan.list;
    let total = list.up_s?;
    let safe =
        crate::model::within(list.peak, plan.limit) && list.killed == 0 && plan.shortfall.is_none();
    (told.answer.plan.is_some() && !list.batches.is_empty() && told.answer.safe && safe).then(|| {
        format!(
            "Starting each batch as soon as it is safe takes {} in {} (--as-soon-as-safe shows them).",
            format::seconds(total),
            format::plural(list.batches.len() as u64, "batch", "batches")
        )
    })
}

/// That a rule is not kept: a batch waits until every guest of the one before has been cloned and started.
fn late(answer: &RolloutAnswer) -> Option<String> {
    let wait = answer.plan?.wait_s;
    let behind = |(index, batch): (usize, &BatchAnswer)| batch.start_s - index as f64 * wait;
    let most = answer
        .batches
        .iter()
        .enumerate()
        .map(behind)
        .fold(0.0, f64::max);
    (most > 1.0).then(|| {
        format!(
            "The wait is too short to be kept: cloning and starting a batch takes longer, and the next one starts only \
             after that, up to {} behind the rule.",
            format::seconds(most)
        )
    })
}

fn batches(answer: &RolloutAnswer) -> Table {
    let mut table = Table::new(&[
        ("at", Align::Right),
        ("guests before", Align::Right),
        ("started", Align::Right),
        ("peak", Align::Right),
        ("peak after", Align::Right),
        ("settles at", Align::Right),
        ("settled after", Align::Right),
        ("cloning takes", Align::Right),
        ("killed", Align::Right),
    ]);
    let rows = &answer.batches;
    let shown: Vec<&BatchAnswer> = if rows.len() > MOST_ROWS {
        rows.iter()
            .take(MOST_ROWS / 2)
            .chain(rows.iter().skip(rows.len() - MOST_ROWS / 2))
            .collect()
    } else {
        rows.iter().collect()
    };
    let time = |seconds: f64| {
        if seconds == 0.0 {
            "0".to_owned()
        } else {
            format::seconds(seconds)
        }
    };
    for batch in shown {
        let past = !crate::model::within(batch.peak, answer.limit);
        let peak = format::share(batch.peak);
        let killed = match (batch.killed, batch.killed_most) {
            (0, _) => "0".to_owned(),
            (killed, most) if most > killed => format!("{killed} to {most}"),
            (killed, _) => killed.to_string(),
        };
        table.row([
            Cell::text(time(batch.start_s)),
            Cell::text(format::count(batch.before)),
            Cell::text(format::count(batch.started)),
            if past {
                Cell::strong(format!("{peak} (past)"))
            } else {
                Cell::text(peak)
            },
            Cell::text(time(batch.peak_s)),
            Cell::text(format::share(batch.settled)),
            Cell::text(batch.settle_s.map_or_else(|| "–".to_owned(), time)),
            Cell::text(batch.clone_s.map_or_else(|| "–".to_owned(), time)),
            Cell::text(killed),
        ]);
    }
    table
}

/// What dashes in the table of batches mean; none where it has none.
fn dashes(answer: &RolloutAnswer) -> Option<String> {
    let any = |is: fn(&BatchAnswer) -> bool| answer.batches.iter().any(is);
    let settled = any(|batch| batch.settle_s.is_none()).then_some(
        "A dash under settled after: the next batch, or the end of the watch, came first.",
    );
    let cloned = any(|batch| batch.clone_s.is_none())
        .then_some("A dash under cloning takes: the pool's write speed is not given.");
    let said: Vec<&str> = settled.into_iter().chain(cloned).collect();
    (!said.is_empty()).then(|| said.join(" "))
}

/// Scanner, swap and kills, the first of each kind.
fn happened(told: &Told, lab: &Lab) -> Vec<String> {
    let mut notes = Vec::new();
    let at = |seconds: f64| {
        format!(
            "at {}",
            if seconds == 0.0 {
                "0".to_owned()
            } else {
                format::seconds(seconds)
            }
        )
    };
    let first =
        |wanted: fn(&EventKind) -> bool| told.run.events.iter().find(|event| wanted(&event.kind));
    if let Some(event) = first(|kind| matches!(kind, EventKind::ScannerStarted)) {
        notes.push(format!(
            "The page-sharing scanner begins {}.",
            at(event.t_s)
        ));
    }
    if let Some(event) = first(|kind| matches!(kind, EventKind::SwapInUse)) {
        notes.push(format!(
            "Swap comes into use {}: slow, and it wears the disk.",
            at(event.t_s)
        ));
    }
    if let Some(event) = first(|kind| matches!(kind, EventKind::GuestsWait)) {
        notes.push(format!(
            "Guests wait for memory while pages are swapped out, first {}.",
            at(event.t_s)
        ));
    }
    let killed = told.run.events.iter().filter_map(|event| match event.kind {
        EventKind::Killed {
            profile,
            announced,
            returned,
        } => Some((event.t_s, profile, announced, returned)),
        _ => None,
    });
    let killed: Vec<_> = killed.collect();
    if let Some((t_s, profile, announced, returned)) = killed.first().copied() {
        notes.push(format!(
            "The kernel kills a guest of {} {}: {} announced, {} come back.",
            lab.guests[profile].name,
            at(t_s),
            format::bytes(announced),
            format::bytes(returned)
        ));
        let mut names: Vec<String> = Vec::new();
        for (_, profile, _, _) in &killed {
            let name = &lab.guests[*profile].name;
            if !names.contains(name) {
                names.push(name.clone());
            }
        }
        notes.push(format!(
            "{} lost in all, of {}.",
            format::plural(told.run.killed, "guest", "guests"),
            format::listed(&names)
        ));
    }
    if told.run.scan_cpu_s > 0.0 {
        notes.push(format!(
            "The scanner takes {} of processor time in {}.",
            format::seconds(told.run.scan_cpu_s),
            format::seconds(told.run.end_s)
        ));
    }
    notes
}

fn cautions(told: &Told) -> Vec<(&'static str, &'static str)> {
    let mut cautions = Vec::new();
    if told.answer.killed > 0 {
        cautions.push((
            "killed",
            "What a killed guest had not written to disk is lost. Which guest it hits is the kernel's choice: the largest \
             by resident memory, with shared pages counted in full, so often an old one and not the newcomer.",
        ));
    }
    if !crate::model::within(told.answer.peak, told.answer.limit) {
        cautions.push((
            "overcommit",
            "Past the safe limit a small rush reaches the cliff where the kernel kills guests: keep nothing irreplaceable \
             here without a backup.",
        ));
    }
    if told
        .run
        .timeline
        .iter()
        .any(|moment| moment.swap_used > 0.0)
    {
        cautions.push((
            "swap_in_use",
            "Swap is in use on the way: that is slow, and it wears the disk.",
        ));
    }
    if told
        .run
        .timeline
        .iter()
        .any(|moment| moment.merged_bytes > 0.0)
    {
        cautions.push((
            "side_channel",
            "Page sharing lets one guest find out what another holds in memory (a side channel): use it only between \
             guests whose owners trust each other.",
        ));
    }
    if told.lived_in.is_some_and(|held| held < told.answer.reached) {
        let text = if told.busied {
            "Not every guest need have been busy by the end. Once all have been, they hold more and give little of it \
             back: see how many `fit` counts, and stay at that number if they are to stay."
        } else {
            "These guests have never been busy. Once they have been, they hold more and give little of it back: see how \
             many `fit` counts, and stay at that number if they are to stay."
        };
        cautions.push(("lived_in", text));
    }
    cautions.push((
        "estimate",
        "This is an estimate from the numbers given. Watch the first batches and compare before you go on.",
    ));
    cautions
}
