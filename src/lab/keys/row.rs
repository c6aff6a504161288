//! How a row of a section is written: what the key holds, then its default.

use super::key::{Command, Default, Key, Kind, Needs, Section, Spread};
use super::range::{self, Range};
use crate::lab::origin::DefaultOrigin;

const fn key(kind: Kind, range: Range) -> Key {
    Key {
        name: "",
        kind,
        range,
        default: Default::Required,
        spread: Spread::None,
        how_measured: "",
        first: Command::Fit,
        needs: Needs::Nothing,
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

/// A number with the unit of its range.
pub(in crate::lab) const fn quantity(range: Range) -> Key {
    key(Kind::Quantity(range.dimension), range)
}

impl Key {
    /// May be left out; the text says what is not considered then.
    pub(in crate::lab) const fn absent(self, text: &'static str) -> Key {
        let default = Default::Absent(text);
        Key { default, ..self }
    }

    /// Has a fixed default, written as in the file.
    pub(in crate::lab) const fn default(self, text: &'static str, origin: DefaultOrigin) -> Key {
        let default = Default::Fixed(text, origin);
        Key { default, ..self }
    }

    /// Has a default that depends on other keys.
    pub(in crate::lab) const fn rule(self, text: &'static str, origin: DefaultOrigin) -> Key {
        let default = Default::Rule(text, origin);
        Key { default, ..self }
    }

    /// The truth may be as far from the default as that, and is measured so.
    pub(in crate::lab) const fn spread(self, spread: Spread, how_measured: &'static str) -> Key {
        Key {
            spread,
            how_measured,
            ..self
        }
    }

    /// A later command than `fit` needs it first.
    pub(in crate::lab) const fn first(self, first: Command) -> Key {
        Key { first, ..self }
    }

    /// Counts only where that is there.
    pub(in crate::lab) const fn needs(self, needs: Needs) -> Key {
        Key { needs, ..self }
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
