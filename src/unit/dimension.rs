//! What a number measures.

/// What a number measures, and with it the base unit it is returned in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// A size `[B]`.
    Bytes,
    /// Bytes per time `[B/s]`.
    ByteRate,
    /// Bits per time `[bit/s]`; a byte rate counts eight times.
    BitRate,
    /// Events per time `[1/s]`; a bare number is per second.
    EventRate,
    /// A time `[s]`.
    Time,
    /// A share `[1]`, `"8 %"` or `0.08`.
    Share,
    /// Power `[W]`.
    Power,
    /// A plain number, also money.
    Number,
}

impl Dimension {
    /// The dimension in words, with its article.
    pub fn noun(self) -> &'static str {
        match self {
            Dimension::Bytes => "a size",
            Dimension::ByteRate => "a byte rate",
            Dimension::BitRate => "a bit rate",
            Dimension::EventRate => "a rate of operations",
            Dimension::Time => "a time",
            Dimension::Share => "a share",
            Dimension::Power => "a power",
            Dimension::Number => "a number",
        }
    }

    /// Two values of this dimension as the file writes them, quotes included where they are needed.
    pub fn examples(self) -> [&'static str; 2] {
        match self {
            Dimension::Bytes => ["\"96 GiB\"", "\"600 MB\""],
            Dimension::ByteRate => ["\"450 MB/s\"", "\"3 GB/day\""],
            Dimension::BitRate => ["\"2.5 Gbit/s\"", "\"80 Mbit/s\""],
            Dimension::EventRate => ["12", "\"12/s\""],
            Dimension::Time => ["\"20 ms\"", "\"6 h\""],
            Dimension::Share => ["\"8 %\"", "0.08"],
            Dimension::Power => ["\"9 W\"", "\"1.2 kW\""],
            Dimension::Number => ["2", "1.5"],
        }
    }

    /// Both examples in words.
    pub fn all_examples(self) -> String {
        self.examples().join(" or ")
    }

    /// The units that may be written, in words.
    pub fn units(self) -> &'static str {
        match self {
            Dimension::Bytes => {
                "B, kB, MB, GB, TB, PB (powers of 1000) or KiB, MiB, GiB, TiB, PiB (powers of 1024)"
            }
            Dimension::ByteRate => "a size per time, such as MB/s, MiB/s, GB/h or GB/day",
            Dimension::BitRate => {
                "bit/s, kbit/s, Mbit/s, Gbit/s, or a byte rate such as MB/s, which is 8 times as many bits"
            }
            Dimension::EventRate => "/s, /min, /h, /day or /month; without one it is per second",
            Dimension::Time => "us, ms, s, min, h, day, week, month or year",
            Dimension::Share => "%, or none for a part of 1",
            Dimension::Power => "W or kW",
            Dimension::Number => "none",
        }
    }

    /// Two complete spellings that a bare `number` could have meant; none where a bare number is clear.
    pub(super) fn readings(self) -> Option<[&'static str; 2]> {
        match self {
            Dimension::Bytes => Some(["GiB", "GB"]),
            Dimension::ByteRate => Some(["MiB/s", "MB/s"]),
            Dimension::BitRate => Some(["Mbit/s", "Gbit/s"]),
            Dimension::Time => Some(["s", "h"]),
            Dimension::Power => Some(["W", "kW"]),
            Dimension::EventRate | Dimension::Share | Dimension::Number => None,
        }
    }
}
