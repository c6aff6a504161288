//! A section of the file as a struct, each key one row.
//!
//! ```text
//! section! {
//!     /// What the nightly backup may take.
//!     Backup: Section::Backup {
//!         window: f64 = quantity(SOME_TIME), "time allowed for one day's backup";
//!         speed: Option<f64> = quantity(SOME_BYTE_RATE).absent("the link alone limits it"), "speed to the target";
//!     }
//! }
//! ```
//! becomes
//! ```text
//! /// What the nightly backup may take.
//! #[derive(Debug, Clone, PartialEq, Default)]
//! pub struct Backup {
//!     /// time allowed for one day's backup
//!     pub window: f64,
//!     /// speed to the target
//!     pub speed: Option<f64>,
//! }
//! impl Backup {
//!     pub(in crate::lab) const KEYS: &'static [Key] = &[quantity(SOME_TIME).named("window", "time allowed …"), …];
//! }
//! impl Field for Backup {}
//! impl SectionTable for Backup {
//!     const SECTION: Section = Section::Backup;
//!     fn put(&mut self, key: &str, value: &Value) {
//!         match key { "window" => self.window.set(value), "speed" => …, _ => {} }
//!     }
//!     fn number(&self, key: &str) -> f64 { … as put … }
//! }
//! ```
//! `memory: f64 as "m" = …` names the model's symbol. A row `ways in layout = …;` has no field of its own and fills
//! another one; fields without a key of their own follow after `also`, and defaults and relations after `steps`.

use super::keys::Section;
use super::step::Step;

/// A section of the file as a struct.
pub trait SectionTable: Field + Clone + 'static {
    /// The section.
    const SECTION: Section;
    /// The key that defaults follow from: where it is invalid, so are they.
    const BASIS: &'static str = "";
    /// Defaults and relations, in the order in which they are applied.
    const STEPS: &'static [Step<Self>] = &[];
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
    /// A list of sizes `[B]`.
    Sizes(Vec<f64>),
    /// Another size for the entry with that index of such a list.
    Size(usize, f64),
    /// A table of prices: (size or speed, price), ascending.
    Prices(Vec<(f64, f64)>),
}

/// What a field of the lab can hold; its default is what it holds before anything is given.
pub trait Field: Default {
    /// Takes a value of its kind; a field that is a table takes none.
    fn set(&mut self, _: &Value<'_>) {}
    /// The number it holds.
    fn as_number(&self) -> f64 {
        0.0
    }
}

impl Field for f64 {
    fn set(&mut self, value: &Value<'_>) {
        if let Value::Number(number) | Value::Count(number) = value {
            *self = *number;
        }
    }
    fn as_number(&self) -> f64 {
        *self
    }
}

impl Field for u64 {
    fn set(&mut self, value: &Value<'_>) {
        if let Value::Count(number) = value {
            *self = whole(*number);
        }
    }
    #[expect(clippy::cast_precision_loss, reason = "counts are at most 1,000,000")]
    fn as_number(&self) -> f64 {
        *self as f64
    }
}

/// The place of what a name refers to; a name alone says none.
impl Field for Option<usize> {}

impl Field for bool {
    fn set(&mut self, value: &Value<'_>) {
        if let Value::Flag(flag) = value {
            *self = *flag;
        }
    }
}

impl Field for String {
    fn set(&mut self, value: &Value<'_>) {
        if let Value::Text(text) = value {
            (*text).clone_into(self);
        }
    }
}

impl<T: Field> Field for Option<T> {
    fn set(&mut self, value: &Value<'_>) {
        self.get_or_insert_with(T::default).set(value);
    }
    fn as_number(&self) -> f64 {
        self.as_ref().map_or(0.0, T::as_number)
    }
}

impl Field for Vec<f64> {
    fn set(&mut self, value: &Value<'_>) {
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
    fn set(&mut self, value: &Value<'_>) {
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
        $( also { $( $(#[$doc:meta])* $field:ident: $other:ty; )* } )?
        $( basis $basis:literal; )?
        $( steps $steps:expr; )?
    ) => {
        $(#[$about])*
        #[derive(Debug, Clone, PartialEq, Default)]
        pub struct $name {
            $( $( #[doc = $meaning] $( #[doc = concat!("(symbol ", $symbol, ")")] )? pub $key: $type, )? )*
            $( $( $(#[$doc])* pub $field: $other, )* )?
        }

        impl $name {
            /// The keys, in the order of the specification.
            pub(in crate::lab) const KEYS: &'static [$crate::lab::keys::Key] =
                &[$( $row.named(stringify!($key), $meaning) ),*];
        }

        impl $crate::lab::table::Field for $name {}

        impl $crate::lab::table::Field for Vec<$name> {}

        impl $crate::lab::table::SectionTable for $name {
            const SECTION: $crate::lab::keys::Section = $section;
            $( const BASIS: &'static str = $basis; )?
            $( const STEPS: &'static [$crate::lab::step::Step<$name>] = $steps; )?

            fn put(&mut self, key: &str, value: &$crate::lab::table::Value<'_>) {
                use $crate::lab::table::Field;
                match key {
                    $( stringify!($key) => $crate::lab::table::section!(@field self $key $($into)?).set(value), )*
                    _ => {}
                }
            }

            fn number(&self, key: &str) -> f64 {
                use $crate::lab::table::Field;
                match key {
                    $( stringify!($key) => $crate::lab::table::section!(@field self $key $($into)?).as_number(), )*
                    _ => 0.0,
                }
            }
        }
    };
    (@field $table:tt $key:ident $into:ident) => { $table.$into };
    (@field $table:tt $key:ident) => { $table.$key };
}

/// An enum of the words that a key takes: each variant with its word.
macro_rules! words {
    ( $(#[$about:meta])* $name:ident { $( $(#[$doc:meta])* $variant:ident = $word:literal, )* } ) => {
        $(#[$about])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
        pub enum $name { $( $(#[$doc])* $variant, )* }

        impl $name {
            /// The words, the one of the blank table first.
            pub(in crate::lab) const WORDS: &'static [&'static str] = &[$( $word ),*];
        }

        impl $crate::lab::table::Field for $name {
            fn set(&mut self, value: &$crate::lab::table::Value<'_>) {
                match value {
                    $( $crate::lab::table::Value::Text($word) => *self = $name::$variant, )*
                    _ => {}
                }
            }
        }
    };
}

pub(super) use {section, words};
