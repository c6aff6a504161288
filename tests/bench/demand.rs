//! How long the questions about busy guests take.

use std::hint::black_box;

use berthage::model::demand::{Busy, Demand};
use criterion::{Criterion, criterion_group, criterion_main};

fn profiles(count: u64, guests: u64) -> Vec<Busy> {
    let one = |k: u64| Busy {
        guests,
        probability: 0.05 + 0.4 * k as f64 / count as f64,
        extra: 1.0 + 0.731 * k as f64,
    };
    (0..count).map(one).collect()
}

fn questions(criterion: &mut Criterion) {
    let few =
        [(15, 0.2, 16.0), (50, 0.15, 4.0), (150, 0.1, 1.0)].map(|(guests, probability, extra)| {
            Busy {
                guests,
                probability,
                extra,
            }
        });
    for (name, guests) in [
        ("15+50+150", few.to_vec()),
        ("3 of 150", profiles(3, 150)),
        ("4 of 100", profiles(4, 100)),
        ("100 of 100", profiles(100, 100)),
    ] {
        let at_risk = Demand::new(0.0, &guests, 0.3).at_risk(0.005);
        let fresh = || Demand::new(0.0, black_box(&guests), 0.3);
        criterion.bench_function(&format!("tail {name}"), |bench| {
            bench.iter(|| fresh().tail(at_risk));
        });
        criterion.bench_function(&format!("within {name}"), |bench| {
            bench.iter(|| fresh().within(at_risk * 1.1, 0.005));
        });
        criterion.bench_function(&format!("nearly_within {name}"), |bench| {
            bench.iter(|| fresh().nearly_within(at_risk, 0.005));
        });
        criterion.bench_function(&format!("at_risk {name}"), |bench| {
            bench.iter(|| fresh().at_risk(0.005));
        });
    }
}

criterion_group!(benches, questions);
criterion_main!(benches);
