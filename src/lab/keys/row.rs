//! How a row of a section is written: what the key holds, then what stands in for it.

use crate::unit::parse::Dimension;

use super::key::{Command, Default, Key, Kind, Section, Spread};
use super::range::{self, Range};
use crate::lab::origin::DefaultOrigin;

const fn key(kind: Kind, range: Range) -> Key {
    Key {
        name: "",
        kind,
        range,
        default: Default::Required,
        spread: Spread::None,
        first: Command::Fit,
        meaning: "",
    }
}

/// A key that names the thing.
pub(in crate::lab) const NAME: Key = key(Kind::Name, range::ANY);
/// Free text.
pub(in crate::lab) const TITLE: Key = key(Kind::Title, range::ANY);
/// The name of something defined elsewhere.
pub(in crate::lab) const REFERENCE: Key = key(Kind::Reference, range::ANY);
/// `true` or `false`.
pub(in crate::lab) const FLAG: Key = key(Kind::Flag, range::ANY);
/// A list of sizes.
pub(in crate::lab) const SIZES: Key = key(Kind::Sizes, range::SOME_SIZE);
/// A table from size or speed to price.
pub(in crate::lab) const PRICES: Key = key(Kind::Prices, range::MONEY);
/// A list of file paths.
pub(in crate::lab) const FILES: Key = key(Kind::Files, range::ANY);
/// A size, or a share of `touched`.
pub(in crate::lab) const SIZE_OR_SHARE: Key = key(Kind::SizeOrShare, range::SIZE);

/// A share, or one a period.
pub(in crate::lab) const SHARE_BY_PERIOD: Key = key(Kind::ShareByPeriod, range::SHARE);

/// One of these words.
pub(in crate::lab) const fn word(words: &'static [&'static str]) -> Key {
    key(Kind::Word(words), range::ANY)
}

/// A table of that section.
pub(in crate::lab) const fn table(section: Section) -> Key {
    key(Kind::Table(section), range::ANY)
}

/// A list of tables of that section.
pub(in crate::lab) const fn tables(section: Section) -> Key {
    key(Kind::Tables(section), range::ANY)
}

/// A whole number.
pub(in crate::lab) const fn count(range: Range) -> Key {
    key(Kind::Count, range)
}

/// A size `[B]`.
pub(in crate::lab) const fn bytes(range: Range) -> Key {
    key(Kind::Quantity(Dimension::Bytes), range)
}

/// Bytes per time `[B/s]`.
pub(in crate::lab) const fn byte_rate(range: Range) -> Key {
    key(Kind::Quantity(Dimension::ByteRate), range)
}

/// Bits per time `[bit/s]`.
pub(in crate::lab) const fn bit_rate(range: Range) -> Key {
    key(Kind::Quantity(Dimension::BitRate), range)
}

/// Events per time `[1/s]`.
pub(in crate::lab) const fn event_rate(range: Range) -> Key {
    key(Kind::Quantity(Dimension::EventRate), range)
}

/// A time `[s]`.
pub(in crate::lab) const fn time(range: Range) -> Key {
    key(Kind::Quantity(Dimension::Time), range)
}

/// A share, 0–1.
pub(in crate::lab) const fn share(range: Range) -> Key {
    key(Kind::Quantity(Dimension::Share), range)
}

/// Power `[W]`.
pub(in crate::lab) const fn power(range: Range) -> Key {
    key(Kind::Quantity(Dimension::Power), range)
}

/// A plain number, also money.
pub(in crate::lab) const fn number(range: Range) -> Key {
    key(Kind::Quantity(Dimension::Number), range)
}

impl Key {
    /// May be left out; the text says what is not considered then.
    pub(in crate::lab) const fn absent(self, text: &'static str) -> Key {
        let default = Default::Absent(text);
        Key { default, ..self }
    }

    /// A value stands in, written as in the file.
    pub(in crate::lab) const fn default(self, text: &'static str, origin: DefaultOrigin) -> Key {
        let default = Default::Fixed(text, origin);
        Key { default, ..self }
    }

    /// A value stands in that depends on other keys.
    pub(in crate::lab) const fn rule(self, text: &'static str, origin: DefaultOrigin) -> Key {
        let default = Default::Rule(text, origin);
        Key { default, ..self }
    }

    /// The truth may lie as far from the default as that.
    pub(in crate::lab) const fn spread(self, spread: Spread) -> Key {
        Key { spread, ..self }
    }

    /// A later command than `fit` needs it first.
    pub(in crate::lab) const fn first(self, first: Command) -> Key {
        Key { first, ..self }
    }

    /// The row with its name and meaning.
    pub(in crate::lab) const fn named(self, name: &'static str, meaning: &'static str) -> Key {
        Key {
            name,
            meaning,
            ..self
        }
    }
}
