//! Puts the periods of a lab together: how much of the time each is, that they do not overlap, and the rest of the time.

use crate::lab::{DAY_MINUTES, OTHERWISE, Period, RESERVED_NAMES, hours_of_day, is_within};

use super::check::Checker;
use super::fields::Fields;
use super::lists;
use super::problem::{conflicts, keys};
use super::tree::Node;

/// Slack of the sum of shares, so that those that add up to a whole in writing do so in binary too.
const SLACK: f64 = 1e-9;

/// The periods in the order of the file and, where they are not all the time, the rest of it; the checker keeps their
/// names for the busy shares of guests.
pub(super) fn all<'t>(checker: &mut Checker<'t>, nodes: &'t [Node]) -> Vec<Period> {
    let errors = checker.errors.len();
    let mut tables = Vec::with_capacity(nodes.len());
    let mut periods = lists::named_tables(checker, nodes, "periods", |checker, node, _| {
        let path = lists::table_path("period", node);
        let checked = checker.table::<Period>(path, Some(node), None);
        let period = with_share(checker, &checked.fields, checked.table);
        tables.push(checked.fields);
        period
    });
    checker.periods = periods.iter().map(|period| period.name.clone()).collect();
    if periods.is_empty() {
        return periods;
    }
    overlaps(checker, &periods, &tables);
    let sum: f64 = periods.iter().map(|period| period.share).sum();
    if sum > 1.0 + SLACK
        && checker.errors.len() == errors
        && let Some(last) = tables.last()
    {
        checker.report(conflicts::too_much_time(last, sum));
    }
    if sum < 1.0 - SLACK {
        periods.push(Period::otherwise(1.0 - sum));
        checker.periods.push(OTHERWISE.to_owned());
    }
    periods
}

/// A period with its share of the time, by its hours where these are given.
fn with_share<'t>(checker: &mut Checker<'t>, fields: &Fields<'t>, mut period: Period) -> Period {
    if RESERVED_NAMES.contains(&period.name.as_str()) {
        checker.report(conflicts::reserved_name(fields, &period.name));
    }
    match (fields.node("share"), &period.hours) {
        (Some(_), Some(_)) => checker.report(conflicts::share_and_hours(fields)),
        (None, None) if fields.node("hours").is_none() => {
            checker.report(conflicts::no_time(fields));
        }
        (None, Some(hours)) => match hours_of_day(hours) {
            Some([from, to]) => {
                let minutes = (to + DAY_MINUTES - from) % DAY_MINUTES;
                period.share = f64::from(minutes) / f64::from(DAY_MINUTES);
            }
            None => checker.report(conflicts::no_hours(fields, hours)),
        },
        _ => {}
    }
    period
}

/// Reports hours that two periods have in common.
fn overlaps<'t>(checker: &mut Checker<'t>, periods: &[Period], tables: &[Fields<'t>]) {
    let clocks: Vec<Option<[u32; 2]>> = periods.iter().map(Period::hours_of_day).collect();
    for (later, hours) in clocks.iter().enumerate() {
        for (earlier, other) in clocks[..later].iter().enumerate() {
            let (Some(hours), Some(other)) = (hours, other) else {
                continue;
            };
            if is_within(hours[0], *other) || is_within(other[0], *hours) {
                let names = [earlier, later].map(|place| periods[place].name.as_str());
                let tables = [earlier, later].map(|place| &tables[place]);
                let places = tables.map(|fields| fields.node("hours").map(|node| node.place));
                checker.report(keys::overlapping(names, places));
            }
        }
    }
}
