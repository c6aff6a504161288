//! The document of `rollout`.

use super::document::Document;
use super::rollout_chart::chart;
use super::table::{Align, Cell, Table};
use crate::lab::Lab;
use crate::rollout::{BatchRun, Change, EventKind, Rollout, RolloutAnswer};
use crate::sizing::composition::Unit;
use crate::unit::format;
use crate::words::rollout::counted;

/// Batches of a table that a person reads; more are cut in the middle (all of them stand in JSON and CSV).
const MOST_ROWS: usize = 40;

/// Builds the document; `picture` is the file that the picture was drawn to.
#[must_use]
pub fn document(answer: &RolloutAnswer, lab: &Lab, picture: Option<String>) -> Document {
    let rollout = &answer.rollout;
    let mut document = Document::new();
    document.heading(
        1,
        format!("Starting guests without a storm: {}", rollout.host),
    );
    document.lead(sentence(rollout));
    if let Some(shortfall) = &answer.shortfall {
        let missing = match shortfall.missing {
            0.0 => String::new(),
            bytes => format!("; {} are missing", format::bytes(bytes)),
        };
        document.paragraph(format!("Why not safely: {}{missing}.", shortfall.why));
        if !shortfall.changes.is_empty() {
            document.paragraph("What would change it, each by itself; each was tried:");
            document.list(shortfall.changes.iter().map(Change::to_string));
        }
    }
    if let Some(held) = rollout.lived_in.filter(|held| *held < rollout.reached) {
        let fresh = if rollout.busy_spells {
            "Guests that were not busy yet are fresh."
        } else {
            "These guests are fresh."
        };
        document.paragraph(format!(
            "{fresh} Once all have been busy, memory holds {} safely (`fit`).",
            counted(rollout.unit, held)
        ));
    }
    if let Some(other) = other_way(rollout) {
        document.paragraph(other);
    }
    if let Some(late) = late(rollout) {
        document.paragraph(late);
    }
    document.chart(chart(rollout), picture);
    if !rollout.run.batches.is_empty() {
        document.heading(2, "Batch by batch");
        document.table(batches(rollout));
    }
    if let Some(dashes) = dashes(rollout) {
        document.paragraph(dashes);
    }
    if rollout.run.batches.len() > MOST_ROWS {
        document.paragraph(format!(
            "{} batches in all; JSON and CSV have every one.",
            format::count(rollout.run.batches.len() as u64)
        ));
    }
    let happened = happened(rollout, lab);
    if !happened.is_empty() {
        document.heading(2, "What happened on the way");
        document.list(happened);
    }
    document.heading(2, "Cautions");
    document.cautions(&answer.cautions);
    document
}

/// The sentence on top that a person can quote.
fn sentence(rollout: &Rollout) -> String {
    let peak = format!(
        "memory peaks at {} against a limit of {}",
        format::share(rollout.run.peak),
        format::share(rollout.limit)
    );
    let how = match (rollout.rule, rollout.run.batches.as_slice()) {
        (Some(plan), batches) if batches.len() > 1 => format!(
            ": start {} every {} ({})",
            format::count(plan.batch),
            format::seconds(plan.wait_s),
            pace(rollout)
        ),
        (Some(_), [only]) if only.started == 1 => ": start it".to_owned(),
        (Some(_), [only]) => format!(
            ": start all {} in one go ({})",
            format::count(only.started),
            pace(rollout)
        ),
        (_, batches) => format!(
            ": start them in {} ({})",
            format::plural(batches.len() as u64, "batch", "batches"),
            pace(rollout)
        ),
    };
    let time = rollout.run.up_s.map_or_else(String::new, |total| {
        format!(", {} in all", format::seconds(total))
    });
    let guests = running(rollout);
    if rollout.run.batches.is_empty() {
        let asked = match rollout.target {
            0 => String::new(),
            n => format!(" of {} asked for", format::count(n)),
        };
        return format!(
            "{} holds no guest safely, so none{asked} is started; {peak}.",
            rollout.host
        );
    }
    if rollout.safe {
        return format!(
            "{} safely reaches {guests}{how}{time}; {peak}.",
            rollout.host
        );
    }
    let lost = match rollout.run.killed {
        0 => String::new(),
        killed => format!(
            "; the kernel kills {}",
            format::plural(killed, "guest", "guests")
        ),
    };
    let verb = if crate::model::within(rollout.run.peak, rollout.limit) {
        "reaches"
    } else {
        "does not safely reach its target:"
    };
    format!(
        "{} {verb} {guests} of {} asked for{how}{time}; {peak}{lost}.",
        rollout.host,
        format::count(rollout.target)
    )
}

