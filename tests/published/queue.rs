//! Published values of queues: Erlang's are those of the finite source with ever more sources.

use berthage::model::finite_source::{Waits, waits};
use proptest::prelude::{prop_assert, proptest};

/// So many sources that they count as endless; the wait of fewer is lower by about A/K of itself.
const ENDLESS: u64 = 1_000_000_000;

fn endless(servers: u64, offered: f64, burst: f64) -> Waits {
    waits(servers, ENDLESS, offered, burst)
}

#[test]
fn chance_of_waiting() {
    for (servers, offered, chance) in [
        // README of the CRAN package ErlangC.
        (11, 10.0, 0.6821182),
        (14, 10.0, 0.1741319),
        // Exact fractions from the definition of Erlang C.
        (2, 1.0, 1.0 / 3.0),
        (4, 3.0, 27.0 / 53.0),
        (3, 2.0, 4.0 / 9.0),
    ] {
        let found = endless(servers, offered, 1.0).chance;
        assert!(
            (found - chance).abs() <= 1e-6,
            "C({servers}, {offered}) = {found}"
        );
    }
}

#[test]
fn mean_wait_of_a_call_centre() {
    // README of the CRAN package ErlangC: 14 servers, 10 erlang, 180 s.
    let found = endless(14, 10.0, 180.0).mean;
    assert!((found / 7.83593701177724 - 1.0).abs() <= 1e-6, "{found}");
}

/// M/M/3 with λ = 300/h and µ = 182.5/h: Bronson, Operations Research, Schaum 1982, problem 24.6.
#[test]
fn three_servers() {
    let (arrivals, served, servers) = (300.0, 182.5, 3);
    let wait = endless(servers, arrivals / served, 1.0 / served).mean;
    assert!((wait - 0.001175).abs() <= 5e-7, "Wq {wait}");
    assert!(
        (arrivals * wait - 0.352).abs() <= 5e-4,
        "Lq {}",
        arrivals * wait
    );
}

proptest! {
    /// More load, more sources and longer bursts never wait less; a wait is at most that behind all others.
    #[test]
    fn waits_grow(servers in 1u64..65, sources in 1u64..2000, part in 0.0f64..1.2, burst in 1e-4f64..0.1) {
        let offered = part * sources as f64;
        let here = waits(servers, sources, offered, burst);
        let slack = 1e-9 * burst;
        prop_assert!((0.0..=1.0 + 1e-12).contains(&here.chance) && here.mean >= 0.0);
        prop_assert!(here.mean <= sources as f64 * burst / servers as f64 + slack);
        prop_assert!(waits(servers, sources, offered * 1.01, burst).mean >= here.mean - slack);
        // One more source that brings as much as the others.
        let more = offered * (sources + 1) as f64 / sources as f64;
        prop_assert!(waits(servers, sources + 1, more, burst).mean >= here.mean - slack);
        prop_assert!(waits(servers, sources, offered, 2.0 * burst).mean >= here.mean);
        prop_assert!(waits(servers + 1, sources, offered, burst).mean <= here.mean + slack);
    }
}
