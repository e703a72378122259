//! A place's rules as one file: what is written is what is read, and nothing else is read.

use std::path::Path;

use groundrule::library::{self, Opened, Problem, Texts, embedded, open, read_folder};
use groundrule::report::mistakes;
use groundrule::ruleset::{self, MOST_BYTES, Ruleset, read, texts_of, write};
use groundrule::source::Sources;

const TOWN: &str = "aldmoor/sarnfell/velder_mills";

fn town() -> Ruleset {
    Ruleset {
        place: TOWN.to_owned(),
        texts: texts_of(TOWN, &embedded()),
    }
}

/// What a file holds, or the mistake as its reader is shown it.
fn read_text(text: &str) -> Result<Ruleset, String> {
    let mut sources = Sources::default();
    let id = sources.add("ruleset", text);
    read(&sources, id).map_err(|error| {
        let source = id;
        let problem = Problem::from(groundrule::source::Located { source, error });
        let shown = mistakes::render(&sources, vec![problem], false, 80);
        let lines: Vec<&str> = shown.lines().map(str::trim_end).collect();
        lines.join("\n").trim_end().to_owned()
    })
}

fn opened(texts: &Texts) -> Opened {
    open(texts).unwrap_or_else(|problems| {
        let shown = mistakes::render(&problems.sources, problems.problems, false, 80);
        panic!("{shown}")
    })
}

/// A file with one text of a name.
fn named(name: &str) -> String {
    let name = serde_json::to_string(name).expect("a text is JSON");
    format!("{{\"ruleset\": 1, \"place\": \"state/town\", \"texts\": {{{name}: [\"x\"]}}}}")
}

#[test]
fn what_is_written_is_read() {
    let written = write(&town());
    assert_eq!(read_text(&written), Ok(town()));
}

#[test]
fn a_text_keeps_every_byte() {
    let text = "a \"b\" \\ \t\u{1F527}\r\n\n  é\r";
    let ruleset = Ruleset {
        place: "state".to_owned(),
        texts: Texts([("rules/a.rules".to_owned(), text.to_owned())].into()),
    };
    assert_eq!(read_text(&write(&ruleset)), Ok(ruleset));
}

#[test]
fn a_ruleset_is_written_as_it_always_was() {
    let texts = [
        ("rules/a.rules", "topic a \"A\"\n"),
        ("jurisdictions/state/signers", "# nobody\n"),
    ];
    let ruleset = Ruleset {
        place: "state".to_owned(),
        texts: Texts(
            texts
                .map(|(name, text)| (name.to_owned(), text.to_owned()))
                .into(),
        ),
    };
    insta::assert_snapshot!(write(&ruleset), @r##"
    {
      "ruleset": 1,
      "place": "state",
      "texts": {
        "jurisdictions/state/signers": [
          "# nobody",
          ""
        ],
        "rules/a.rules": [
          "topic a \"A\"",
          ""
        ]
      }
    }
    "##);
}

#[test]
fn a_ruleset_holds_the_place_and_those_around_it_and_no_others() {
    let names: Vec<String> = town().texts.0.into_keys().collect();
    for wanted in [
        "jurisdictions/aldmoor/place.rules",
        "jurisdictions/aldmoor/sarnfell/place.rules",
        "jurisdictions/aldmoor/sarnfell/velder_mills/place.rules",
        "jurisdictions/aldmoor/sarnfell/velder_mills/signers",
        "rules/cable_burial.rules",
        "shared/vocabulary/supply.rules",
    ] {
        assert!(names.iter().any(|name| name == wanted), "{wanted}");
    }
    for other in ["hask_ferry", "quern_landing", "upper_quarn"] {
        assert!(names.iter().all(|name| !name.contains(other)), "{other}");
    }
}

#[test]
fn a_file_and_a_folder_of_the_same_texts_have_the_same_digest() {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, text) in &town().texts.0 {
        let file = folder.path().join(name);
        std::fs::create_dir_all(file.parent().expect("a folder")).expect("a folder");
        std::fs::write(file, text).expect("a file");
    }
    let from_folder = opened(&read_folder(folder.path()).expect("a library"));
    let from_file = opened(&read_text(&write(&town())).expect("a ruleset").texts);
    assert_eq!(from_folder.digest, from_file.digest);
}

