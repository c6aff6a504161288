//! Pictures: what they show, that words neither overlap nor are cut off, where they are written.

use std::fs;

use crate::support::{OLD_RACK, PLAIN_HOST, Session, json, run};

/// Width of the widest letter font against its height, a little less than what the program plans with.
const ASPECT: f64 = 0.56;

/// A text of a picture and the rectangle it takes: left, right, top, bottom.
type Word = (String, [f64; 4]);

/// The value of an attribute of a tag.
fn attribute(tag: &str, name: &str) -> Option<String> {
    let start = tag.find(&format!(" {name}=\""))? + name.len() + 3;
    tag[start..].split('"').next().map(str::to_owned)
}

/// All texts of a picture.
fn words(picture: &str) -> Vec<Word> {
    let mut words = Vec::new();
    for piece in picture.split("<text").skip(1) {
        let (tag, rest) = piece.split_once('>').expect("a closed tag");
        let text = rest.split("</text>").next().expect("a text").to_owned();
        let number =
            |name: &str| -> f64 { attribute(tag, name).expect(name).parse().expect("a number") };
        let (x, y, size) = (number("x"), number("y"), number("font-size"));
        let long = text.chars().count() as f64 * size * ASPECT;
        let left = match attribute(tag, "text-anchor").as_deref() {
            Some("middle") => x - long / 2.0,
            Some("end") => x - long,
            _ => x,
        };
        words.push((text, [left, left + long, y - 0.72 * size, y]));
    }
    words
}

/// Draws with these arguments and returns the picture.
fn drawn(args: &[&str]) -> String {
    let session = Session::new();
    session
        .run(&[args, &["--chart", "@load.svg"]].concat())
        .is_silent()
        .says("load.svg");
    session.read("load.svg")
}

#[test]
fn words_neither_overlap_nor_leave_the_picture() {
    let started = Session::new();
    let lab = started.path("lab.toml");
    started.run(&["new", &lab]).answers();
    for call in [
        vec!["fit", "examples/shelf.toml"],
        vec!["fit", "examples/two-boxes.toml"],
        vec!["fit", "examples/classroom.toml"],
        vec!["fit", &lab],
        vec!["compare", "examples/two-boxes.toml"],
        vec!["fit", "tests/cli/growing.toml", "--host", "box"],
        vec!["fit", "tests/cli/hours.toml"],
    ] {
        let picture = drawn(&call);
        let words = words(&picture);
        assert!(words.len() > 15, "{call:?}");
        for (index, (text, area)) in words.iter().enumerate() {
            assert!(
                area[0] >= 0.0 && area[1] <= 960.0,
                "{call:?}: {text} {area:?}"
            );
            for (other, taken) in &words[index + 1..] {
                let meet = area[0] < taken[1]
                    && taken[0] < area[1]
                    && area[2] < taken[3]
                    && taken[2] < area[3];
                assert!(
                    !meet,
                    "{call:?}: {text:?} {area:?} over {other:?} {taken:?}"
                );
            }
        }
        let smallest = picture.matches("font-size=\"16\"").count()
            + picture.matches("font-size=\"17\"").count();
        assert!(
            smallest + picture.matches("font-size=\"22\"").count() == words.len(),
            "{call:?}"
        );
    }
}

#[test]
fn the_picture_says_what_the_report_says() {
    let picture = drawn(&["fit", "examples/shelf.toml"]);
    for part in [
        "<title id=\"title\">",
        "shelf-a safely holds 35 guests; memory runs out first.",
        "The cliff, where it thrashes or kills guests, is at about 47 guests.",
        "memory: 35",
        "processor: 45",
        "network: 168",
        ">fits 35<",
        ">cliff 47<",
        ">fresh 82<",
        ">safe limit<",
        ">cliff<",
        ">100 %<",
        " GiB<",
        ">guests<",
    ] {
        assert!(picture.contains(part), "{part}");
    }
    assert_eq!(
        picture,
        drawn(&["fit", "examples/shelf.toml"]),
        "the same bytes"
    );
}

#[test]
fn a_plot_in_characters_has_the_same_content() {
    for ascii in [&[][..], &["--ascii"]] {
        let mut args = vec!["fit", "examples/shelf.toml", "--plot", "--width", "60"];
        args.extend(ascii);
        let text = run(&args).stdout;
        for part in [
            "a memory: 35",
            "fits 35, cliff 47, fresh 82",
            "safe limit",
            "100 % ",
            "fresh, worst accepted",
        ] {
            assert!(text.contains(part), "{part}: {text}");
        }
        assert!(ascii.is_empty() || text.is_ascii());
        assert!(
            text.lines().all(|line| line.chars().count() <= 60),
            "{text}"
        );
    }
    assert!(
        !run(&["fit", "examples/shelf.toml"])
            .stdout
            .contains("a memory: 35")
    );
}

