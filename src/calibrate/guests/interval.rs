//! Intervals of what a few guests show over some time.

use crate::calibrate::fit::{Interval, half_width};

/// Standard error of a median over that of a mean, of normal values: √(π/2).
const MEDIAN: f64 = 1.253_314_137;

/// The median, with its interval by the scatter of the values.
///
/// # Example
/// ```
/// use berthage::calibrate::guests::interval::median;
/// let found = median(&[3.0, 1.0, 2.0]).expect("values");
/// assert_eq!(found.value, 2.0);
/// assert!(found.low < 1.0 && found.high > 3.0);
/// ```
pub fn median(values: &[f64]) -> Option<Interval> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let (count, middle) = (sorted.len(), sorted.len() / 2);
    let value = match count {
        0 => return None,
        _ if count % 2 == 1 => sorted[middle],
        _ => 0.5 * (sorted[middle - 1] + sorted[middle]),
    };
    // Up to two values the median is the mean.
    let factor = if count > 2 { MEDIAN } else { 1.0 };
    Some(around(value, factor * reach_of_mean(values)))
}

/// The middle one of some values.
pub fn middle(values: impl Iterator<Item = f64>) -> Option<f64> {
    let values: Vec<f64> = values.collect();
    median(&values).map(|found| found.value)
}

/// The mean, with its interval by the scatter of the values.
pub fn mean(values: &[f64]) -> Option<Interval> {
    let count = values.len();
    let value = values.iter().sum::<f64>() / count as f64;
    (count > 0).then(|| around(value, reach_of_mean(values)))
}

/// How far guests of a kind may lie from the only one that was seen (assumption; guests of two measured kinds lay within 3 %).
const ALONE: f64 = 0.15;

/// Half of the interval of a mean; of a single value an assumed share, because its error cannot be estimated.
fn reach_of_mean(values: &[f64]) -> f64 {
    let count = values.len() as f64;
    if values.len() < 2 {
        return ALONE * values.iter().sum::<f64>().abs();
    }
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    half_width(values.len() - 1) * (squares / (count - 1.0) / count).sqrt()
}

fn around(value: f64, reach: f64) -> Interval {
    Interval {
        value,
        low: (value - reach).max(0.0),
        high: value + reach,
    }
}

/// Guests, or times, differ where their sums vary by more than so many times what their cells explain (about the 5 % point of F
/// for five to ten of them).
const DIFFER: f64 = 2.0;

/// A part and the whole of one guest in one stretch of time.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Portion {
    /// What is counted.
    pub part: f64,
    /// What it is a share of.
    pub whole: f64,
}

/// Σ part/Σ whole over guests (rows) and stretches of time (columns), with its interval when guests differ and the time is
/// one that all of them share.
///
/// `V = V_guests + V_times − V_cells`; where guests (or times) do not vary more than their cells explain, the cells alone count.
///
/// # Source
/// A. C. Cameron, J. B. Gelbach & D. L. Miller, "Robust inference with multiway clustering", Journal of Business & Economic
/// Statistics 29 (2011) 238–249.
pub fn ratio(rows: &[Vec<Portion>]) -> Option<Interval> {
    let sum = |pick: fn(&Portion) -> f64| rows.iter().flatten().map(pick).sum::<f64>();
    let (part, whole) = (sum(|cell| cell.part), sum(|cell| cell.whole));
    if whole <= 0.0 {
        return None;
    }
    let value = part / whole;
    let residual = |cell: &Portion| cell.part - value * cell.whole;
    let times = rows.iter().map(Vec::len).max().unwrap_or(0);
    let spread = |sums: Vec<f64>| {
        let count = sums.len() as f64;
        let squares: f64 = sums.iter().map(|sum| sum * sum).sum();
        if sums.len() < 2 {
            0.0
        } else {
            squares * count / (count - 1.0) / (whole * whole)
        }
    };
    let by_guest = spread(
        rows.iter()
            .map(|row| row.iter().map(residual).sum())
            .collect(),
    );
    let by_time = spread(
        (0..times)
            .map(|time| {
                rows.iter()
                    .filter_map(|row| row.get(time))
                    .map(residual)
                    .sum()
            })
            .collect(),
    );
    let cells: Vec<f64> = rows
        .iter()
        .flatten()
        .filter(|cell| cell.whole > 0.0)
        .map(residual)
        .collect();
    let number = cells.len();
    let by_cell = spread(cells);
    let [guests_differ, times_differ] = [by_guest, by_time].map(|one| one > DIFFER * by_cell);
    let (variance, count) = match (guests_differ, times_differ) {
        (false, false) => (by_cell, number),
        (true, false) => (by_guest, rows.len()),
        (false, true) => (by_time, times),
        (true, true) => (by_guest + by_time - by_cell, rows.len().min(times)),
    };
    let freedom = count.saturating_sub(1).max(1);
    Some(around(value, half_width(freedom) * variance.sqrt()))
}
