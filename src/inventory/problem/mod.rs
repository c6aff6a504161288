//! What can be wrong with the values of an inventory, in words.

pub(super) mod files;
pub(super) mod keys;
pub(super) mod periods;
pub(super) mod relations;
pub(super) mod sets;
pub(super) mod values;