#[test]
fn a_picture_is_svg_and_is_written_whole_or_not_at_all() {
    let session = Session::new();
    for (name, code) in [
        ("load.png", "not-svg"),
        ("missing/load.svg", "cannot-write"),
    ] {
        session
            .run(&["fit", "examples/shelf.toml", "--chart", &session.path(name)])
            .refuses()
            .reports(code);
    }
    assert_eq!(fs::read_dir(session.folder()).unwrap().count(), 0);
}

#[test]
fn json_carries_the_curves_where_a_picture_was_asked_for() {
    let plain = json(&["fit", "examples/shelf.toml"]);
    assert!(plain["hosts"][0].get("curve").is_none());
    let drawn = json(&["fit", "examples/shelf.toml", "--plot"]);
    let (host, curve) = (&drawn["hosts"][0], &drawn["hosts"][0]["curve"]);
    let counts: Vec<u64> = curve["n"]
        .as_array()
        .unwrap()
        .iter()
        .map(|n| n.as_u64().unwrap())
        .collect();
    let at = counts
        .iter()
        .position(|n| Some(*n) == host["fits"].as_u64())
        .expect("a point at fits");
    for (own, load) in host["resources"]
        .as_array()
        .unwrap()
        .iter()
        .zip(curve["loads"].as_array().unwrap())
    {
        assert_eq!(own["name"], load["name"]);
        assert_eq!(own["load"], load["load"][at], "{}", own["name"]);
    }
    let crossed = counts
        .iter()
        .position(|n| Some(*n) == host["breaks_at"].as_u64())
        .expect("a point at the cliff");
    let of = |key: &str| curve["memory"][key][crossed].as_f64().unwrap();
    assert!(of("mean") > of("cliff"));
}

/// The band passes the safe limit about where the interval of memory's count ends, since it has the draws of both.
#[test]
fn a_picture_has_the_band_of_the_draws() {
    let call = ["fit", "examples/shelf.toml"];
    let picture = drawn(&call);
    let bare = drawn(&[&call[..], &["--draws", "0"]].concat());
    assert!(picture.contains("90 % of the draws of a") && picture.contains("<polygon"));
    assert!(!bare.contains("draws of a") && !bare.contains("<polygon"));
    assert!(picture.len() < bare.len() + 1_000, "a band of few bytes");
    let text = run(&[&call[..], &["--plot"]].concat()).stdout;
    assert!(text.contains("░ 90 % of the draws of a"), "{text}");
    let answer = json(&[&call[..], &["--plot"]].concat());
    let (host, memory) = (&answer["hosts"][0], &answer["hosts"][0]["curve"]["memory"]);
    assert_eq!(host["binds"][0], "memory");
    let limit = memory["safe_limit"].as_f64().unwrap();
    let band = memory["drawn"].as_array().unwrap().iter();
    let first_past = |end: &str| {
        let mut past = band
            .clone()
            .filter(|one| one[end].as_f64().unwrap() > limit);
        past.next().unwrap()["n"].as_u64().unwrap()
    };
    let (low, high) = (&host["interval"]["low"], &host["interval"]["high"]);
    let step = answer["hosts"][0]["curve"]["n"]
        .as_array()
        .unwrap()
        .last()
        .unwrap();
    let step = step.as_u64().unwrap() / 8 + 2;
    for (end, count) in [("high", low), ("low", high)] {
        let (past, count) = (first_past(end), count.as_u64().unwrap());
        assert!(past.abs_diff(count) <= step, "{end}: {past} for {count}");
    }
}

#[test]
fn a_page_shows_the_picture_or_draws_it_in_characters() {
    let session = Session::new();
    let page = run(&["fit", "examples/shelf.toml", "--format", "markdown"]).stdout;
    assert!(page.contains("~~~~text") && page.contains("a memory: 35"));
    session
        .run(&[
            "fit",
            "examples/shelf.toml",
            "--format",
            "markdown",
            "--output",
            "@log.md",
            "--chart",
            "@load.svg",
        ])
        .answers();
    let page = session.read("log.md");
    assert!(
        page.contains("](<load.svg>)") && !page.contains(session.folder().to_str().unwrap()),
        "{page}"
    );
}

