//! What the readings say beside the counts: bytes written, swap, a smaller memory.

use crate::calibrate::answer::CalibrateAnswer;
use crate::unit::format;

/// What else the readings say about the plan.
pub(super) fn lines(answer: &CalibrateAnswer) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(written) = &answer.written {
        let between = match written.high {
            Some(high) => format!(
                " (between {} and {})",
                format::bytes_per_day(written.low),
                format::bytes_per_day(high)
            ),
            None => " (too few stretches of time for an interval)".to_owned(),
        };
        let base = if written.tells_base {
            "the host itself"
        } else {
            "the host itself, as in the lab,"
        };
        lines.push(format!(
            "Written, by the guest's own counters: {} a guest{between}; {base} {}; read over {}.",
            format::bytes_per_day(written.value),
            format::bytes_per_day(written.base),
            format::seconds(written.seconds)
        ));
    }
    lines.extend(answer.swap.clone());
    if let Some(smaller) = &answer.smaller_memory {
        let count = |count: Option<u64>| count.map_or_else(|| "no bound".to_owned(), format::count);
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
        lines.push(format!(
            "No guest has touched more than {}, so {} of memory would do in place of {}: {held} and by the plain sum {} in \
             place of {}.",
            format::bytes(smaller.highest),
            format::bytes(smaller.enough),
            format::bytes(smaller.now),
            count(smaller.plain_sum[1]),
            count(smaller.plain_sum[0])
        ));
    }
    lines
}
