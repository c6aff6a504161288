//! What can be wrong with the values of an inventory: the one place of these errors' texts.

pub(super) mod conflicts;
pub(super) mod files;
pub(super) mod keys;
pub(super) mod sets;
pub(super) mod values;
