//! Published values of Erlang's formulas.

use berthage::model::queue::{erlang_b, erlang_c, ln_erlang_b, mean_wait};
use proptest::prelude::{prop_assert, proptest};

/// `servers, offered, value, half of the last printed digit`.
type Row = (u64, f64, f64, f64);

#[test]
fn chance_of_waiting() {
    let rows: [Row; 5] = [
        // README of the CRAN package ErlangC.
        (11, 10.0, 0.6821182, 5e-8),
        (14, 10.0, 0.1741319, 5e-8),
        // Exact fractions from the definition.
        (2, 1.0, 1.0 / 3.0, 1e-15),
        (4, 3.0, 27.0 / 53.0, 1e-15),
        (3, 2.0, 4.0 / 9.0, 1e-15),
    ];
    for (servers, offered, value, tolerance) in rows {
        let computed = erlang_c(servers, offered).unwrap();
        assert!(
            (computed - value).abs() <= tolerance,
            "C({servers}, {offered}) = {computed}"
        );
    }
}

#[test]
fn mean_wait_of_a_call_centre() {
    // README of the CRAN package ErlangC.
    let computed = mean_wait(14, 10.0, 180.0).unwrap();
    assert!((computed - 7.83593701177724).abs() <= 5e-14, "{computed}");
}

/// M/M/3 with λ = 300/h and µ = 182.5/h: Bronson, Operations Research, Schaum 1982, problem 24.6.
#[test]
fn three_servers() {
    let (arrivals, served, servers) = (300.0, 182.5, 3);
    let offered: f64 = arrivals / served;
    let wait = mean_wait(servers, offered, 1.0 / served).unwrap();
    assert!((wait - 0.001175).abs() <= 5e-7, "Wq {wait}");
    assert!(
        (arrivals * wait - 0.352).abs() <= 5e-4,
        "Lq {}",
        arrivals * wait
    );
    assert!(
        (arrivals * wait + offered - 1.996).abs() <= 5e-4,
        "L {}",
        arrivals * wait + offered
    );
    // C = p0·A^c/c!·c/(c − A).
    let waits = erlang_c(servers, offered).unwrap();
    let empty = waits * 6.0 / offered.powi(3) * (3.0 - offered) / 3.0;
    assert!((empty - 0.17754).abs() <= 5e-6, "p0 {empty}");
}

#[test]
fn logarithms_of_blocking() {
    let rows: [Row; 5] = [
        // A published table of ln B, secondary source.
        (10_000, 12_000.0, -1.78927734649, 5e-12),
        // Computed with mpmath from the incomplete gamma function, 30 digits.
        (100_000, 99_000.0, -11.7082379680681, 1e-11),
        (100_000, 40_000.0, -31635.7485895145, 3.2e-9),
        (50_000, 0.5, -525653.102077853, 5.3e-8),
        (16, 3.25, -15.0633800977932, 1e-11),
    ];
    for (servers, offered, value, tolerance) in rows {
        let computed = ln_erlang_b(servers, offered);
        assert!(
            (computed - value).abs() <= tolerance,
            "ln B({servers}, {offered}) = {computed}"
        );
    }
}

#[test]
fn edges() {
    assert_eq!(erlang_b(0, 3.0), 1.0);
    assert_eq!(erlang_b(3, 0.0), 0.0);
    assert_eq!(erlang_c(3, 0.0), Some(0.0));
    assert_eq!(mean_wait(3, 0.0, 1.0), Some(0.0));
    for offered in [3.0, 4.0, f64::INFINITY, f64::NAN] {
        assert_eq!(erlang_c(3, offered), None);
        assert_eq!(mean_wait(3, offered, 1.0), None);
    }
    assert_eq!(erlang_c(0, 0.0), None);
}

proptest! {
    /// Any server more makes a wait rarer, any load more makes it likelier; who waits is at least who is blocked.
    #[test]
    fn waiting_is_monotone(servers in 1_u64..400, share in 0.01_f64..0.99, more in 1.0_f64..1.01) {
        let offered = share * servers as f64;
        let waits = erlang_c(servers, offered).unwrap();
        prop_assert!((0.0..=1.0).contains(&waits));
        prop_assert!(waits >= erlang_b(servers, offered));
        prop_assert!(erlang_c(servers + 1, offered).unwrap() <= waits);
        prop_assert!(erlang_c(servers, offered * more).unwrap() >= waits * (1.0 - 1e-12));
        prop_assert!((ln_erlang_b(servers, offered).exp() - erlang_b(servers, offered)).abs() <= 1e-15);
    }
}
