//! Any `--set` is applied or refused with an error that can be shown.
#![no_main]

use berthage::inventory::load_text;
use berthage::inventory::starter::{Profile, starter};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|argument: &str| {
    let lab = starter(&[Profile::Server, Profile::Container]);
    if let Err(errors) = load_text("fuzz.toml", &lab, &[argument.to_owned()]) {
        assert!(!errors.render(false, 80).is_empty());
    }
});
