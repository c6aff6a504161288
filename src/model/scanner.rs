//! The scanner that finds equal pages: how fast it goes and how long a pass takes.

use super::GIB;
use super::number::{Measure, Number};
use crate::lab::{Merging, Mode};

/// Default sleep between wakes `[s]`. Source: kernel admin guide, mm/ksm, `sleep_millisecs`.
pub const SLEEP: f64 = 0.020;
/// Slowest pages per wake of the kernel's advisor. Source: kernel admin guide, mm/ksm, `advisor_min_pages_to_scan`.
pub const ADVISOR_LEAST: f64 = 500.0;
/// Fastest pages per wake of the kernel's advisor. Source: kernel admin guide, mm/ksm, `advisor_max_pages_to_scan`.
pub const ADVISOR_MOST: f64 = 30_000.0;
/// Most processor share of the kernel's advisor. Source: kernel admin guide, mm/ksm, `advisor_max_cpu` (70 %).
pub const ADVISOR_CPU: f64 = 0.7;

/// Which speed of the scanner counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scan {
    /// No page sharing, no bookkeeping.
    Off,
    /// The steady state of the host's mode; for an adaptive scanner its fastest.
    Steady,
    /// An adaptive scanner drifting at its slowest.
    Least,
}

/// Pages the scanner visits per second at a given number of pages per wake.
///
/// `S(w) = w / (tick·⌈sleep/tick⌉ + tick·⌈w·scan_cost/tick⌉)`
///
/// A sleep and the work after it both end on a timer tick, so S is a sawtooth in w: clamp speeds, never invert it.
///
/// - `pages_per_wake` w, > 0
/// - `sleep` between wakes `[s]`
/// - `tick` of the kernel's timer `[s]`, > 0
/// - `scan_cost` processor time per page `[s]`
///
/// Returns `[pages/s]`.
///
/// # Source
/// Measured for this project: fits every uncontended pass within 3 %, two within 6 % (kernel 6.18, 250 Hz).
/// Kernel admin guide, mm/ksm, for the upper bound w/sleep.
///
/// # Example
/// ```
/// use berthage::model::scanner::speed;
/// // The kernel's defaults, 100 pages every 20 ms, at no cost: 5,000 pages a second.
/// assert_eq!(speed(100.0, 0.020, 0.004, 0.0).round(), 5000.0);
/// ```
pub fn speed<N: Number>(pages_per_wake: N, sleep: N, tick: N, scan_cost: N) -> N {
    let whole = |time: N| tick * (time / tick).ceil();
    let cycle = whole(sleep) + whole(pages_per_wake * scan_cost);
    pages_per_wake / if cycle.is_positive() { cycle } else { tick }
}

/// Sleep between wakes that holds for a host: what was given, else the default of the mode.
///
/// Adaptive: `max(10 ms, 10 ms·16 GiB/visible)`; else 20 ms. Returns `[s]`.
///
/// # Source
/// Default configuration of the public tuning daemon (adaptive); kernel admin guide, mm/ksm (else).
///
/// # Example
/// ```
/// use berthage::lab::Mode;
/// use berthage::model::{GIB, scanner::default_sleep};
/// assert_eq!(default_sleep(Mode::Adaptive, 16.0 * GIB), 0.010);
/// assert_eq!(default_sleep(Mode::Adaptive, 8.0 * GIB), 0.020);
/// ```
pub fn default_sleep<N: Number>(mode: Mode, visible: N) -> N {
    match mode {
        Mode::Adaptive => {
            let least = N::measured(0.010, Measure::Seconds);
            least.max(least * (N::measured(16.0 * GIB, Measure::Bytes) / visible))
        }
        Mode::Off | Mode::Fixed | Mode::ScanTime => N::measured(SLEEP, Measure::Seconds),
    }
}

/// Speed that the kernel's advisor settles at: a pass takes `target_pass`, within the advisor's bounds.
///
/// `S = P/target_pass`, kept between `S(500)` and `S(min(30000, 0.7·sleep/(0.3·scan_cost)))`
///
/// - `pages` P visited in a pass
/// - `target_pass` `[s]`; `sleep`, `tick`, `scan_cost` as in [`speed`]
///
/// Returns `[pages/s]`.
///
/// # Source
/// Kernel admin guide, mm/ksm, advisor (scan-time): target, least and most pages, most processor share.
pub fn advisor_speed<N: Number>(pages: N, target_pass: N, sleep: N, tick: N, scan_cost: N) -> N {
    let slowest = speed(N::of(ADVISOR_LEAST), sleep, tick, scan_cost);
    let fastest = speed(advisor_most(sleep, scan_cost), sleep, tick, scan_cost);
    slowest.max((pages / target_pass).min(fastest))
}

