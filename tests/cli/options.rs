//! Options that take a number: whatever is no number that they allow is told with what is, and with one to write.

use crate::support::{Ended, Session, run};

/// A call of every option that takes a number, a time, a share or an amount; the value stands in place of `#`.
const CALLS: [&str; 27] = [
    "fit examples/shelf.toml --draws #",
    "fit examples/shelf.toml --draws 3 --seed #",
    "fit examples/shelf.toml --width #",
    "compare examples/two-boxes.toml --budget #",
    "compare examples/two-boxes.toml --max-watts #",
    "compare examples/two-boxes.toml --need files=#",
    "upgrade examples/shelf.toml --budget #",
    "fleet examples/three-nodes.toml --spare #",
    "fleet examples/three-nodes.toml --need web=#",
    "explain examples/shelf.toml --guests #",
    "rollout examples/shelf.toml --target #",
    "rollout examples/shelf.toml --batch #",
    "rollout examples/shelf.toml --wait #",
    "rollout examples/shelf.toml --wait 5min --steps #",
    "rollout examples/shelf.toml --at-most #",
    "rollout examples/shelf.toml --stagger #",
    "rollout examples/shelf.toml --watch #",
    "rollout examples/shelf.toml --seed #",
    "rollout examples/shelf.toml --seed 1 --spell #",
    "rollout examples/shelf.toml --seed 1 --at #",
    "rollout examples/shelf.toml --busy-at #:web=1:5min",
    "rollout examples/shelf.toml --busy-at 2h:web=#:5min",
    "rollout examples/shelf.toml --busy-at 2h:web=1:#",
    "survey --root tests/survey/plain --guests #",
    "survey --root tests/survey/plain --guests 1 --reading --every #",
    "survey --root tests/survey/plain --guests 1 --reading --every 1s --for #",
    "calibrate examples/shelf.toml examples/readings.csv --guest web --hold-out #",
];

/// The call with the value in the place of `#`.
fn with(call: &str, value: &str) -> Ended {
    let words = call.split(' ').map(|word| word.replace('#', value));
    let session = words.fold(Session::new(), |session, word| session.args(&[&word]));
    session.run(&[])
}

#[test]
fn a_number_that_no_option_takes_is_told_with_what_it_takes() {
    for call in CALLS {
        for value in ["-5", "-5min", "abc", "", "1e300", "NaN", "-inf", "1e300h"] {
            let session = with(call, value);
            let told = session.stderr.replace(['\n', ' '], "").to_lowercase();
            let what = format!("{call} {value:?}: {}{}", session.stdout, session.stderr);
            session.refuses();
            // What was given, what is allowed, how to fix it.
            assert!(told.contains(&value.to_lowercase()), "{what}");
            assert!(
                ["mustbe", "mustgive"]
                    .iter()
                    .any(|word| told.contains(word)),
                "{what}"
            );
            assert!(
                ["write", "unitsof"].iter().any(|word| told.contains(word)),
                "{what}"
            );
        }
    }
}

#[test]
fn whole_numbers_have_no_decimals_and_an_end() {
    for call in CALLS {
        let is_whole = !["--budget", "--max-watts", "--at-most"]
            .iter()
            .any(|option| call.contains(option));
        if !is_whole {
            continue;
        }
        // Of times these want a unit.
        for value in ["1.5", "99999999999999999999"] {
            with(call, value).exits(2).reports("must");
        }
    }
}

#[test]
fn a_run_is_not_simulated_for_years() {
    for option in [
        "--watch=31days",
        "--stagger=2days",
        "--wait=31days",
        "--busy-at=31days:web=1:5min",
        "--busy-at=2h:web=1:31days",
    ] {
        run(&["rollout", "examples/shelf.toml", "--target", "3", option])
            .exits(2)
            .reports("must be between 0 s and");
    }
}

#[test]
fn marks_between_thousands_are_taken_out_for_the_person() {
    run(&["fit", "examples/shelf.toml", "--draws", "10,000"])
        .exits(2)
        .reports("Write 10000");
}
