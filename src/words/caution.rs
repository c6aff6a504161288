//! How cautions are written: a stable id and a text, in JSON as on screens.

use schemars::JsonSchema;
use serde::Serialize;

/// What was seen, why it matters, what to do; printed where it applies, in every format.
pub trait Caution {
    /// Its stable identifier and its text.
    fn worded(&self) -> (&'static str, String);

    /// Stable identifier.
    fn id(&self) -> &'static str {
        self.worded().0
    }

    /// Text.
    fn text(&self) -> String {
        self.worded().1
    }
}

/// A caution that applies.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "CautionAnswer")]
pub(super) struct Written {
    /// Stable identifier.
    id: &'static str,
    /// Text.
    text: String,
}

impl Written {
    pub(super) fn new(caution: &impl Caution) -> Self {
        let (id, text) = caution.worded();
        Self { id, text }
    }
}

/// Serialises types that are a [`Caution`] as their id and text.
macro_rules! written_as_cautions {
    ($($caution:ty),+) => {$(
        impl serde::Serialize for $caution {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                $crate::words::caution::Written::new(self).serialize(serializer)
            }
        }

        impl schemars::JsonSchema for $caution {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                $crate::words::caution::Written::schema_name()
            }

            fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
                $crate::words::caution::Written::json_schema(generator)
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
