//! Any text is a valid lab or a list of errors that can be shown; it is never a panic.
#![no_main]

use berthage::inventory::load_text;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    // What other files say is none of this target's business.
    if text.contains("include") {
        return;
    }
    if let Err(errors) = load_text("fuzz.toml", text, &[]) {
        assert!(!errors.list().is_empty());
        assert!(!errors.render(false, 80).contains('\u{1b}'));
    }
});
