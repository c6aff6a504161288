//! Works out a formula with numbers in it as a reader with a calculator would, and how far its printed digits carry.

/// A number and how far off it may be because its parts were printed with six digits.
#[derive(Debug, Clone, Copy)]
pub struct About {
    /// Value in base units.
    pub value: f64,
    /// Most that it may be off.
    pub error: f64,
}

/// Half a unit in the sixth digit of 1.
const SIX_DIGITS: f64 = 5e-6;

/// Units and their worth; rates are these over "s" or "day".
const UNITS: [(&str, f64); 34] = [
    ("B", 1.0),
    ("KiB", 1024.0),
    ("MiB", 1_048_576.0),
    ("GiB", 1_073_741_824.0),
    ("TiB", 1_099_511_627_776.0),
    ("PiB", 1_125_899_906_842_624.0),
    ("kB", 1e3),
    ("MB", 1e6),
    ("GB", 1e9),
    ("TB", 1e12),
    ("PB", 1e15),
    ("bit", 1.0),
    ("kbit", 1e3),
    ("Mbit", 1e6),
    ("Gbit", 1e9),
    ("Tbit", 1e12),
    ("ns", 1e-9),
    ("µs", 1e-6),
    ("ms", 1e-3),
    ("s", 1.0),
    ("min", 60.0),
    ("h", 3_600.0),
    ("day", 86_400.0),
    ("days", 86_400.0),
    ("year", 31_557_600.0),
    ("years", 31_557_600.0),
    ("W", 1.0),
    ("kW", 1e3),
    ("MW", 1e6),
    ("kWh", 1.0),
    ("%", 0.01),
    ("share", 1.0),
    ("B/day", 1.0 / 86_400.0),
    ("", 1.0),
];

/// What one of a unit is worth; 1 for what is only counted.
pub fn worth(unit: &str) -> f64 {
    let known = UNITS.iter().find(|(name, _)| *name == unit);
    known.map_or(1.0, |(_, worth)| *worth)
}

/// What a formula comes to; none where it is not one.
pub fn work_out(text: &str) -> Option<About> {
    let mut reader = Reader { rest: text };
    let about = reader.sum()?;
    reader.rest.trim().is_empty().then_some(about)
}

struct Reader<'a> {
    rest: &'a str,
}

impl Reader<'_> {
    fn take(&mut self, mark: &str) -> bool {
        let found = self.rest.strip_prefix(mark);
        self.rest = found.unwrap_or(self.rest);
        found.is_some()
    }

    fn sum(&mut self) -> Option<About> {
        let mut total = self.product()?;
        loop {
            let sign = if self.take(" + ") {
                1.0
            } else if self.take(" − ") {
                -1.0
            } else {
                return Some(total);
            };
            let next = self.product()?;
            total.value += sign * next.value;
            total.error += next.error;
        }
    }

    fn product(&mut self) -> Option<About> {
        let mut total = self.atom()?;
        loop {
            if self.take("·") {
                let next = self.atom()?;
                total = About {
                    error: total.value.abs() * next.error + next.value.abs() * total.error,
                    value: total.value * next.value,
                };
            } else if self.take("/") {
                let next = self.atom()?;
                let value = total.value / next.value;
                total = About {
                    error: (total.error + value.abs() * next.error) / next.value.abs(),
                    value,
                };
            } else {
                return Some(total);
            }
        }
    }

    fn atom(&mut self) -> Option<About> {
        if self.take("no bound") {
            return Some(About {
                value: f64::INFINITY,
                error: 0.0,
            });
        }
        for (name, pick) in [
            ("min(", f64::min as fn(f64, f64) -> f64),
            ("max(", f64::max),
        ] {
            if self.take(name) {
                let mut total = self.sum()?;
                while self.take(", ") {
                    let next = self.sum()?;
                    total.value = pick(total.value, next.value);
                    total.error = total.error.max(next.error);
                }
                return self.take(")").then_some(total);
            }
        }
        if self.take("(") {
            let inner = self.sum()?;
            return self.take(")").then_some(inner);
        }
        if self.take("⌈") {
            let inner = self.sum()?;
            let value = (inner.value - 1e-6).ceil();
            return self.take("⌉").then_some(About { value, error: 0.0 });
        }
        self.number()
    }

    fn number(&mut self) -> Option<About> {
        let bytes = self.rest.as_bytes();
        let digit = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_digit);
        let mut end = usize::from(self.rest.starts_with('-'));
        while digit(end)
            || matches!(bytes.get(end), Some(b'.' | b',') if digit(end + 1))
            || matches!(bytes.get(end), Some(b'e') if digit(end + 1) || digit(end + 2))
            || matches!(bytes.get(end), Some(b'-') if end > 0 && bytes[end - 1] == b'e')
        {
            end += 1;
        }
        let value: f64 = self.rest[..end].replace(',', "").parse().ok()?;
        self.rest = &self.rest[end..];
        let value = value * self.unit();
        Some(About {
            value,
            error: SIX_DIGITS * value.abs(),
        })
    }

    /// The unit behind a number, and the time that it is counted in.
    fn unit(&mut self) -> f64 {
        let Some(rest) = self.rest.strip_prefix(' ') else {
            return 1.0;
        };
        let end = rest
            .find(|letter: char| !letter.is_alphabetic() && letter != '%')
            .unwrap_or(rest.len());
        let Some((_, worth)) = UNITS
            .iter()
            .find(|(name, _)| !name.is_empty() && *name == &rest[..end])
        else {
            return 1.0;
        };
        self.rest = &rest[end..];
        if self.take("/day") {
            worth / 86_400.0
        } else {
            // What is a second, and what is over a second, are worth the same.
            self.take("/s");
            *worth
        }
    }
}

#[test]
fn formulas_are_worked_out() {
    for (text, value) in [
        ("1 + 2·3", 7.0),
        ("(1 + 2)·3 − 6/2", 6.0),
        ("2·(1.5 GiB − 512 MiB)", 2_147_483_648.0),
        ("min(70 %·2.5 Gbit/s/8, 1,000 MB/s)", 218_750_000.0),
        ("⌈257/256⌉·2 MiB", 4_194_304.0),
        ("1e-3·864 GB/day", 10_000.0),
        ("6 + (-2)", 4.0),
    ] {
        let about = work_out(text).unwrap_or_else(|| panic!("{text}"));
        assert!((about.value - value).abs() < 1e-6, "{text}: {about:?}");
    }
    assert!(work_out("N = 3, share 2").is_none());
}
