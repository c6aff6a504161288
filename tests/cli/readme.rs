//! The README's examples and the recorded sessions print what they say they print.

/// Runs every ```console block of README.md and of tests/cli/*.md and compares the output.
#[test]
fn recorded_sessions() {
    let cases = trycmd::TestCases::new();
    cases.case("README.md").case("tests/cli/*.md");
}

/// The README's test command is the one that continuous integration calls.
#[test]
fn the_readme_names_the_test_command() {
    let readme = include_str!("../../README.md");
    let script = include_str!("../../.ci/run");
    assert!(readme.contains("\ncargo test\n"));
    assert!(script.contains("\ncargo test\n"));
}
