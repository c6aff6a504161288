//! Keys of `[[period]]`: parts of the time in which guests are busy with other chances.

use super::keys::Section;
use super::keys::range::{CORRELATION, SOME_SHARE};
use super::keys::row::{NAME, TITLE, quantity};
use super::table::{Field, Value, section};

/// Name of the time that no named period covers.
pub const OTHERWISE: &str = "otherwise";
/// Names that mean something else in a table of busy shares.
pub const RESERVED_NAMES: [&str; 4] = [OTHERWISE, "low", "likely", "high"];
/// Minutes of a day.
pub const DAY_MINUTES: u32 = 24 * 60;

section! {
    /// A part of the time in which guests are busy with other chances.
    Period: Section::Period => {
        name: String = NAME, "name of the period";
        share: f64 = quantity(SOME_SHARE).absent("its hours say how much of the time it is"), "its share of the time";
        hours: Option<String> = TITLE.absent("its share says how much of the time it is"),
            "from and to on the clock, \"22-6\" or \"8:30-17\"";
        correlation: Option<f64> = quantity(CORRELATION).absent("that of the policy"),
            "how much the guests are busy at the same time within it";
    }
}

impl Period {
    /// The time that no named period covers, of this share.
    pub fn otherwise(share: f64) -> Period {
        Period {
            name: OTHERWISE.to_owned(),
            share,
            ..Period::default()
        }
    }

    /// The minutes of the day that it lasts from and to; it goes over midnight where the second is not the larger.
    pub fn hours_of_day(&self) -> Option<[u32; 2]> {
        hours_of_day(self.hours.as_ref()?)
    }
}

/// From and to in minutes of the day, by "22-6" or "8:30-17"; none where that is no such text.
///
/// # Example
/// ```
/// use berthage::lab::hours_of_day;
/// assert_eq!(hours_of_day("22-6"), Some([1320, 360]));
/// assert_eq!(hours_of_day("8:30 - 17:00"), Some([510, 1020]));
/// assert_eq!((hours_of_day("8-8"), hours_of_day("25-3"), hours_of_day("8")), (None, None, None));
/// ```
pub fn hours_of_day(text: &str) -> Option<[u32; 2]> {
    let (from, to) = text.split_once(['-', '–'])?;
    let [from, to] = [time_of_day(from)? % DAY_MINUTES, time_of_day(to)?];
    (from != to % DAY_MINUTES).then_some([from, to])
}

/// Minutes of the day, up to its end, by "22" or "8:30"; none where that is no such text.
///
/// # Example
/// ```
/// use berthage::lab::time_of_day;
/// assert_eq!((time_of_day("8:30"), time_of_day("24")), (Some(510), Some(1440)));
/// assert_eq!((time_of_day("24:01"), time_of_day("8:60"), time_of_day("8 pm")), (None, None, None));
/// ```
pub fn time_of_day(text: &str) -> Option<u32> {
    let (hour, minute) = text.trim().split_once(':').unwrap_or((text.trim(), "0"));
    let number = |text: &str| {
        text.bytes()
            .all(|byte| byte.is_ascii_digit())
            .then(|| text.parse().ok())?
    };
    let (hour, minute): (u32, u32) = (number(hour)?, number(minute)?);
    (minute < 60 && hour <= 24 && hour * 60 + minute <= DAY_MINUTES).then_some(hour * 60 + minute)
}

/// The parts of the day in their order: the minute at which each begins, the first at 0, and the place of its period; time
/// of no hours is that of the last period, `otherwise`. Empty where there are no periods, and where one is a share of the
/// time, which no clock shows.
pub fn parts_of_day(periods: &[Period]) -> Vec<(u32, usize)> {
    let named = periods.iter().filter(|period| period.name != OTHERWISE);
    let Some(hours) = named
        .map(Period::hours_of_day)
        .collect::<Option<Vec<[u32; 2]>>>()
    else {
        return Vec::new();
    };
    let ends = hours.iter().flatten().map(|minute| minute % DAY_MINUTES);
    let mut starts: Vec<u32> = ends.chain([0]).filter(|_| !hours.is_empty()).collect();
    starts.sort_unstable();
    starts.dedup();
    let period = |minute| {
        let place = hours.iter().position(|hours| is_within(minute, *hours));
        place.unwrap_or(periods.len() - 1)
    };
    starts
        .into_iter()
        .map(|minute| (minute, period(minute)))
        .collect()
}

/// Whether a minute of the day is within hours, from and to.
pub fn is_within(minute: u32, [from, to]: [u32; 2]) -> bool {
    if from < to {
        (from..to).contains(&minute)
    } else {
        minute >= from || minute < to
    }
}

/// The chance that a guest is busy: one for all the time, or one a period.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BusyShare(Vec<f64>);

impl BusyShare {
    /// The chance in the period with that place.
    pub fn in_period(&self, period: usize) -> f64 {
        let own = self.0.get(period).or(self.0.first());
        own.copied().unwrap_or(0.0)
    }

    /// Whether it is given by period.
    pub fn is_by_period(&self) -> bool {
        self.0.len() > 1
    }

    /// The largest chance of all periods.
    pub fn most(&self) -> f64 {
        self.0.iter().copied().fold(0.0, f64::max)
    }
}

impl From<f64> for BusyShare {
    fn from(share: f64) -> BusyShare {
        BusyShare(vec![share])
    }
}

impl From<Vec<f64>> for BusyShare {
    fn from(by_period: Vec<f64>) -> BusyShare {
        BusyShare(by_period)
    }
}

impl Field for BusyShare {
    fn set(&mut self, value: &Value<'_>) {
        match value {
            Value::Number(share) => *self = BusyShare::from(*share),
            list => self.0.set(list),
        }
    }
    fn as_number(&self) -> f64 {
        self.most()
    }
}
