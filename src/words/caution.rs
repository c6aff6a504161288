//! How cautions are written: a stable id and a text, in JSON as on screens.

use std::borrow::Cow;

use schemars::JsonSchema;
use serde::Serialize;

/// What was seen, why it matters, what to do; printed where it applies, in every format.
pub trait Caution {
    /// Its words.
    fn worded(&self) -> Worded;
}

/// A caution in words.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "CautionAnswer")]
pub struct Worded {
    /// Stable identifier.
    pub id: Cow<'static, str>,
    /// A line for a short screen; empty where that says it elsewhere.
    #[serde(skip)]
    pub line: Cow<'static, str>,
    /// Text.
    pub text: Cow<'static, str>,
}

impl Worded {
    /// Words that hold no value.
    pub const fn fixed(id: &'static str, line: &'static str, text: &'static str) -> Self {
        Self {
            id: Cow::Borrowed(id),
            line: Cow::Borrowed(line),
            text: Cow::Borrowed(text),
        }
    }

    /// Words with values.
    pub fn new(id: &'static str, line: String, text: String) -> Self {
        Self {
            id: Cow::Borrowed(id),
            line: Cow::Owned(line),
            text: Cow::Owned(text),
        }
    }
}

impl Caution for Worded {
    fn worded(&self) -> Worded {
        self.clone()
    }
}

/// Serialises types that are a [`Caution`] as their id and text.
macro_rules! written_as_cautions {
    ($($caution:ty),+) => {$(
        impl serde::Serialize for $caution {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                $crate::words::caution::Caution::worded(self).serialize(serializer)
            }
        }

        impl schemars::JsonSchema for $caution {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                $crate::words::caution::Worded::schema_name()
            }

            fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
                $crate::words::caution::Worded::json_schema(generator)
            }
        }
    )+};
}

/// Serialises types with a `Display` as the text that it writes.
#[allow(unused_macros, reason = "for texts that are data")]
macro_rules! written_as_text {
    ($($data:ty),+) => {$(
        impl serde::Serialize for $data {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }

        impl schemars::JsonSchema for $data {
            fn inline_schema() -> bool {
                true
            }

            fn schema_name() -> std::borrow::Cow<'static, str> {
                String::schema_name()
            }

            fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
                String::json_schema(generator)
            }
        }
    )+};
}

#[allow(unused_imports, reason = "for texts that are data")]
pub(super) use {written_as_cautions, written_as_text};