/// How guests of a batch follow one another.
fn pace(rollout: &Rollout) -> String {
    match rollout.gap_s {
        Some(0.0) => "all at the same moment".to_owned(),
        Some(seconds) => format!("a guest every {}", format::seconds(seconds)),
        None => "each guest when the one before it should be up".to_owned(),
    }
}

/// What runs at the end: "20 sets (60 guests)", "96 guests beside the 2 that must run".
fn running(rollout: &Rollout) -> String {
    let (n, all) = (rollout.reached, rollout.run.running());
    let counted = counted(rollout.unit, n);
    match (rollout.unit, all.saturating_sub(n)) {
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

/// What the plan offers beside the way that was taken.
fn other_way(rollout: &Rollout) -> Option<String> {
    let plan = rollout.plan.as_ref()?;
    let list = &plan.list;
    let total = list.up_s?;
    let safe =
        crate::model::within(list.peak, plan.limit) && list.killed == 0 && plan.shortfall.is_none();
    (rollout.rule.is_some() && !list.batches.is_empty() && rollout.safe && safe).then(|| {
        format!(
            "Starting each batch as soon as it is safe takes {} in {} (--as-soon-as-safe shows them).",
            format::seconds(total),
            format::plural(list.batches.len() as u64, "batch", "batches")
        )
    })
}

/// That a rule is not kept: a batch waits until every guest of the one before has been cloned and started.
fn late(rollout: &Rollout) -> Option<String> {
    let wait = rollout.rule?.wait_s;
    let behind = |(index, batch): (usize, &BatchRun)| batch.start_s - index as f64 * wait;
    let most = rollout
        .run
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

fn batches(rollout: &Rollout) -> Table {
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
    let rows = &rollout.run.batches;
    let shown: Vec<&BatchRun> = if rows.len() > MOST_ROWS {
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
        let past = !crate::model::within(batch.peak, rollout.limit);
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
fn dashes(rollout: &Rollout) -> Option<String> {
    let any = |is: fn(&BatchRun) -> bool| rollout.run.batches.iter().any(is);
    let settled = any(|batch| batch.settle_s.is_none()).then_some(
        "A dash under settled after: the next batch, or the end of the watch, came first.",
    );
    let cloned = any(|batch| batch.clone_s.is_none())
        .then_some("A dash under cloning takes: the pool's write speed is not given.");
    let said: Vec<&str> = settled.into_iter().chain(cloned).collect();
    (!said.is_empty()).then(|| said.join(" "))
}

/// Scanner, swap and kills, the first of each kind.
fn happened(rollout: &Rollout, lab: &Lab) -> Vec<String> {
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
    let first = |wanted: fn(&EventKind) -> bool| {
        rollout.run.events.iter().find(|event| wanted(&event.kind))
    };
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
    let killed = rollout
        .run
        .events
        .iter()
        .filter_map(|event| match event.kind {
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
            format::plural(rollout.run.killed, "guest", "guests"),
            format::listed(&names)
        ));
    }
    if rollout.run.scan_cpu_s > 0.0 {
        notes.push(format!(
            "The scanner takes {} of processor time in {}.",
            format::seconds(rollout.run.scan_cpu_s),
            format::seconds(rollout.run.end_s)
        ));
    }
    notes
}
