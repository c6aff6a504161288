//! A section of the file as a struct, each key one row.
//!
//! ```text
//! section! {
//!     /// What the nightly backup may take.
//!     Backup: Section::Backup {
//!         window: f64 = time(SOME_TIME), "time allowed for one day's backup";
//!         speed: Option<f64> = byte_rate(SOME_BYTE_RATE).absent("the link alone limits it"), "speed to the target";
//!     }
//! }
//! ```
//! becomes
//! ```text
//! /// What the nightly backup may take.
//! #[derive(Debug, Clone, PartialEq)]
//! pub struct Backup {
//!     /// time allowed for one day's backup
//!     pub window: f64,
//!     /// speed to the target
//!     pub speed: Option<f64>,
//! }
//! impl Backup {
//!     pub(in crate::lab) const KEYS: &'static [Key] = &[time(SOME_TIME).named("window", "time allowed …"), …];
//! }
//! impl Table for Backup {
//!     const SECTION: Section = Section::Backup;
//!     fn blank() -> Self { Backup { window: Field::blank(), speed: Field::blank() } }
//!     fn put(&mut self, key: &str, value: &Value) {
//!         match key { "window" => Field::put(&mut self.window, value), "speed" => …, _ => {} }
//!     }
//!     fn number(&self, key: &str) -> f64 { … as put … }
//! }
//! ```
//! `memory: f64 as "m" = …` names the model's symbol. A row `ways in layout = …;` has no field of its own and fills
//! another one; fields without a key of their own follow after `also`, each with its blank value.

use super::keys::Section;

/// A section of the file as a struct.
pub trait Table: Clone {
    /// The section.
    const SECTION: Section;
    /// A table in which nothing is given yet.
    fn blank() -> Self;
    /// Fills the field of a key; an unknown key fills none.
    fn put(&mut self, key: &str, value: &Value<'_>);
    /// The number in the field of a key, 0 where it holds none.
    fn number(&self, key: &str) -> f64;
}

/// A value on its way into a field, checked by the row of its key.
#[derive(Debug, Clone, PartialEq)]
pub enum Value<'t> {
    /// A number in base units.
    Number(f64),
    /// A whole number.
    Count(f64),
    /// `true` or `false`.
    Flag(bool),
    /// A name, or one of a few words.
    Text(&'t str),
    /// The place of what it refers to in its list.
    Index(usize),
    /// A list of sizes `[B]`.
    Sizes(Vec<f64>),
    /// Another size for the entry with that index of such a list.
    Size(usize, f64),
    /// A table of prices: (size or speed, price), ascending.
    Prices(Vec<(f64, f64)>),
}

/// What a field of the lab can hold.
pub(super) trait Field {
    /// Its value before anything is given.
    fn blank() -> Self;
    /// Takes a value of its kind.
    fn put(&mut self, value: &Value<'_>);
    /// The number it holds.
    fn number(&self) -> f64 {
        0.0
    }
}

impl Field for f64 {
    fn blank() -> Self {
        0.0
    }
    fn put(&mut self, value: &Value<'_>) {
        if let Value::Number(number) | Value::Count(number) = value {
            *self = *number;
        }
    }
    fn number(&self) -> f64 {
        *self
    }
}

impl Field for u64 {
    fn blank() -> Self {
        0
    }
    fn put(&mut self, value: &Value<'_>) {
        if let Value::Count(number) = value {
            *self = whole(*number);
        }
    }
    #[expect(clippy::cast_precision_loss, reason = "counts are at most 1,000,000")]
    fn number(&self) -> f64 {
        *self as f64
    }
}

impl Field for Option<usize> {
    fn blank() -> Self {
        None
    }
    /// A name alone says no place.
    fn put(&mut self, value: &Value<'_>) {
        if let Value::Index(index) = value {
            *self = Some(*index);
        }
    }
}

impl Field for bool {
    fn blank() -> Self {
        false
    }
    fn put(&mut self, value: &Value<'_>) {
        if let Value::Flag(flag) = value {
            *self = *flag;
        }
    }
}

impl Field for String {
    fn blank() -> Self {
        String::new()
    }
    fn put(&mut self, value: &Value<'_>) {
        if let Value::Text(text) = value {
            (*text).clone_into(self);
        }
    }
}

impl<T: Field> Field for Option<T> {
    fn blank() -> Self {
        None
    }
    fn put(&mut self, value: &Value<'_>) {
        self.get_or_insert_with(T::blank).put(value);
    }
    fn number(&self) -> f64 {
        self.as_ref().map_or(0.0, T::number)
    }
}

impl Field for Vec<f64> {
    fn blank() -> Self {
        Vec::new()
    }
    fn put(&mut self, value: &Value<'_>) {
        match value {
            Value::Sizes(sizes) => self.clone_from(sizes),
            Value::Size(index, size) => {
                if let Some(place) = self.get_mut(*index) {
                    *place = *size;
                }
            }
            _ => {}
        }
    }
}

impl Field for Vec<(f64, f64)> {
    fn blank() -> Self {
        Vec::new()
    }
    fn put(&mut self, value: &Value<'_>) {
        if let Value::Prices(prices) = value {
            self.clone_from(prices);
        }
    }
}

/// A checked whole number as an integer.
pub(super) fn whole(value: f64) -> u64 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "counts are 1 to 1,000,000"
    )]
    let whole = value as u64;
    whole
}

