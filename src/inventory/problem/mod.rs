//! What can be wrong with the values of an inventory, as data with the one place of their texts.

pub(super) mod files;
pub(super) mod keys;
pub(super) mod relations;
pub(super) mod sets;
pub(super) mod values;
