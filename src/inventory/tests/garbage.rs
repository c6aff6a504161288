//! No input makes the program panic, take long, or print pages.

use proptest::prelude::{Strategy, any, prop_assert};
use proptest::{collection, proptest, test_runner::Config};

use super::super::load_text;
use super::{EVERYTHING, GUEST, HOST};

/// Reads and renders; a valid lab has only finite numbers that keep their order.
fn try_all(text: &str, sets: &[String]) -> Result<(), String> {
    match load_text("lab.toml", text, sets) {
        Ok(lab) => {
            for guest in &lab.guests {
                let held = [
                    guest.common + guest.repeats,
                    guest.touched * (1.0 + 1e-12),
                    guest.touched_busy,
                    guest.memory * (1.0 + 1e-12),
                ];
                let rest = [
                    guest.overhead,
                    guest.written,
                    guest.net_busy,
                    guest.disk_size,
                    guest.rewrite_interval,
                ];
                if !(held[0] <= held[1] && guest.touched <= held[2] && held[2] <= held[3]) {
                    return Err(format!("{guest:?}"));
                }
                if !rest
                    .iter()
                    .chain(&held)
                    .all(|number| number.is_finite() && *number >= 0.0)
                {
                    return Err(format!("{guest:?}"));
                }
            }
            if lab.hosts.is_empty() || lab.guests.is_empty() {
                Err("nothing there".into())
            } else {
                Ok(())
            }
        }
        Err(errors) => {
            let plain = errors.render(false, 80);
            let colored = errors.render(true, 80);
            if errors.list().is_empty()
                || plain.len() > 100_000
                || colored.is_empty()
                || plain.contains('\u{1b}')
            {
                return Err(plain);
            }
            Ok(())
        }
    }
}

/// Values that are wrong nearly everywhere.
const POISON: [&str; 24] = [
    "nan",
    "inf",
    "-inf",
    "-1",
    "0",
    "1e308",
    "1e999",
    "99999999999999999999999999999999999999999999",
    "\"\"",
    "\"nan\"",
    "\"-5 GiB\"",
    "\"1e300 PiB\"",
    "\"120 %\"",
    "true",
    "[]",
    "{}",
    "[[[]]]",
    "1979-05-27",
    "{ low = 1, likely = 0, high = 2 }",
    "{ low = \"1 GiB\", likely = \"1 GiB\", high = \"1 GiB\" }",
    "\"\\u0000\"",
    "0x7fffffffffffffff",
    "\"5 years\"",
    "\"web\"",
];

#[test]
fn poison_in_the_place_of_any_value_is_no_panic() {
    let lines: Vec<&str> = EVERYTHING.lines().collect();
    for (number, line) in lines.iter().enumerate() {
        let Some((key, _)) = line
            .split_once(" = ")
            .filter(|(key, _)| !key.contains(['{', '#']))
        else {
            continue;
        };
        for poison in POISON {
            let mut changed = lines.clone();
            let line = format!("{key} = {poison}");
            changed[number] = &line;
            if let Err(fault) = try_all(&changed.join("\n"), &[]) {
                panic!("{line}: {fault}");
            }
        }
        let mut shorter = lines.clone();
        shorter.remove(number);
        assert_eq!(try_all(&shorter.join("\n"), &[]), Ok(()), "without {line}");
    }
}

#[test]
fn ten_megabytes_of_garbage_are_refused_shortly() {
    // Ten megabytes where the text has to be looked at as a whole, less where that shows nothing more.
    let (size, part) = (10_000_000, 1_000_000);
    let texts = [
        "x".repeat(size),
        "x\n".repeat(size / 2),
        "a=1\n".repeat(size / 4),
        "=[]{}\"\n#,'".repeat(part / 10),
        "\"".repeat(part),
        // One endless line with an error at every other letter.
        "/a".repeat(size / 2),
        "x ".repeat(part / 2),
        "[[host]]\n".repeat(part / 9),
        format!("{}a=1", "a.".repeat(part / 2)),
        format!("a={}", "[".repeat(part)),
        format!("[[host]]\nname=\"{}\"", "y".repeat(part)),
        format!("{HOST}{GUEST}touched = \"{} GiB\"", "9".repeat(part)),
    ];
    for text in texts {
        let errors = load_text("lab.toml", &text, &[]).expect_err("garbage");
        let shown = errors.render(false, 100);
        assert!(
            shown.len() < 20_000,
            "{} bytes for {}",
            shown.len(),
            &text[..20]
        );
        let is_placed = shown.starts_with("lab.toml:") || shown.starts_with("berthage: ");
        assert!(is_placed, "{shown}");
    }
}

#[test]
fn thousands_of_hosts_are_read() {
    let count = 2_000;
    let hosts: String = (0..count)
        .map(|index| HOST.replace("shelf-a", &format!("shelf-{index}")))
        .collect();
    let lab = load_text("lab.toml", &format!("{hosts}{GUEST}"), &[])
        .unwrap_or_else(|errors| panic!("{errors}"));
    assert_eq!(lab.hosts.len(), count);
}

/// A piece of the example lab cut out, doubled, or replaced.
fn mutated() -> impl Strategy<Value = String> {
    let edit = (
        any::<proptest::sample::Index>(),
        0_usize..40,
        "[ -~\n]{0,12}",
    );
    collection::vec(edit, 1..4).prop_map(|edits| {
        let mut bytes = EVERYTHING.as_bytes().to_vec();
        for (index, length, text) in edits {
            let start = index.index(bytes.len());
            let end = (start + length).min(bytes.len());
            bytes.splice(start..end, text.bytes());
        }
        String::from_utf8_lossy(&bytes).into_owned()
    })
}

proptest! {
    #![proptest_config(Config { cases: 256, failure_persistence: None, ..Config::default() })]

    #[test]
    fn mutated_labs_are_no_panic(text in mutated()) {
        let outcome = try_all(&text, &[]);
        prop_assert!(outcome.is_ok(), "{:?}", outcome);
    }

    #[test]
    fn swapped_values_are_no_panic(from in any::<proptest::sample::Index>(), to in any::<proptest::sample::Index>()) {
        let mut lines: Vec<String> = EVERYTHING.lines().map(str::to_owned).collect();
        let (from, to) = (from.index(lines.len()), to.index(lines.len()));
        if let (Some((key, _)), Some((_, value))) = (lines[to].split_once(" = "), lines[from].split_once(" = ")) {
            lines[to] = format!("{key} = {value}");
        }
        let outcome = try_all(&lines.join("\n"), &[]);
        prop_assert!(outcome.is_ok(), "{:?}", outcome);
    }

    #[test]
    fn random_text_is_no_panic(text in ".{0,200}", argument in "\\PC{0,40}") {
        prop_assert!(try_all(&text, &[]).is_ok());
        let lab = [HOST, GUEST].concat();
        let outcome = try_all(&lab, &[argument]);
        prop_assert!(outcome.is_ok(), "{:?}", outcome);
    }

    #[test]
    fn random_sets_are_no_panic(path in "(guest|host|policy|lab)\\.(web|shelf-a|memory_risk|\"x\"|[a-z]{1,4})(\\.[a-z_]{1,8}){0,2}", value in "[ -~]{0,12}") {
        let lab = [HOST, GUEST].concat();
        let outcome = try_all(&lab, &[format!("{path}={value}")]);
        prop_assert!(outcome.is_ok(), "{:?}", outcome);
    }
}
