//! What a change did to a host: its figures before and after.

use schemars::JsonSchema;
use serde::Serialize;

use super::named::Named;

/// A host before and after a change.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct HostChange {
    /// Name of the host.
    pub host: String,
    /// Resources that set `fits` before.
    pub bound_before: Vec<String>,
    /// Figures that differ; empty where the change moves none.
    pub figures: Vec<Difference>,
}

/// A figure before and after.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Difference {
    /// Which, as a path of keys in the answer of a host.
    pub figure: Figure,
    /// Before; null where it has no bound or is not known.
    pub before: Option<f64>,
    /// After.
    pub after: Option<f64>,
}

/// A figure of a host.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[serde(into = "String")]
#[schemars(inline, with = "String")]
pub enum Figure {
    /// `fits`.
    Fits,
    /// `breaks_at`.
    BreaksAt,
    /// Months until it is full if guests keep coming.
    FullIn,
    /// What a resource holds by itself.
    Holds(Named),
    /// Load of a resource.
    Load(Named),
    /// Price.
    Price,
    /// At the wall.
    Watts,
    /// Energy of a year.
    Energy,
    /// Cost over the years, per guest.
    PerGuest,
    /// When the last guest is up after a power cut.
    Restart,
}

impl From<Figure> for String {
    fn from(figure: Figure) -> String {
        match figure {
            Figure::Fits => "fits".to_owned(),
            Figure::BreaksAt => "breaks_at".to_owned(),
            Figure::FullIn => "full_in.months".to_owned(),
            Figure::Holds(named) => format!("resources.{}.fits", named.name),
            Figure::Load(named) => format!("resources.{}.load", named.name),
            Figure::Price => "cost.price".to_owned(),
            Figure::Watts => "power.watts".to_owned(),
            Figure::Energy => "power.kwh_per_year".to_owned(),
            Figure::PerGuest => "cost.per_guest".to_owned(),
            Figure::Restart => "restart.total_s".to_owned(),
        }
    }
}
