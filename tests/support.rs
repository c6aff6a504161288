//! Labs for tests, written as the text a user would write.

use std::ffi::OsString;

use berthage::command::Terminal;
use berthage::inventory::load_text;
use berthage::lab::Lab;
use proptest::strategy::Strategy;
use proptest::test_runner::Config as ProptestConfig;

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

/// `default` cases, or as many as the environment asks for with PROPTEST_CASES.
pub fn cases(default: u32) -> ProptestConfig {
    let asked = std::env::var("PROPTEST_CASES")
        .ok()
        .and_then(|text| text.parse().ok());
    ProptestConfig {
        cases: asked.unwrap_or(default),
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

/// One thing done to a file.
#[derive(Debug, Clone)]
pub enum Damage {
    /// Cut off after a share of it.
    Cut(f64),
    /// A word of it replaced by another.
    Word(f64, String),
    /// A byte put in at a share of it.
    Byte(f64, u8),
}

/// Damage of all kinds; words are such as break parsers.
pub fn damage() -> impl Strategy<Value = Damage> {
    let words = [
        "",
        "-1",
        "0",
        "1",
        "nan",
        "inf",
        "1e308",
        "18446744073709551616",
        "4294967295",
        "0-4294967295",
        ",",
        ";",
        "\"",
        "[",
        "é",
        "\u{feff}",
        "\r\n",
        "0.0000001",
        "1,5",
        "100 %",
        "99 EiB",
        "x",
        "9999999999",
        "2",
        "raid10",
        "512",
    ];
    let word = proptest::sample::select(words.to_vec()).prop_map(str::to_owned);
    proptest::prop_oneof![
        (0.0..1.0).prop_map(Damage::Cut),
        ((0.0..1.0), word).prop_map(|(at, word)| Damage::Word(at, word)),
        ((0.0..1.0), proptest::num::u8::ANY).prop_map(|(at, byte)| Damage::Byte(at, byte)),
    ]
}

impl Damage {
    /// The bytes after it.
    pub fn done(&self, mut bytes: Vec<u8>) -> Vec<u8> {
        let at = |share: f64, length: usize| (share * length as f64) as usize;
        match self {
            Damage::Cut(share) => bytes.truncate(at(*share, bytes.len())),
            Damage::Byte(share, byte) => bytes.insert(at(*share, bytes.len()), *byte),
            Damage::Word(share, word) => {
                let is_word =
                    |byte: &u8| !byte.is_ascii_whitespace() && !matches!(byte, b',' | b';');
                let middle = at(*share, bytes.len());
                let start = bytes[..middle]
                    .iter()
                    .rposition(|byte| !is_word(byte))
                    .map_or(0, |start| start + 1);
                let end = bytes[middle..]
                    .iter()
                    .position(|byte| !is_word(byte))
                    .map_or(bytes.len(), |end| middle + end);
                bytes.splice(start..end, word.bytes());
            }
        }
        bytes
    }
}

/// What the JSON of `rollout` says of a batch.
pub const BATCH_KEYS: [&str; 10] = [
    "start_s",
    "before",
    "started",
    "peak",
    "peak_s",
    "settled",
    "settle_s",
    "killed",
    "killed_most",
    "clone_s",
];

/// What the JSON of `rollout` says of a moment.
pub const MOMENT_KEYS: [&str; 7] = [
    "t_s",
    "guests",
    "used",
    "merged_bytes",
    "scan_pages_per_s",
    "swap_used",
    "disk_busy",
];