/// Most pages per wake that the kernel's advisor chooses.
///
/// `min(30000, 0.7·sleep/(0.3·scan_cost))`
///
/// # Source
/// Kernel admin guide, mm/ksm, advisor (scan-time): most pages, most processor share.
pub fn advisor_most<N: Number>(sleep: N, scan_cost: N) -> N {
    let most = N::of(ADVISOR_MOST);
    let chosen = if scan_cost.is_positive() {
        let rest = N::of(1.0 - ADVISOR_CPU) * scan_cost;
        most.min(N::of(ADVISOR_CPU) * sleep / rest)
    } else {
        most
    };
    chosen.named(Measure::Plain)
}

/// The advisor's first guess of pages per wake, which counts the work as nothing.
///
/// `w = P·sleep/target_pass`
///
/// # Source
/// Kernel admin guide, mm/ksm, advisor (scan-time).
///
/// # Example
/// ```
/// use berthage::model::{GIB, PAGE, scanner::advisor_first_guess};
/// // 64 GiB to scan in 200 s, waking every 20 ms: about 1,678 pages a wake.
/// assert_eq!(advisor_first_guess(64.0 * GIB / PAGE, 200.0, 0.020).round(), 1678.0);
/// ```
pub fn advisor_first_guess(pages: f64, target_pass: f64, sleep: f64) -> f64 {
    pages * sleep / target_pass
}

/// A host's scanner settings with the sleep resolved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scanner<N = f64> {
    /// Sleep between wakes `[s]`.
    pub sleep: N,
    /// Timer tick `[s]`.
    pub tick: N,
    /// Processor time per page in the steady state `[s]`.
    pub scan_cost: N,
}

impl<N: Number> Scanner<N> {
    /// The scanner of a host that sees `visible` bytes of memory; `number` makes the number of each of its settings.
    pub fn read(
        merging: &Merging,
        visible: N,
        number: impl Fn(&'static str, f64, Measure) -> N,
    ) -> Scanner<N> {
        let time = |key, value| number(key, value, Measure::Seconds);
        let sleep = match merging.sleep {
            Some(given) => time("merging.sleep", given),
            None => default_sleep(merging.mode, visible),
        };
        Scanner {
            sleep: sleep.named(Measure::Seconds),
            tick: time("merging.tick", merging.tick),
            scan_cost: time("merging.scan_cost", merging.scan_cost),
        }
    }

    /// S(w), see [`speed`]. `[pages/s]`
    pub fn speed(&self, pages_per_wake: N) -> N {
        speed(pages_per_wake, self.sleep, self.tick, self.scan_cost)
    }

    /// S, the speed that the scanner keeps with `pages` to visit in a pass `[pages/s]`; 0 where it is off.
    ///
    /// Fixed: S(pages_per_wake). Adaptive: S(most), drifting S(least). Scan time: [`advisor_speed`].
    ///
    /// # Source
    /// Kernel admin guide, mm/ksm; default configuration of the public tuning daemon.
    pub fn steady_speed(
        &self,
        merging: &Merging,
        pages: N,
        scan: Scan,
        number: impl Fn(&'static str, f64, Measure) -> N,
    ) -> N {
        let wake = |key, value| self.speed(number(key, value, Measure::Plain));
        let speed = match (merging.mode, scan) {
            (Mode::Off, _) | (_, Scan::Off) => N::of(0.0),
            (Mode::Fixed, _) => wake("merging.pages_per_wake", merging.pages_per_wake),
            (Mode::Adaptive, Scan::Least) => wake("merging.least", merging.least),
            (Mode::Adaptive, Scan::Steady) => wake("merging.most", merging.most),
            (Mode::ScanTime, _) => {
                let aim = number("merging.target_pass", merging.target_pass, Measure::Seconds);
                advisor_speed(pages, aim, self.sleep, self.tick, self.scan_cost)
            }
        };
        speed.named(Measure::Plain)
    }
}

/// The next pages per wake that an adaptive scanner's daemon chooses, once every interval.
///
/// Free memory below the threshold: `w + boost`, else `w − decay`, within `least … most`; from rest w = 0.
///
/// # Source
/// Default configuration of the public tuning daemon: boost 300, decay 50, least 64, most 1250, every 60 s.
///
/// # Example
/// ```
/// use berthage::model::scanner::{Pressure, next_pages};
/// let ramp = (0.0, 64.0, 1250.0, 300.0, 50.0);
/// let next = |w, pressure| next_pages(w, pressure, ramp.3, ramp.4, ramp.1, ramp.2);
/// assert_eq!(next(0.0, Pressure::Short), 300.0);
/// assert_eq!(next(1200.0, Pressure::Short), 1250.0);
/// assert_eq!(next(1250.0, Pressure::Ample), 1200.0);
/// ```
pub fn next_pages(
    pages: f64,
    pressure: Pressure,
    boost: f64,
    decay: f64,
    least: f64,
    most: f64,
) -> f64 {
    match pressure {
        Pressure::Short => (pages + boost).clamp(least, most),
        Pressure::Ample => (pages - decay).clamp(least, most),
    }
}

/// Whether free memory is below the adaptive scanner's threshold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pressure {
    /// Below: speed up.
    Short,
    /// Above: slow down.
    Ample,
}

/// Whether an adaptive scanner may rest: everything resident, merged pages counted in full, plus the threshold fits.
///
/// `resident + threshold·visible < visible`
///
/// # Source
/// Default configuration of the public tuning daemon.
///
/// # Example
/// ```
/// use berthage::model::{GIB, scanner::may_rest};
/// assert!(may_rest(12.0 * GIB, 16.0 * GIB, 0.2));
/// assert!(!may_rest(13.0 * GIB, 16.0 * GIB, 0.2));
/// // The daemon stops below its line, not at it.
/// assert!(!may_rest(12.0 * GIB, 16.0 * GIB, 0.25));
/// ```
pub fn may_rest<N: Number>(resident: N, visible: N, threshold: N) -> bool {
    let needed = resident + threshold * visible;
    needed.known() < visible.known()
}

#[cfg(test)]
mod tests {
    use super::{Pressure, advisor_speed, next_pages, speed};
    use crate::model::{GIB, PAGE};