#[test]
fn who_signs_and_what_is_superseded_make_no_other_ruleset() {
    let mut texts = town().texts;
    let digest = opened(&texts).digest;
    for kind in [library::SIGNERS, library::EDITIONS] {
        texts.0.insert(
            format!("jurisdictions/{TOWN}/{kind}"),
            "# another\n".to_owned(),
        );
    }
    assert_eq!(opened(&texts).digest, digest);
    let rules = format!("jurisdictions/{TOWN}/place.rules");
    texts.0.entry(rules).and_modify(|text| text.push('\n'));
    assert_ne!(opened(&texts).digest, digest);
}

#[test]
fn no_text_is_called_so_that_it_lies_outside_a_library() {
    for name in [
        "../rules/a.rules",
        "rules/../../a.rules",
        "rules/./a.rules",
        "rules//a.rules",
        "/rules/a.rules",
        "/etc/passwd",
        "rules\\a.rules",
        "rules/..\\a.rules",
        "C:/rules/a.rules",
        "rules/a:b.rules",
        "rules/a\u{0}.rules",
        "rules/a\n.rules",
        "rules/a\u{202E}.rules",
        "rules/a\u{200B}.rules",
        "rules/a.yaml",
        "rules/signers",
        "shared/schemas/findings.schema.json",
        "Cargo.toml",
        "a.rules",
        "jurisdictions/state/town/readme",
        "jurisdictions/signers",
        "",
        &format!("rules/{}.rules", "a/".repeat(400)),
    ] {
        let told = read_text(&named(name)).expect_err(name);
        assert!(told.contains("ruleset::name"), "{name}: {told}");
    }
    for name in [
        "rules/a.rules",
        "shared/vocabulary/a b.rules",
        "jurisdictions/state/town/place.rules",
        "jurisdictions/state/signers",
        "jurisdictions/state/town/editions",
    ] {
        assert!(read_text(&named(name)).is_ok(), "{name}");
    }
}

#[test]
fn no_place_is_called_so_that_it_lies_outside_a_library() {
    for place in [
        "", ".", "..", "../state", "state/..", "/state", "a//b", "a\\b", "a\u{7}b",
    ] {
        let place = serde_json::to_string(place).expect("a text is JSON");
        let text = format!("{{\"ruleset\": 1, \"place\": {place}, \"texts\": {{}}}}");
        let told = read_text(&text).expect_err(&place);
        assert!(told.contains("ruleset::place"), "{place}: {told}");
    }
}

macro_rules! refused {
    ($($name:ident: $text:expr;)+) => {
        $(#[test]
        fn $name() {
            let told = read_text(&$text).expect_err("it is no ruleset");
            insta::assert_snapshot!(stringify!($name), told);
        })+
    };
}

refused! {
    not_json: "the rules of our town";
    another_object: "{\n  \"rules\": []\n}\n";
    no_place: "{\n  \"ruleset\": 1,\n  \"texts\": {}\n}\n";
    a_text_that_is_no_list: "{\n  \"ruleset\": 1,\n  \"place\": \"state\",\n  \"texts\": {\n    \"rules/a.rules\": \"topic\"\n  }\n}\n";
    a_line_of_two_lines: "{\"ruleset\": 1, \"place\": \"state\", \"texts\": {\"rules/a.rules\": [\"a\\nb\"]}}";
    more_after_the_texts: "{\"ruleset\": 1, \"place\": \"state\", \"texts\": {}, \"run\": \"it\"}";
    more_after_the_end: "{\"ruleset\": 1, \"place\": \"state\", \"texts\": {}} {}";
    cut_short: "{\n  \"ruleset\": 1,\n  \"place\": \"state\",\n  \"texts\": {\n    \"rules/a.rules\": [\n      \"topic";
    a_later_form: "{\n  \"ruleset\": 2,\n  \"place\": \"state\"\n}\n";
    a_place_above: "{\n  \"ruleset\": 1,\n  \"place\": \"../state\",\n  \"texts\": {}\n}\n";
    a_name_above: "{\n  \"ruleset\": 1,\n  \"place\": \"state\",\n  \"texts\": {\n    \"rules/../../etc/cron.rules\": []\n  }\n}\n";
    a_hidden_name: "{\n  \"ruleset\": 1,\n  \"place\": \"state\",\n  \"texts\": {\n    \"rules/a\\u202e.rules\": []\n  }\n}\n";
    one_name_twice: "{\"ruleset\": 1, \"place\": \"state\", \"texts\": {\"rules/a.rules\": [], \"rules/a.rules\": []}}";
    another_town: "{\"ruleset\": 1, \"place\": \"state/town\", \"texts\": {\"jurisdictions/state/city/place.rules\": []}}";
    a_town_within: "{\"ruleset\": 1, \"place\": \"state\", \"texts\": {\"jurisdictions/state/city/place.rules\": []}}";
    too_large: " ".repeat(MOST_BYTES + 1);
    too_many_texts: thousands_of_texts();
}

