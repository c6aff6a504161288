//! A page that stands alone in a build log, read by a Markdown parser that is not ours.

use std::fs;

use pulldown_cmark::{CodeBlockKind, Event, Options, Parser, Tag, TagEnd};

use crate::support::{OLD_RACK, Session, run};

/// What a reader sees of a page, in order.
#[derive(Debug, Default)]
struct Page {
    headings: Vec<String>,
    tables: usize,
    code: Vec<String>,
    links: Vec<String>,
    text: String,
}

fn read(markdown: &str) -> Page {
    let mut page = Page::default();
    let mut piece = String::new();
    for event in Parser::new_ext(
        markdown,
        Options::ENABLE_TABLES | Options::ENABLE_STRIKETHROUGH,
    ) {
        match event {
            Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(_)) | Tag::Heading { .. }) => {
                piece.clear();
            }
            Event::End(TagEnd::CodeBlock) => page.code.push(piece.clone()),
            Event::End(TagEnd::Heading(_)) => page.headings.push(piece.clone()),
            Event::Start(Tag::Table(_)) => page.tables += 1,
            Event::Start(Tag::Image { dest_url, .. } | Tag::Link { dest_url, .. }) => {
                page.links.push(dest_url.to_string());
            }
            Event::Text(text) | Event::Code(text) => {
                piece.push_str(&text);
                page.text.push_str(&text);
            }
            Event::End(_) => page.text.push('\n'),
            Event::Html(html) | Event::InlineHtml(html) => panic!("{html} in {markdown}"),
            _ => {}
        }
    }
    page
}

#[test]
fn a_page_tells_what_was_asked_answered_and_guessed() {
    let args = [
        "fit",
        "examples/shelf.toml",
        "--format",
        "markdown",
        "--set",
        "guest.web.memory=\"3 GiB\"",
    ];
    let page = read(&run(&args).stdout);
    for heading in [
        "Guesses (values not given)",
        "Cautions",
        "As given",
        "How this page was made",
    ] {
        assert!(
            page.headings.iter().any(|one| one == heading),
            "{heading}: {:?}",
            page.headings
        );
    }
    // Resources, what moves the count, counts, who takes it, details, what --set changed; host, two guests, image, policy, lab.
    assert_eq!(page.tables, 12);
    for words in [
        "shelf-a safely holds 35 guests",
        "3 GiB (by --set)",
        "memory.modules\n[\"32 GiB\", \"32 GiB\"]",
        concat!("berthage ", env!("CARGO_PKG_VERSION")),
        "This is an estimate",
    ] {
        assert!(page.text.contains(words), "{words}: {}", page.text);
    }
    assert!(
        page.code.iter().any(|one| one.contains("a memory: 35")),
        "{:?}",
        page.code
    );
    let call =
        "berthage fit examples/shelf.toml --format markdown --set 'guest.web.memory=\"3 GiB\"'\n";
    assert_eq!(page.code.last().map(String::as_str), Some(call));
}

#[test]
fn every_answer_about_a_lab_tells_what_was_given_and_guessed() {
    let calls: [&[&str]; 6] = [
        &["compare", "examples/two-boxes.toml"],
        &OLD_RACK,
        &["fleet", "examples/three-nodes.toml", "--spare", "1"],
        &["upgrade", "examples/undecided.toml"],
        &["rollout", "examples/shelf.toml", "--target", "20"],
        &[
            "calibrate",
            "examples/shelf.toml",
            "examples/readings.csv",
            "--guest",
            "web",
        ],
    ];
    for call in calls {
        let text = run(call).stdout;
        assert!(!text.contains("As given"), "{call:?}: {text}");
        let page = read(&run(&[call, &["--format", "markdown"]].concat()).stdout);
        for heading in ["Guesses (values not given)", "As given"] {
            let told = page.headings.iter().filter(|one| *one == heading);
            assert_eq!(told.count(), 1, "{call:?}: {:?}", page.headings);
        }
        // Modules of the host and memory of the guests as they were typed.
        for words in ["memory.modules\n[\"", "guest web"] {
            let is_there = page.text.contains(words) || call[1].contains("two-boxes");
            assert!(is_there, "{call:?}, {words}: {}", page.text);
        }
    }
    // What only the starting of guests needs is told where guests are started, and nowhere else.
    let rollout = run(&[
        "rollout",
        "examples/shelf.toml",
        "--target",
        "20",
        "--format",
        "markdown",
    ])
    .stdout;
    let upgrade = run(&["upgrade", "examples/shelf.toml", "--format", "markdown"]).stdout;
    assert!(rollout.contains("boot\\_cpu ="), "{rollout}");
    assert!(!upgrade.contains("boot\\_cpu ="), "{upgrade}");
}

