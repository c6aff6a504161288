//! How a host comes back after a power cut.

use crate::sizing::answer::Restart;
use crate::unit::format;

/// Most lines of an order to start in.
const MOST_LINES: usize = 20;

/// "All at once is safe" or how many at a time, in one sentence.
pub fn sentence(restart: &Restart) -> String {
    let guests = |n: u64| format::plural(n, "guest", "guests");
    let time = format::seconds(restart.total_s);
    if restart.all_at_once && restart.batch == 1 {
        return format!("After a power cut the 1 guest may start at once and is up after {time}.");
    }
    if restart.all_at_once {
        return format!(
            "After a power cut all {} may start at once; the last is up after {time}.",
            guests(restart.batch)
        );
    }
    let left = match restart.left_off {
        0 => String::new(),
        left => format!(
            " {} cannot come back without passing the safe limit and stay off.",
            guests(left)
        ),
    };
    if restart.batch == 0 {
        return format!("After a power cut no guest can come back within the safe limit.{left}");
    }
    let how = match restart.wait_s {
        0.0 => {
            let all = restart
                .batches
                .iter()
                .flat_map(|batch| batch.guests.values());
            format!("{} may start at once", guests(all.sum()))
        }
        wait => format!(
            "start {} every {}, not all at once, those that must run first",
            guests(restart.batch),
            format::seconds(wait)
        ),
    };
    format!("After a power cut {how}; the last is up after {time}.{left}")
}

/// The order to start in, a line a moment: "at 0: 4 db, 20 web"; none where all start at once.
pub fn lines(restart: &Restart) -> Vec<String> {
    if restart.all_at_once {
        return Vec::new();
    }
    let lines = restart.batches.iter().map(|batch| {
        let guests = batch.guests.iter();
        let guests: Vec<String> = guests
            .map(|(name, n)| format!("{} {name}", format::count(*n)))
            .collect();
        let at = match batch.at_s {
            0.0 => "at once".to_owned(),
            at => format!("after {}", format::seconds(at)),
        };
        format!("{at}: {}", guests.join(", "))
    });
    let mut lines: Vec<String> = lines.collect();
    if lines.len() > MOST_LINES {
        let more = lines.len() - MOST_LINES;
        lines.truncate(MOST_LINES);
        lines.push(format!(
            "and {} more (JSON has every one)",
            format::count(more as u64)
        ));
    }
    lines
}

/// What disks and processor have to do with it: "All boots together need 9 min of reading and 28 s of the processor: the
/// disks set the pace."; none where nothing starts.
pub fn pace(restart: &Restart) -> Option<String> {
    if restart.batch == 0 {
        return None;
    }
    let (disk, processor) = (restart.disk_s.unwrap_or(0.0), restart.processor_s);
    let reading = restart.disk_s.map_or_else(String::new, |disk| {
        format!("{} of reading and ", format::seconds(disk))
    });
    let most = disk.max(processor);
    let pace = if most <= restart.boot_s {
        "neither makes a boot longer than it is by itself"
    } else if disk >= processor {
        "the disks set the pace"
    } else {
        "the processor sets the pace"
    };
    let waits = match restart.wait_s {
        0.0 => "",
        _ => "; the waits are for memory, until pages have been merged",
    };
    Some(format!(
        "All boots together need {reading}{} of the processor: {pace}{waits}.",
        format::seconds(processor)
    ))
}

/// A host that cannot start all its guests at once.
pub(super) fn caution(left_off: u64) -> String {
    let what = if left_off > 0 {
        format!(
            "After a power cut {} cannot come back: fresh guests share nothing yet, and together they need more memory \
             than there is.",
            format::plural(left_off, "guest", "guests")
        )
    } else {
        "After a power cut the guests cannot all start at once: fresh guests share nothing yet, and the later ones find \
         room only when the pages of the earlier ones have been merged."
            .to_owned()
    };
    format!("{what} Set the order and the delay of automatic starts before you need them.")
}
