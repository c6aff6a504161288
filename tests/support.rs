//! Labs for tests, written as the text a user would write.

use std::ffi::OsString;

use berthage::command::Terminal;
use berthage::inventory::lab::Lab;
use berthage::inventory::load_text;

/// The lab that a text describes.
///
/// # Panics
/// When the text is not valid, with the errors a user would see.
pub fn lab(text: &str) -> Lab {
    load_text("test.toml", text, &[])
        .unwrap_or_else(|errors| panic!("{}", errors.render(false, 120)))
}

/// A host with nothing special about it.
pub const PLAIN_HOST: &str = r#"
[[host]]
name = "box"
cpu.groups = [{ cores = 8, threads = 2 }]
memory.modules = ["32 GiB", "32 GiB"]
"#;

/// What a run of the program left behind.
pub struct Session {
    /// Exit status.
    pub status: u8,
    /// Standard output.
    pub stdout: String,
    /// Standard error.
    pub stderr: String,
}

/// No terminal anywhere.
pub fn piped() -> Terminal {
    Terminal {
        stdout_is_terminal: false,
        stderr_is_terminal: false,
        width: None,
        no_color: false,
    }
}

/// Runs the program with these arguments, piped.
pub fn run(args: &[&str]) -> Session {
    run_on(args, &piped())
}

/// Runs the program with these arguments on a terminal.
pub fn run_on(args: &[&str], terminal: &Terminal) -> Session {
    let args = std::iter::once("berthage")
        .chain(args.iter().copied())
        .map(OsString::from);
    let (mut stdout, mut stderr) = (Vec::new(), Vec::new());
    let status = berthage::command::run(args, terminal, &mut stdout, &mut stderr);
    let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
    Session {
        status,
        stdout: text(stdout),
        stderr: text(stderr),
    }
}
