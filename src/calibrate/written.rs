//! What a guest writes, from the counters of the disks.

use schemars::JsonSchema;
use serde::Serialize;

use super::fit::half_width;
use super::least_squares::{Equation, cost, solve};
use super::question::Question;
use super::readings::Reading;
use crate::model::DAY;
use crate::model::affine::Affine;
use crate::sizing::storage;

/// What a guest writes, as the guest's own counters show it. `[B/day]`
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "WrittenAnswer")]
pub struct Written {
    /// Best value.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end; null where there are too few stretches of time for one.
    pub high: Option<f64>,
    /// The host's own part.
    pub base: f64,
    /// Whether the readings tell it.
    #[serde(rename = "tells_base")]
    pub determines_base: bool,
    /// How long was read `[s]`.
    pub seconds: f64,
}

/// A stretch of time with one number of guests.
struct Stretch {
    guests: u64,
    seconds: f64,
    bytes: f64,
}

/// What a guest writes, by the disks' counters; the first pool is meant where the guest names none.
pub fn bytes_written(question: &Question) -> Option<Written> {
    let (host, guest) = (question.host(), question.guest());
    let named = |name: &String| host.disks.iter().find(|pool| pool.name == *name);
    let pool = guest.disk.as_ref().map_or(host.disks.first(), named);
    let factor = pool.map_or(1.0, |pool| pool.amplification * storage::cost(pool).writes);
    let base = pool.map_or(0.0, |pool| pool.base_written);
    written(question.readings, factor, base)
}

/// Estimates what a guest writes.
///
/// `bytes/s at the disks = factor·(base + n·written)`, least squares over stretches of time with an unchanged number of
/// guests, each weighted by its length; `factor` is what file system and layout make of a byte. Without two different
/// counts `base` `[B/s]` is taken from the lab. None where no time passed between readings, or no guest ran.
fn written(readings: &[Reading], factor: f64, base: f64) -> Option<Written> {
    let stretches = stretches(readings);
    let first = stretches.first()?.guests;
    let determines_base = stretches.iter().any(|stretch| stretch.guests != first);
    let sought: &[usize] = if determines_base { &[0, 1] } else { &[0] };
    let equation = |stretch: &Stretch| {
        let rate = stretch.bytes / stretch.seconds / factor;
        let n = stretch.guests as f64;
        let (of_base, value) = if determines_base {
            (1.0, rate)
        } else {
            (0.0, rate - base)
        };
        Equation {
            factors: [n, of_base],
            value,
            sigma: stretch.seconds.powf(-0.5),
        }
    };
    let equations: Vec<_> = stretches.iter().map(equation).collect();
    let bounds = [0, 1].map(Affine::unknown);
    let found = solve(sought, &equations, &bounds[..sought.len()])?;
    let freedom = equations.len() - sought.len();
    let value = found.x[0];
    let reach = if freedom == 0 {
        // The error of a single stretch cannot be estimated.
        f64::INFINITY
    } else {
        let error = (cost(&equations, &found.free) / freedom as f64).sqrt();
        half_width(freedom) * error * found.covariance[0][0].max(0.0).sqrt()
    };
    let high = (found.free[0] + reach).max(value) * DAY;
    Some(Written {
        value: value * DAY,
        low: (found.free[0] - reach).clamp(0.0, value) * DAY,
        high: high.is_finite().then_some(high),
        base: if determines_base { found.x[1] } else { base } * DAY,
        determines_base,
        seconds: stretches.iter().map(|stretch| stretch.seconds).sum(),
    })
}

/// Stretches between readings of one count; a counter that fell means that the host was started again.
fn stretches(readings: &[Reading]) -> Vec<Stretch> {
    let pairs = readings.iter().zip(readings.iter().skip(1));
    pairs
        .filter(|(one, next)| one.guests == next.guests)
        .filter_map(|(one, next)| {
            let seconds = next.at? - one.at?;
            let bytes = next.written? - one.written?;
            (seconds > 0.0 && bytes >= 0.0).then_some(Stretch {
                guests: one.guests,
                seconds,
                bytes,
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::readings::read;
    use super::written;
    use crate::model::DAY;

    #[test]
    fn two_counts_tell_guest_from_host() {
        // Invented: the host writes 1,000 B/s, a guest 200 B/s, a mirror doubles it.
        let text = "time,guests,memory_used,written_a\n0,10,50 %,0\n100,10,50 %,600000\n200,20,60 %,0\n400,20,60 %,2000000\n";
        let readings = read("r.csv", text, 1e10).expect("readings");
        let found = written(&readings.list, 2.0, 0.0).expect("an estimate");
        assert!((found.value / DAY - 200.0).abs() < 1e-6, "{found:?}");
        assert!((found.base / DAY - 1000.0).abs() < 1e-6, "{found:?}");
        assert!(found.determines_base && found.seconds == 300.0);
    }

    #[test]
    fn no_time_no_answer() {
        let readings =
            read("r.csv", "guests,memory_used\n10,50 %\n10,50 %\n", 1e10).expect("readings");
        assert_eq!(written(&readings.list, 1.0, 0.0), None);
    }
}
