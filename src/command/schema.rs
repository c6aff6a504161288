//! `berthage schema report`: what a report in JSON holds.

use schemars::SchemaGenerator;
use schemars::generate::SchemaSettings;
use serde_json::{Value, json};

use super::check::CheckAnswer;
use super::explain::KindAnswer;
use crate::calibrate::answer::CalibrateAnswer;
use crate::calibrate::guests::answer::GuestsAnswer;
use crate::explain::ExplainAnswer;
use crate::fleet::answer::FleetAnswer;
use crate::purchase::compare::CompareAnswer;
use crate::purchase::upgrade::answer::UpgradeAnswer;
use crate::rollout::Rollout;
use crate::sizing::answer::FitAnswer;

/// The schema of all reports: one of them, told apart by `report`.
///
/// Made from the types the reports are written from, so it cannot fall behind them. Keys may be added to a report, so
/// the schema does not forbid others.
pub(super) fn report() -> Value {
    let mut generator = SchemaGenerator::new(SchemaSettings::draft2020_12().for_serialize());
    let reports = [
        generator.subschema_for::<FitAnswer>(),
        generator.subschema_for::<CompareAnswer>(),
        generator.subschema_for::<CheckAnswer>(),
        generator.subschema_for::<ExplainAnswer>(),
        generator.subschema_for::<KindAnswer>(),
        generator.subschema_for::<Rollout>(),
        generator.subschema_for::<CalibrateAnswer>(),
        generator.subschema_for::<GuestsAnswer>(),
        generator.subschema_for::<UpgradeAnswer>(),
        generator.subschema_for::<FleetAnswer>(),
    ];
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "berthage report",
        "description": "A report as --format json writes it. Sizes are bytes, shares 0 to 1, rates per second, money \
                        in the lab's currency; a resource's `unit` says what its numbers are.",
        "oneOf": reports,
        "$defs": generator.take_definitions(true),
    })
}