    #[test]
    fn kernel_defaults_scan_at_most_5000_pages_a_second() {
        // Kernel admin guide, mm/ksm: 100 pages, 20 ms; a 16 GiB pass takes at least 838.9 s.
        let s = speed(100.0, 0.020, 0.004, 0.0);
        assert!((s - 5000.0).abs() < 1e-6);
        assert!((16.0 * GIB / PAGE / s - 838.9).abs() < 0.05);
    }

    #[test]
    fn adaptive_ramp_takes_5_intervals_up_and_24_down() {
        // Default configuration of the public tuning daemon: 300, 600, 900, 1200, 1250; 1250 back to 64 takes 24.
        let mut pages = 0.0;
        let mut seen = Vec::new();
        for _ in 0..5 {
            pages = next_pages(pages, Pressure::Short, 300.0, 50.0, 64.0, 1250.0);
            seen.push(pages);
        }
        assert_eq!(seen, [300.0, 600.0, 900.0, 1200.0, 1250.0]);
        let mut steps = 0;
        while pages > 64.0 {
            pages = next_pages(pages, Pressure::Ample, 300.0, 50.0, 64.0, 1250.0);
            steps += 1;
        }
        assert_eq!(steps, 24);
    }

    #[test]
    fn cycle_law_gives_the_measured_passes() {
        // Measured for this project: 16 idle guests, 620,700 pages. At 1000 pages per 20 ms pass 1 takes 15 s
        // (1.4 µs a page) and pass 2 ends at 35 s (10 µs where it merges); at 250 pages 61 s and 121 s.
        let pages = 620_700.0;
        let first = pages / speed(1000.0, 0.020, 0.004, 1.4e-6);
        let second = pages / speed(1000.0, 0.020, 0.004, 10e-6);
        assert!((first / 15.0 - 1.0).abs() < 0.03, "{first}");
        assert!(
            ((first + second) / 35.0 - 1.0).abs() < 0.06,
            "{}",
            first + second
        );
        let first = pages / speed(250.0, 0.020, 0.004, 1.4e-6);
        let second = pages / speed(250.0, 0.020, 0.004, 10e-6);
        assert!((first / 61.0 - 1.0).abs() < 0.03, "{first}");
        assert!(
            ((first + second) / 121.0 - 1.0).abs() < 0.03,
            "{}",
            first + second
        );
    }

    #[test]
    fn advisor_keeps_its_target_within_its_bounds() {
        let s = |pages: f64| advisor_speed(pages, 200.0, 0.020, 0.004, 5.3e-6);
        assert_eq!(s(8e6), 8e6 / 200.0);
        assert_eq!(s(1.0), speed(500.0, 0.020, 0.004, 5.3e-6));
        assert_eq!(
            s(1e12),
            speed(0.7 * 0.020 / (0.3 * 5.3e-6), 0.020, 0.004, 5.3e-6)
        );
    }
}
