//! Published values of sums of busy guests.

use berthage::model::demand::{Busy, Demand, worst_rate};

fn busy(guests: u64, probability: f64, extra: f64) -> Busy {
    Busy {
        guests,
        probability,
        extra,
    }
}

#[test]
fn tails() {
    let three = [busy(5, 0.2, 4.0), busy(10, 0.3, 2.0), busy(8, 0.5, 1.0)];
    // Computed from the definition with mpmath.
    let rows: [(&[Busy], f64, f64, f64, f64); 5] = [
        (&[busy(20, 0.3, 1.0)], 0.0, 10.0, 0.0171448164313, 5e-14),
        (&[busy(20, 0.3, 1.0)], 0.2, 10.0, 0.128420796665, 5e-13),
        (&[busy(35, 0.1, 1.0)], 0.0, 10.0, 0.000424297595451, 5e-16),
        (&three, 0.0, 16.0, 0.290268303439, 5e-13),
        (&three, 0.0, 20.0, 0.0962150704185, 5e-14),
    ];
    for (guests, correlation, limit, expected, tolerance) in rows {
        let tail = Demand::new(0.0, guests, correlation).tail(limit);
        assert!(
            (tail - expected).abs() <= tolerance,
            "{tail} for {expected}"
        );
    }
    assert_eq!(
        Demand::new(0.0, &[busy(100, 0.1, 1.0)], 0.0).at_risk(1e-6),
        27.0
    );
}

/// Hull, Risk Management and Financial Institutions, 2nd ed., table 11.4: 99.9 % worst rate.
#[test]
fn worst_rates_of_large_pools() {
    let table = [
        (
            0.2,
            [
                (0.001, 0.028),
                (0.005, 0.091),
                (0.010, 0.146),
                (0.015, 0.189),
                (0.020, 0.226),
            ],
        ),
        (
            0.4,
            [
                (0.001, 0.071),
                (0.005, 0.211),
                (0.010, 0.316),
                (0.015, 0.390),
                (0.020, 0.449),
            ],
        ),
    ];
    for (correlation, rows) in table {
        for (p, expected) in rows {
            let rate = worst_rate(p, correlation, 0.999);
            assert!((rate - expected).abs() <= 0.0005, "{rate} for {expected}");
            let pool = Demand::new(0.0, &[busy(1_000_000, p, 1.0)], correlation);
            let share = pool.at_risk(0.001) / 1e6;
            assert!((share / rate - 1.0).abs() <= 2e-4, "{share} for {rate}");
        }
    }
    // A textbook's worked example prints 0.128; computed with mpmath beyond.
    assert!((worst_rate(0.02, 0.1, 0.999) - 0.128237107299).abs() <= 5e-13);
}
