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
    assert_eq!(
        (worst_rate(-0.5, 0.2, 0.9), worst_rate(1.5, 0.2, 0.9)),
        (0.0, 1.0)
    );
    // A textbook's worked example prints 0.128; computed with mpmath beyond.
    assert!((worst_rate(0.02, 0.1, 0.999) - 0.128237107299).abs() <= 5e-13);
}

/// Busy every other day and tied by a correlation of one half: the number of busy guests is then uniform on 0 … n, since
/// a(z) = Φ(−z) is uniform on (0, 1) (T. Bayes, *An Essay towards solving a Problem in the Doctrine of Chances*,
/// 1763: `∫ C(n, j)·u^(n−j)·(1−u)^j du = 1/(n+1)`). With j idle all sets of j guests are alike, so a chance is a count of
/// sets over `(n+1)·C(n, j)`; counted in whole numbers by a program of its own.
#[test]
fn tied_by_one_half_every_number_of_busy_guests_is_as_likely() {
    let single = Demand::new(0.0, &[busy(40, 0.5, 1.0)], 0.5);
    for most in 0..40_u32 {
        let expected = f64::from(40 - most) / 41.0;
        let tail = single.tail(f64::from(most));
        assert!(
            (tail - expected).abs() < 1e-9,
            "{most}: {tail} for {expected}"
        );
    }
    // Close to the largest demand, 1,336: the room that idle guests leave, and the chance.
    let sizes = [1.0, 1.37, 1.91, 2.53, 3.11, 4.07, 5.43, 7.3];
    let demand = Demand::new(3.0, &sizes.map(|size| busy(50, 0.5, size)), 0.5);
    for (room, expected) in [
        (0.9, 1.0 / 401.0),
        (1.2, 0.002805486284289277),
        (2.4, 0.0035453346583416145),
        (5.0, 0.0052673864453194295),
        (9.0, 0.008423799713461433),
    ] {
        let tail = demand.tail(3.0 + 1336.0 - room);
        assert!(
            (tail / expected - 1.0).abs() < 1e-6,
            "room {room}: {tail} for {expected}"
        );
    }
    // Far from it, 300 guests in ten sizes.
    let sizes = [
        37.0, 53.0, 71.0, 97.0, 113.0, 139.0, 167.0, 191.0, 223.0, 251.0,
    ];
    let demand = Demand::new(0.0, &sizes.map(|size| busy(30, 0.5, size)), 0.5);
    for (limit, expected) in [
        (12078.0, 0.6991468585549181),
        (20130.0, 0.4999876329343255),
        (32208.0, 0.20124879450343586),
        (36234.0, 0.10166918198015613),
        (39052.0, 0.031967864989872426),
    ] {
        let tail = demand.tail(limit);
        assert!(
            (tail / expected - 1.0).abs() < 1e-4,
            "{limit}: {tail} for {expected}"
        );
    }
}

/// Two and three guests that are busy every other day: both at once `1/4 + asin(r)/2π`, all three `1/8 + 3·asin(r)/4π`
/// (W. F. Sheppard, Phil. Trans. R. Soc. A 192 (1899) 101–167, on medial dichotomy of normal correlation; cited from
/// memory). One guest is busy as often as it is, whatever ties it to others.
#[test]
fn one_two_and_three_guests_tied_by_any_correlation() {
    use std::f64::consts::PI;
    for correlation in [1e-8, 1e-4, 0.01, 0.1, 0.25, 0.5, 0.75, 0.9, 0.98] {
        let arc = f64::asin(correlation);
        let close = |tail: f64, expected: f64| {
            assert!(
                (tail / expected - 1.0).abs() < 2e-9,
                "r {correlation}: {tail} for {expected}"
            );
        };
        let guests = |n| Demand::new(7.0, &[busy(n, 0.5, 2.0)], correlation);
        close(guests(2).tail(10.0), 0.25 + arc / (2.0 * PI));
        close(guests(2).tail(8.0), 0.75 - arc / (2.0 * PI));
        close(guests(3).tail(12.0), 0.125 + 3.0 * arc / (4.0 * PI));
        for probability in [1e-9, 1e-4, 0.02, 0.4, 0.97] {
            let single = Demand::new(7.0, &[busy(1, probability, 2.0)], correlation);
            close(single.tail(8.0), probability);
        }
    }
}

/// As for 40 guests, with ever steeper steps of the tail in the factor.
#[test]
fn of_a_large_pool_tied_by_one_half_every_number_of_busy_guests_is_as_likely() {
    for guests in [1_000_u64, 30_000] {
        let n = guests as f64;
        let demand = Demand::new(0.0, &[busy(guests, 0.5, 1.0)], 0.5);
        for share in [0.0, 0.01, 0.3, 0.5, 0.9, 0.99, 0.999] {
            let most = (share * n).floor();
            let expected = (n - most) / (n + 1.0);
            let tail = demand.tail(most);
            assert!(
                (tail / expected - 1.0).abs() < 2e-9,
                "{guests}: {most}: {tail} for {expected}"
            );
            for off in [0.999, 1.001] {
                let risk = expected * off;
                assert_eq!(demand.within(most, risk), off > 1.0, "{guests}: {most}");
            }
        }
        // The last value with a chance: all busy.
        let all = demand.tail(n - 1.0) * (n + 1.0);
        assert!((all - 1.0).abs() < 2e-9, "{guests}: {all}");
        for risk in [0.7, 0.05, 0.005, 1e-3] {
            let expected = (n - risk * (n + 1.0)).ceil();
            assert_eq!(demand.at_risk(risk), expected, "{guests} at {risk}");
        }
    }
}
