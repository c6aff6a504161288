//! What a guest writes, from the counters of the disks.

use super::estimate::{CONFIDENCE, Interval, quantile};
use super::readings::Reading;
use super::solve::{Bound, Equation, cost, solve};

/// Bytes written, from readings. `[B/s]`
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Written {
    /// By one guest.
    pub guest: Interval,
    /// By the host itself; as in the lab where the readings are all at one count.
    pub base: f64,
    /// Whether the readings tell the host's own part.
    pub tells_base: bool,
    /// How long was read `[s]`.
    pub seconds: f64,
}

/// A stretch of time with one number of guests.
struct Stretch {
    guests: u64,
    seconds: f64,
    bytes: f64,
}

/// Estimates what a guest writes.
///
/// `bytes/s at the disks = factor·(base + n·written)`, least squares over stretches of time with an unchanged number of
/// guests, each weighted by its length; `factor` is what file system and layout make of a byte. Without two different
/// counts `base` `[B/s]` is taken from the lab. None where no time passed between readings, or no guest ran.
#[must_use]
pub fn written(readings: &[Reading], factor: f64, base: f64) -> Option<Written> {
    let stretches = stretches(readings);
    let mut counts: Vec<u64> = stretches.iter().map(|stretch| stretch.guests).collect();
    counts.sort_unstable();
    counts.dedup();
    let tells_base = counts.len() >= 2;
    let equations: Vec<Equation> = stretches
        .iter()
        .map(|stretch| {
            let rate = stretch.bytes / stretch.seconds / factor;
            let n = stretch.guests as f64;
            let (factors, value) = if tells_base {
                (vec![n, 1.0], rate)
            } else {
                (vec![n], rate - base)
            };
            Equation {
                factors,
                value,
                sigma: stretch.seconds.powf(-0.5),
            }
        })
        .collect();
    let unknowns = equations.first()?.factors.len();
    let bounds: Vec<Bound> = (0..unknowns)
        .map(|index| Bound {
            factors: (0..unknowns)
                .map(|other| f64::from(u8::from(other == index)))
                .collect(),
            least: 0.0,
        })
        .collect();
    let found = solve(&equations, &bounds)?;
    let freedom = equations.len() - unknowns;
    let value = found.x[0];
    let reach = if freedom == 0 {
        // One stretch tells nothing of its own error.
        f64::INFINITY
    } else {
        let error = (cost(&equations, &found.free) / freedom as f64).sqrt();
        quantile(0.5 + CONFIDENCE / 2.0, freedom) * error * found.covariance[0][0].max(0.0).sqrt()
    };
    Some(Written {
        guest: Interval {
            value,
            low: (found.free[0] - reach).clamp(0.0, value),
            high: (found.free[0] + reach).max(value),
        },
        base: if tells_base { found.x[1] } else { base },
        tells_base,
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

    #[test]
    fn two_counts_tell_guest_from_host() {
        // Invented: the host writes 1,000 B/s, a guest 200 B/s, a mirror doubles it.
        let text = "time,guests,memory_used,written_a\n0,10,50 %,0\n100,10,50 %,600000\n200,20,60 %,0\n400,20,60 %,2000000\n";
        let readings = read("r.csv", text, 1e10).expect("readings");
        let found = written(&readings.list, 2.0, 0.0).expect("an estimate");
        assert!((found.guest.value - 200.0).abs() < 1e-6, "{found:?}");
        assert!((found.base - 1000.0).abs() < 1e-6, "{found:?}");
        assert!(found.tells_base && found.seconds == 300.0);
    }

    #[test]
    fn no_time_no_answer() {
        let readings =
            read("r.csv", "guests,memory_used\n10,50 %\n10,50 %\n", 1e10).expect("readings");
        assert_eq!(written(&readings.list, 1.0, 0.0), None);
    }
}