fn thousands_of_texts() -> String {
    let texts: Vec<String> = (0..=2_000)
        .map(|at| format!("\"rules/{at}.rules\": []"))
        .collect();
    format!(
        "{{\n\"ruleset\": 1,\n\"place\": \"state\",\n\"texts\": {{\n{}\n}}}}",
        texts.join(",\n")
    )
}

fn editions(text: &str) -> Result<usize, String> {
    let mut sources = Sources::default();
    let id = sources.add("jurisdictions/state/editions", text);
    ruleset::editions(&sources, id)
        .map(|found| found.len())
        .map_err(|errors| {
            let problems = errors.into_iter().map(Problem::from).collect();
            mistakes::render(&sources, problems, false, 80)
        })
}

#[test]
fn editions_stand_one_a_line() {
    let digest = "0123456789abcdef".repeat(4);
    let text = format!(
        "# Ours\n\nedition {digest} until 2026-07-01 by \"the edition of July 2026, Ordinance 26-3 (invented)\"\n"
    );
    assert_eq!(editions(&text), Ok(1));
}

#[test]
fn a_line_of_editions_that_says_nothing_is_told_where_it_stands() {
    let digest = "0123456789abcdef".repeat(4);
    let lines = [
        "edition until 2026-07-01 by \"x\"".to_owned(),
        "edition 0123 until 2026-07-01 by \"x\"".to_owned(),
        format!("edition {digest} until July by \"x\""),
        format!("edition {digest} until 2026-07-01"),
        format!("edition {digest} until 2026-07-01 by x"),
        format!("edition {digest} until 2026-07-01 by \"a\" \"b\""),
    ];
    let told = editions(&lines.join("\n")).expect_err("nothing but mistakes");
    assert_eq!(told.matches("ruleset::editions").count(), lines.len());
    insta::assert_snapshot!(
        "editions",
        told.lines()
            .map(str::trim_end)
            .collect::<Vec<_>>()
            .join("\n")
    );
}

#[cfg(unix)]
#[test]
fn a_link_in_a_library_is_an_error_wherever_it_leads() {
    use std::os::unix::fs::symlink;
    let outside = tempfile::tempdir().expect("a folder");
    std::fs::write(outside.path().join("a.rules"), "secret").expect("a file");
    let links: [(&Path, &str); 3] = [
        (outside.path(), "rules"),
        (outside.path(), "rules/inner"),
        (&outside.path().join("a.rules"), "rules/a.rules"),
    ];
    for (target, name) in links {
        let library = tempfile::tempdir().expect("a folder");
        std::fs::create_dir(library.path().join("shared")).expect("a folder");
        let link = library.path().join(name);
        std::fs::create_dir_all(link.parent().expect("a folder")).expect("a folder");
        symlink(target, &link).expect("a link");
        let failure = read_folder(library.path()).expect_err(name).to_string();
        assert!(failure.ends_with("is a link"), "{name}: {failure}");
    }
}

#[test]
fn a_folder_of_more_than_a_library_can_hold_is_not_read() {
    let library = tempfile::tempdir().expect("a folder");
    let rules = library.path().join("rules");
    std::fs::create_dir(&rules).expect("a folder");
    let file = std::fs::File::create(rules.join("a.rules")).expect("a file");
    file.set_len((64 << 20) + 1).expect("a file with a hole");
    let failure = read_folder(library.path())
        .expect_err("too large")
        .to_string();
    assert!(failure.contains("more than 64 MiB"), "{failure}");
}