/// A section as a struct with its rows; see the top of this file.
macro_rules! section {
    (
        $(#[$about:meta])*
        $name:ident: $section:expr => {
            $( $key:ident $(in $into:ident)? $(: $type:ty $(as $symbol:literal)?)? = $row:expr, $meaning:literal; )*
        }
        $( also { $( $(#[$doc:meta])* $field:ident: $other:ty = $blank:expr; )* } )?
    ) => {
        $(#[$about])*
        #[derive(Debug, Clone, PartialEq)]
        pub struct $name {
            $( $( #[doc = $meaning] $( #[doc = concat!("(symbol ", $symbol, ")")] )? pub $key: $type, )? )*
            $( $( $(#[$doc])* pub $field: $other, )* )?
        }

        impl $name {
            /// The keys, in the order of the specification.
            pub(in crate::lab) const KEYS: &'static [$crate::lab::keys::Key] =
                &[$( $row.named(stringify!($key), $meaning) ),*];
        }

        /// As a field of another section, which no single value fills.
        impl $crate::lab::table::Field for $name {
            fn blank() -> Self {
                $crate::lab::table::Table::blank()
            }
            fn put(&mut self, _: &$crate::lab::table::Value<'_>) {}
        }

        /// As such a list.
        impl $crate::lab::table::Field for Vec<$name> {
            fn blank() -> Self {
                Vec::new()
            }
            fn put(&mut self, _: &$crate::lab::table::Value<'_>) {}
        }

        impl $crate::lab::table::Table for $name {
            const SECTION: $crate::lab::keys::Section = $section;

            fn blank() -> Self {
                $name {
                    $( $( $key: <$type as $crate::lab::table::Field>::blank(), )? )*
                    $( $( $field: $blank, )* )?
                }
            }

            fn put(&mut self, key: &str, value: &$crate::lab::table::Value<'_>) {
                let table = self;
                match key {
                    $(
                        stringify!($key) => $crate::lab::table::Field::put(
                            &mut $crate::lab::table::section!(@field table $key $($into)?),
                            value,
                        ),
                    )*
                    _ => {}
                }
            }

            fn number(&self, key: &str) -> f64 {
                let table = self;
                match key {
                    $(
                        stringify!($key) => $crate::lab::table::Field::number(
                            &$crate::lab::table::section!(@field table $key $($into)?),
                        ),
                    )*
                    _ => 0.0,
                }
            }
        }
    };
    (@field $table:ident $key:ident $into:ident) => { $table.$into };
    (@field $table:ident $key:ident) => { $table.$key };
}

/// An enum of the words that a key takes: each variant with its word.
macro_rules! words {
    ( $(#[$about:meta])* $name:ident { $( $(#[$doc:meta])* $variant:ident = $word:literal, )* } ) => {
        $(#[$about])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum $name { $( $(#[$doc])* $variant, )* }

        impl $name {
            /// The words, the one of the blank table first.
            pub(in crate::lab) const WORDS: &'static [&'static str] = &[$( $word ),*];
            const VALUES: &'static [$name] = &[$( $name::$variant ),*];
        }

        impl $crate::lab::table::Field for $name {
            fn blank() -> Self {
                $name::VALUES[0]
            }
            fn put(&mut self, value: &$crate::lab::table::Value<'_>) {
                let word = |text: &str| $name::WORDS.iter().position(|word| *word == text);
                if let $crate::lab::table::Value::Text(text) = value
                    && let Some(place) = word(text)
                {
                    *self = $name::VALUES[place];
                }
            }
        }
    };
}

pub(super) use {section, words};
