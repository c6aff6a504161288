//! What a key is: what it holds, what it may hold, its default, which command needs it first.
//!
//! The rows themselves are with the sections they fill (`lab::policy`, `lab::guest`, …), one row a key. The struct, the
//! reader, `--set`, suggestions, `explain` and the JSON schema all come from them.

mod key;
mod name;
mod path;
pub mod range;
pub(super) mod row;
mod rows;

pub use self::key::{Command, Default, Key, Kind, Needs, Section, Spread};
pub use self::name::{LONGEST_NAME, is_name};
pub use self::path::{PathStep, key_path, key_steps, push_step, read_path};
pub use self::rows::{key_of, later_command};