/// Readings so close together that words beside one point would stand nearer to another (invented).
const CLOSE: &str = "guests,memory_used,settled\n5,8.2 GiB,yes\n6,9.4 GiB,yes\n6,10.4 GiB,no\n7,10.6 GiB,yes\n\
10,13.9 GiB,yes\n11,15 GiB,unknown\n20,26.0 GiB,yes\n25,29.1 GiB,no\n25,31.5 GiB,yes\n26,33 GiB,no\n26,32.6 GiB,yes\n";

#[test]
fn words_belong_to_their_own_point_and_cover_none() {
    let session = Session::new().file("close.csv", CLOSE);
    for (readings, least) in [
        (session.path("close.csv").as_str(), 4),
        ("examples/readings.csv", 1),
    ] {
        let call = [
            "calibrate",
            "examples/shelf.toml",
            readings,
            "--guest",
            "web",
        ];
        let picture = drawn(&call);
        let numbers = |tag: &str, names: [&str; 2]| {
            names.map(|name| -> f64 { attribute(tag, name).unwrap().parse().unwrap() })
        };
        let points: Vec<[f64; 2]> = picture
            .split("<circle")
            .skip(1)
            .map(|tag| numbers(tag, ["cx", "cy"]))
            .collect();
        // Thin lines of two points that lead from a point to its words.
        let leaders: Vec<Vec<[f64; 2]>> = picture
            .split("<polyline")
            .skip(1)
            .filter(|tag| attribute(tag, "stroke-width").as_deref() == Some("1.2"))
            .map(|tag| {
                let places = attribute(tag, "points").unwrap();
                let place = |text: &str| {
                    let (x, y) = text.split_once(',').unwrap();
                    [x.parse().unwrap(), y.parse().unwrap()]
                };
                places.split(' ').map(place).collect()
            })
            .collect();
        let table = fs::read_to_string(readings).unwrap();
        let said: Vec<String> = table
            .lines()
            .skip(1)
            .map(|row| {
                let cells: Vec<&str> = row.split(',').collect();
                let state = match cells[2] {
                    "yes" => "settled",
                    "no" => "just started",
                    _ => "state unknown",
                };
                format!("{}, {state}", cells[0])
            })
            .collect();
        assert_eq!(said.len(), points.len());
        let far = |area: &[f64; 4], [x, y]: [f64; 2]| {
            (x - x.clamp(area[0], area[1])).hypot(y - y.clamp(area[2], area[3]))
        };
        let mut seen = 0;
        for (text, area) in words(&picture) {
            for point in &points {
                assert!(far(&area, *point) >= 5.0, "{text} covers {point:?}");
            }
            let Some(own) = said.iter().position(|one| *one == text) else {
                continue;
            };
            seen += 1;
            let own_far = far(&area, points[own]);
            let nearest = (0..points.len())
                .filter(|other| *other != own)
                .all(|other| far(&area, points[other]) > own_far);
            let led = leaders.iter().any(|piece| {
                let [x, y] = points[own];
                (piece[0][0] - x).hypot(piece[0][1] - y) < 7.5 && far(&area, piece[1]) < 8.0
            });
            assert!(
                nearest || led,
                "{text} at {area:?} is not seen to belong to {:?}",
                points[own]
            );
        }
        // Settled readings, as most are, go without words: those would only cover the lines.
        assert_eq!(seen, least, "{said:?}");
        assert!(!picture.contains(", settled<"), "{picture}");
    }
}

#[test]
fn ranked_hosts_are_drawn_as_well() {
    let picture = drawn(&OLD_RACK);
    for host in ["attic: ", "north: ", "south: "] {
        assert!(picture.contains(host), "{host}: {picture}");
    }
    let plotted = run(&[&OLD_RACK[..], &["--plot"]].concat()).stdout;
    assert!(plotted.contains("a attic: "), "{plotted}");
    // One line lies on the other, and a screen shows only one letter in a place.
    let beneath = plotted.contains("c south: 0 sets, memory runs out first (the same line as b)");
    assert!(beneath, "{plotted}");
    let plotted = run(&["fit", "examples/classroom.toml", "--plot", "--width", "60"]).stdout;
    let hidden = "c fresh, worst accepted (behind other lines)";
    assert!(plotted.contains(hidden), "{plotted}");
    let drawn = "c disk speed (guests): 187\n";
    assert!(plotted.contains(drawn), "{plotted}");
}

