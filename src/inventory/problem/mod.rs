//! What can be wrong with the values of an inventory, in words.

pub(super) mod keys;
pub(super) mod periods;
pub(super) mod relations;
pub(super) mod values;
