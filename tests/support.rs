//! What tests share: labs as the text a user would write, calls of the program, damage to files.

use std::cell::OnceCell;
use std::ffi::OsString;
use std::path::Path;
use std::process::{self, Stdio};
use std::rc::Rc;
use std::{fs, iter};

use berthage::command::Terminal;
use berthage::inventory::load_text;
use berthage::lab::Lab;
use proptest::strategy::Strategy;
use proptest::test_runner::Config as ProptestConfig;
use serde_json::Value;
use tempfile::TempDir;

/// The lab that a text describes.
///
/// # Panics
/// When the text is not valid, with the errors a user would see.
pub fn lab(text: &str) -> Lab {
    lab_with(text, &[])
}

/// The lab that a text describes with these values set (`path=value`).
///
/// # Panics
/// When text or values are not valid, with the errors a user would see.
pub fn lab_with(text: &str, sets: &[&str]) -> Lab {
    let sets: Vec<String> = sets.iter().map(|set| (*set).to_owned()).collect();
    load_text("test.toml", text, &sets)
        .unwrap_or_else(|errors| panic!("{}", errors.render(false, 120)))
}

/// A host with nothing special about it.
pub const PLAIN_HOST: &str = r#"
[[host]]
name = "box"
cpu.groups = [{ cores = 8, threads = 2 }]
memory.modules = ["32 GiB", "32 GiB"]
"#;

/// The README's question whether other hosts should take the place of an old one.
pub const OLD_RACK: [&str; 6] = [
    "compare",
    "examples/three-nodes.toml",
    "--need",
    "web=12,desk=1",
    "--old",
    "rack",
];

/// A call of the program as a person makes it: a folder with files, what is typed, where it is run.
#[derive(Clone)]
pub struct Session {
    folder: Rc<OnceCell<TempDir>>,
    args: Vec<String>,
    terminal: Terminal,
}

impl Session {
    /// Nothing typed yet, an empty folder, no terminal.
    pub fn new() -> Self {
        Session {
            folder: Rc::default(),
            args: Vec::new(),
            terminal: piped(),
        }
    }

    /// With this text in `lab.toml`.
    pub fn lab(text: &str) -> Self {
        Session::new().file("lab.toml", text)
    }

    /// With a file of this name and text in the folder.
    pub fn file(self, name: &str, text: &str) -> Self {
        fs::write(self.path(name), text).expect(name);
        self
    }

    /// With more typed; `@name` stands for a file of the folder.
    pub fn args(mut self, more: &[&str]) -> Self {
        let typed = more.iter().map(|arg| match arg.strip_prefix('@') {
            Some(name) => self.path(name),
            None => (*arg).to_owned(),
        });
        let typed: Vec<String> = typed.collect();
        self.args.extend(typed);
        self
    }

    /// With these values set (`path=value`).
    pub fn set(self, values: &[&str]) -> Self {
        values
            .iter()
            .fold(self, |session, value| session.args(&["--set", value]))
    }

    /// On this terminal.
    pub fn on(self, terminal: Terminal) -> Self {
        Session { terminal, ..self }
    }

    /// The folder, made when it is first asked for.
    pub fn folder(&self) -> &Path {
        self.folder
            .get_or_init(|| tempfile::tempdir().expect("a folder"))
            .path()
    }

    /// Where a file of the folder is, as it is typed.
    pub fn path(&self, name: &str) -> String {
        self.folder().join(name).to_str().expect("UTF-8").to_owned()
    }

    /// The text of a file of the folder.
    pub fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).expect(name)
    }

    /// Runs the program with these arguments after those already typed.
    pub fn run(&self, more: &[&str]) -> Ended {
        let args = self.clone().args(more).args;
        let typed = iter::once("berthage").chain(args.iter().map(String::as_str));
        let (mut stdout, mut stderr) = (Vec::new(), Vec::new());
        let typed = typed.map(OsString::from);
        let status = berthage::command::run::run(typed, &self.terminal, &mut stdout, &mut stderr);
        let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
        Ended {
            call: args.join(" "),
            status,
            stdout: text(stdout),
            stderr: text(stderr),
        }
    }

    /// The answer in JSON, and nothing on the standard error.
    #[track_caller]
    pub fn json(&self, more: &[&str]) -> Value {
        self.run(&[more, &["--format", "json"]].concat()).json()
    }

    /// The same call as a process of its own, its streams piped.
    pub fn process(&self, more: &[&str]) -> process::Command {
        let mut process = process::Command::new(env!("CARGO_BIN_EXE_berthage"));
        process
            .args(self.clone().args(more).args)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        process
    }
}

/// What a run of the program left behind.
pub struct Ended {
    call: String,
    /// Exit status.
    pub status: u8,
    /// Standard output.
    pub stdout: String,
    /// Standard error.
    pub stderr: String,
}

impl Ended {
    /// It ended with this status.
    #[track_caller]
    pub fn exits(&self, status: u8) -> &Self {
        let Ended { call, stderr, .. } = self;
        assert_eq!(self.status, status, "{call}: {stderr}");
        self
    }

    /// Nothing went to the standard error.
    #[track_caller]
    pub fn is_silent(&self) -> &Self {
        assert_eq!(self.stderr, "", "{}", self.call);
        self
    }

    /// It answered, with status 0 and nothing on the standard error.
    #[track_caller]
    pub fn answers(&self) -> &Self {
        self.exits(0).is_silent()
    }

    /// The call was refused: status 2, no answer.
    #[track_caller]
    pub fn refuses(&self) -> &Self {
        assert_eq!(self.stdout, "", "{}", self.call);
        self.exits(2)
    }

    /// The answer has this in it.
    #[track_caller]
    pub fn says(&self, part: &str) -> &Self {
        let Ended { call, stdout, .. } = self;
        assert!(stdout.contains(part), "{call}: no {part:?} in {stdout}");
        self
    }

    /// The standard error has this in it.
    #[track_caller]
    pub fn reports(&self, part: &str) -> &Self {
        let Ended { call, stderr, .. } = self;
        assert!(stderr.contains(part), "{call}: no {part:?} in {stderr}");
        self
    }

    /// The answer as JSON, and nothing on the standard error.
    #[track_caller]
    pub fn json(&self) -> Value {
        self.is_silent();
        let read = serde_json::from_str(&self.stdout);
        read.unwrap_or_else(|error| panic!("{}: {error}: {}", self.call, self.stdout))
    }

    /// The answer as one line, so that it does not matter where its lines end.
    pub fn words(&self) -> String {
        self.stdout.split_whitespace().collect::<Vec<_>>().join(" ")
    }
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

/// Runs the program with these arguments, piped, without files of its own.
pub fn run(args: &[&str]) -> Ended {
    Session::new().run(args)
}

/// The answer to these arguments in JSON, and nothing on the standard error.
#[track_caller]
pub fn json(args: &[&str]) -> Value {
    Session::new().json(args)
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