/// Every command that draws, over all labs of the project that it takes.
const DRAWN: [&[&str]; 17] = [
    &["fit", "examples/shelf.toml"],
    &["fit", "examples/two-boxes.toml"],
    &["fit", "examples/classroom.toml"],
    &["fit", "examples/undecided.toml"],
    &["fit", "examples/three-nodes.toml"],
    &["fit", "tests/cli/growing.toml"],
    &["fit", "tests/cli/hours.toml"],
    &["fit", "tests/cli/everything.toml"],
    &["compare", "examples/two-boxes.toml"],
    &["compare", "examples/three-nodes.toml"],
    &OLD_RACK,
    &["rollout", "examples/shelf.toml"],
    &[
        "rollout",
        "examples/shelf.toml",
        "--seed",
        "3",
        "--watch",
        "8h",
    ],
    &["rollout", "examples/undecided.toml"],
    &["rollout", "examples/classroom.toml", "--host", "lectern"],
    &[
        "rollout",
        "examples/two-boxes.toml",
        "--host",
        "small",
        "--target",
        "90",
        "--anyway",
    ],
    &[
        "calibrate",
        "examples/shelf.toml",
        "examples/readings.csv",
        "--guest",
        "web",
    ],
];

#[test]
fn pictures_are_small_and_letters_stand_at_their_lines() {
    let mut seen = 0;
    for call in DRAWN {
        let session = Session::new();
        let draws = ["--draws", "100"];
        let few = if call[0] == "calibrate" {
            &[][..]
        } else {
            &draws
        };
        session.run(&[call, few, &["--chart", "@load.svg"]].concat());
        let picture = session.read("load.svg");
        let bytes = picture.len();
        assert!((5_000..40_000).contains(&bytes), "{call:?}: {bytes} bytes");
        // Axes begin a panel, its lines follow, limits end them.
        for panel in picture.split("stroke=\"#828282\"").skip(1) {
            let ends: Vec<[f64; 2]> = panel
                .split("<polyline")
                .skip(1)
                .take_while(|tag| {
                    let limit = tag.contains("stroke=\"#141414\" stroke-width=\"1.8\"");
                    tag.contains("stroke-width") && !limit
                })
                .map(|tag| {
                    let points = attribute(tag, "points").unwrap();
                    let (x, y) = points.rsplit(' ').next().unwrap().split_once(',').unwrap();
                    [x.parse().unwrap(), y.parse().unwrap()]
                })
                .collect();
            let words = words(panel);
            for (letter, [x, y]) in ('a'..='z').zip(ends) {
                let mut letters = words.iter().filter(|(text, _)| *text == letter.to_string());
                // The first one is at the line, the other in the list.
                let (Some((_, area)), Some(_)) = (letters.next(), letters.next()) else {
                    continue;
                };
                let middle = [(area[0] + area[1]) / 2.0 - x, (area[2] + area[3]) / 2.0 - y];
                let beside = (0.0..46.0).contains(&middle[0]) && middle[1].abs() < 13.0;
                let above = middle[0].abs() < 22.0 && (-16.0..0.0).contains(&middle[1]);
                assert!(
                    beside || above,
                    "{call:?}: {letter} is {middle:?} from its line"
                );
                seen += 1;
            }
        }
    }
    assert!(seen > 60, "{seen}");
}

#[test]
fn calibrate_draws_the_limits_it_speaks_of() {
    let calibrate = |lab: &str, readings: &str| {
        let session = Session::lab(lab).file("read.csv", readings);
        let call = session.args(&["calibrate", "@lab.toml", "@read.csv", "--guest", "web"]);
        call.run(&["--chart", "@load.svg"]).answers();
        (call.json(&[])["predicts"].clone(), call.read("load.svg"))
    };
    let web = "[[image]]\nname = \"i\"\nsize = \"4 GB\"\n[[guest]]\nname = \"web\"\nimage = \"i\"\nmemory = \"1 GiB\"\nbusy = \"5 %\"\n";
    let other = "[[guest]]\nname = \"db\"\nmemory = \"2 GiB\"\ncount = 1\n";
    // A first handful, far below every limit.
    let few =
        "guests,memory_used,settled\n0,1.9 GiB,yes\n1,2.6 GiB,yes\n2,3.4 GiB,yes\n5,5.4 GiB,yes\n";
    let (predicts, picture) = calibrate(&[PLAIN_HOST, web].concat(), few);
    let count = |key: &str| predicts[key]["value"].as_u64().unwrap();
    for words in [
        ">safe limit<",
        ">all memory<",
        &format!(">fits {}<", count("fits")),
        &format!(">cliff {}<", count("breaks_at")),
    ] {
        assert!(picture.contains(words), "{words}");
    }
    // Counts of a mix are no counts of the guest that was read.
    let beside = few
        .replace("settled\n", "settled,guests_db\n")
        .replace("yes\n", "yes,0\n");
    let (_, picture) = calibrate(&[PLAIN_HOST, web, other].concat(), &beside);
    assert!(picture.contains(">safe limit<") && !picture.contains(">fits "));
}