#[test]
fn a_picture_and_a_report_need_a_file_each() {
    let session = Session::new();
    let calls: [&[&str]; 4] = [
        &["fit", "examples/shelf.toml"],
        &["compare", "examples/two-boxes.toml"],
        &["rollout", "examples/shelf.toml", "--target", "20"],
        &[
            "calibrate",
            "examples/shelf.toml",
            "examples/readings.csv",
            "--guest",
            "web",
        ],
    ];
    for call in calls {
        session
            .run(&[call, &["--chart", "@one.svg", "--output", "@one.svg"]].concat())
            .exits(2)
            .reports("--chart and --output both name");
        assert!(!session.folder().join("one.svg").exists(), "{call:?}");
    }
}

#[test]
fn the_call_on_a_page_makes_the_page_again() {
    let args = ["compare", "examples/two-boxes.toml", "--format", "markdown"];
    let text = run(&args).stdout;
    let call = read(&text).code.pop().expect("a call");
    let words: Vec<&str> = call.split_whitespace().skip(1).collect();
    assert_eq!(run(&words).stdout, text);
}

#[test]
fn every_command_makes_a_page_that_ends_in_its_call() {
    for args in [
        &["check", "examples/shelf.toml"][..],
        &["explain", "examples/shelf.toml"],
        &["explain", "out-of-range"],
    ] {
        let mut args = args.to_vec();
        args.extend(["--format", "markdown"]);
        let code = read(&run(&args).stdout).code;
        assert_eq!(
            code.last().map(|call| call.trim()),
            Some(format!("berthage {}", args.join(" ")).as_str())
        );
    }
}

#[test]
fn no_page_tells_the_folder_that_its_files_were_named_with() {
    let desk = Session::new();
    fs::create_dir(desk.folder().join("guests")).unwrap();
    for name in [
        "two-boxes.toml",
        "guests/household.toml",
        "shelf.toml",
        "readings.csv",
    ] {
        fs::copy(format!("examples/{name}"), desk.path(name)).unwrap();
    }
    for (call, told) in [
        (vec!["check", "@two-boxes.toml"], "two-boxes.toml is valid"),
        // What is included keeps its way from the lab.
        (
            vec!["explain", "@two-boxes.toml"],
            "(guests/household.toml:12)",
        ),
        (vec!["explain", "@shelf.toml"], "(shelf.toml:48)"),
        (
            vec![
                "calibrate",
                "@shelf.toml",
                "@readings.csv",
                "--guest",
                "web",
                "--write",
                "@new.toml",
            ],
            "new.toml",
        ),
    ] {
        let session = desk.run(&[call.as_slice(), &["--format", "markdown"]].concat());
        session.answers().says(told);
        let home = desk.folder().to_str().unwrap();
        assert!(!session.stdout.contains(home), "{}", session.stdout);
    }
}

#[test]
fn names_cannot_mark_up_a_page_and_paths_stay_at_home() {
    let text = "[[host]]\nname = \"<b>|`~~~~`\"\ncpu.groups = [{ cores = 8 }]\nmemory.modules = [\"32 GiB\"]\n\
                [[guest]]\nname = \"[x](http://example.org) ```\"\nmemory = \"2 GiB\"\n";
    let desk = Session::lab(text);
    for chart in [None, Some("@load.svg")] {
        let mut args = vec![
            "fit",
            "@lab.toml",
            "--format",
            "markdown",
            "--output",
            "@log.md",
        ];
        if let Some(chart) = chart {
            args.extend(["--chart", chart]);
        }
        desk.run(&args).answers();
        let markdown = desk.read("log.md");
        assert!(
            !markdown.contains(desk.folder().to_str().unwrap()),
            "{markdown}"
        );
        let page = read(&markdown);
        let expected: &[&str] = if chart.is_some() { &["load.svg"] } else { &[] };
        assert_eq!(page.links, expected);
        assert!(
            page.text.contains("<b>|`~~~~`") && page.text.contains("[x](http://example.org) ```")
        );
        assert_eq!(
            page.headings.last().map(String::as_str),
            Some("How this page was made"),
            "{markdown}"
        );
    }
}
