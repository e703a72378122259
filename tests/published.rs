//! `publish`: the files that it writes, the page among them, and what `check` says of them.

mod small;

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use groundrule::forms::{Published, published};
use groundrule::library::Opened;
use groundrule::quantity::date;
use groundrule::report::ruleset_page::{Edition, SignerLine, SupersededLine, page};

const TOWN: &str = "aldmoor/sarnfell/velder_mills";
const LOT: &str = "demo/velder_mills/lot_07.yaml";

fn groundrule(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_groundrule"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args(arguments)
        .output()
        .expect("the program runs")
}

/// What is said, as one line.
fn in_a_line(output: &Output) -> String {
    said(output)
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

fn said(output: &Output) -> String {
    let out = String::from_utf8_lossy(&output.stdout);
    format!("{out}{}", String::from_utf8_lossy(&output.stderr))
}

/// A folder for what is published.
struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Self {
        Folder(tempfile::tempdir().expect("a folder"))
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn named(&self, name: &str) -> String {
        self.path(name).to_string_lossy().into_owned()
    }

    fn text(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).expect(name)
    }

    fn change(&self, name: &str, from: &str, to: &str) {
        let text = self.text(name);
        assert!(text.contains(from), "{name} holds {from}");
        std::fs::write(self.path(name), text.replace(from, to)).expect(name);
    }

    fn names(&self) -> Vec<String> {
        names(self.0.path())
    }

    fn publish(&self, more: &[&str]) -> Output {
        let to = self.named("");
        let mut arguments = vec!["publish", TOWN, "--to", &to, "--on", "2026-11-26"];
        arguments.extend(more);
        groundrule(&arguments)
    }

    fn signed() -> Self {
        let folder = Folder::new();
        let output = folder.publish(&["--key", "tests/ruleset/clerk_ed25519"]);
        assert!(output.status.success(), "{}", said(&output));
        folder
    }

    fn check(&self, more: &[&str]) -> Output {
        let library = self.named("ruleset");
        let mut arguments = vec!["check", LOT, "--library", &library, "--place", TOWN];
        arguments.extend(more);
        groundrule(&arguments)
    }
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .expect("a folder")
        .map(|entry| {
            entry
                .expect("an entry")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    names.sort();
    names
}

#[test]
fn publishing_twice_gives_the_same_bytes() {
    let (one, other) = (Folder::signed(), Folder::signed());
    assert_eq!(
        one.names(),
        [
            "digests.txt",
            "index.html",
            "ruleset",
            "ruleset.sig",
            "signers"
        ]
    );
    for name in one.names() {
        assert_eq!(one.text(&name), other.text(&name), "{name}");
    }
    let again = one.publish(&["--key", "tests/ruleset/clerk_ed25519"]);
    assert!(again.status.success(), "{}", said(&again));
    assert_eq!(one.text("digests.txt"), other.text("digests.txt"));
    // The date selects what the page shows, and nothing else.
    let later = Folder::new();
    let to = later.named("");
    groundrule(&["publish", TOWN, "--to", &to, "--on", "2029-01-01"]);
    assert_eq!(later.text("ruleset"), one.text("ruleset"));
    assert_ne!(later.text("index.html"), one.text("index.html"));
}

#[test]
fn the_digests_are_those_of_the_files() {
    use sha2::Digest;
    let folder = Folder::signed();
    let digests = folder.text("digests.txt");
    let mut told = Vec::new();
    for line in digests.lines().filter(|line| !line.starts_with('#')) {
        let (digest, name) = line.split_once("  ").expect("a digest and a name");
        let bytes = std::fs::read(folder.path(name)).expect(name);
        let reckoned: String = sha2::Sha256::digest(bytes)
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect();
        assert_eq!(digest, reckoned, "{name}");
        told.push(name.to_owned());
    }
    let all: Vec<String> = folder
        .names()
        .into_iter()
        .filter(|name| name != "digests.txt")
        .collect();
    assert_eq!(told, all);
}

#[test]
fn a_record_is_judged_by_the_published_file_as_by_the_library() {
    let judged = |arguments: &[&str]| -> serde_json::Value {
        let output = groundrule(arguments);
        serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{}", said(&output)))
    };
    let folder = Folder::signed();
    let library = folder.named("ruleset");
    let common = ["check", LOT, "--place", TOWN, "--as", "json"];
    let inside = judged(&common);
    let published = judged(&[&common[..], &["--library", &library]].concat());
    assert!(
        inside["findings"]
            .as_array()
            .is_some_and(|found| found.len() > 50)
    );
    assert_eq!(inside["findings"], published["findings"]);
    assert_eq!(
        published["ruleset_signed_by"]["principal"],
        "clerk@velder-mills.example"
    );
    assert_eq!(published["ruleset_signed_by"]["signers"], "program");
    assert_eq!(published["notices"], serde_json::json!([]));
    assert!(inside.get("ruleset_signed_by").is_none());
}

#[test]
fn every_command_that_takes_a_ruleset_says_who_signed_it() {
    let folder = Folder::signed();
    let library = folder.named("ruleset");
    let commands: [&[&str]; 6] = [
        &["check", LOT, "--place", TOWN],
        &["why", LOT, "cable_burial.cover", "--place", TOWN],
        &[
            "why",
            LOT,
            "cable_burial.cover",
            "--place",
            TOWN,
            "--as",
            "json",
        ],
        &["rules", TOWN],
        &["rules", TOWN, "--as", "json"],
        &["sources"],
    ];
    for command in commands {
        let told = in_a_line(&groundrule(&[command, &["--library", &library]].concat()));
        assert!(
            told.contains("Ruleset signed by clerk@velder-mills.example"),
            "{command:?}: {told}"
        );
    }
}

#[test]
fn a_ruleset_that_was_changed_is_refused() {
    let folder = Folder::signed();
    folder.change("ruleset", "24 in becomes 30 in", "24 in becomes 12 in");
    let output = folder.check(&[]);
    assert_eq!(output.status.code(), Some(2));
    assert!(output.stdout.is_empty());
    assert!(
        said(&output).contains("signature::wrong"),
        "{}",
        said(&output)
    );
}

#[test]
fn a_signature_that_cannot_be_read_is_refused_and_never_passed_over() {
    let folder = Folder::signed();
    std::fs::write(folder.path("ruleset.sig"), "signed, the clerk").expect("a file");
    assert_eq!(folder.check(&[]).status.code(), Some(2));
    std::fs::write(folder.path("ruleset.sig"), [0xFF_u8, 0xFE]).expect("a file");
    assert_eq!(folder.check(&[]).status.code(), Some(2));
    std::fs::remove_file(folder.path("ruleset.sig")).expect("a file");
    std::fs::create_dir(folder.path("ruleset.sig")).expect("a folder");
    assert_eq!(folder.check(&[]).status.code(), Some(2));
}

#[test]
fn an_unsigned_ruleset_is_taken_and_said_to_be_unsigned_with_its_digest() {
    let folder = Folder::new();
    assert!(folder.publish(&[]).status.success());
    let told = said(&folder.check(&[]));
    let digests = folder.text("digests.txt");
    let digest = digests
        .lines()
        .next()
        .and_then(|line| line.strip_prefix("# groundrule ruleset "))
        .expect("the ruleset's digest");
    let told: String = told.split_whitespace().collect();
    assert!(
        told.contains("isunsigned,thoughaldmoor/sarnfell/velder_millshaskeystosignwith"),
        "{told}"
    );
    assert!(told.contains(digest), "{told}");
}

#[test]
fn signers_that_are_named_count_before_the_programs_own() {
    let folder = Folder::signed();
    let given = folder.check(&["--signers", "tests/ruleset/signers"]);
    let told = in_a_line(&given);
    assert!(told.contains("signers named on the command line"), "{told}");
    let nobody = folder.named("nobody");
    std::fs::write(&nobody, "# nobody\n").expect("a file");
    let refused = folder.check(&["--signers", &nobody]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(said(&refused).contains("signature::unknown_key"));
    std::fs::remove_file(folder.path("ruleset.sig")).expect("a file");
    let lacking = folder.check(&["--signers", "tests/ruleset/signers"]);
    assert_eq!(lacking.status.code(), Some(2), "{}", said(&lacking));
}

#[test]
fn a_key_that_is_no_longer_valid_is_refused() {
    let folder = Folder::signed();
    for (date, status) in [("2024-12-31", 2), ("2026-11-26", 1), ("2035-01-01", 2)] {
        let output = folder.check(&["--valid-on", date]);
        assert_eq!(
            output.status.code(),
            Some(status),
            "{date}: {}",
            said(&output)
        );
    }
}

/// The shipped library in a folder, where its files can be changed.
fn library(folder: &Folder) -> String {
    let library = folder.named("library");
    for (name, text) in groundrule::library::embedded().0 {
        let file = Path::new(&library).join(name);
        std::fs::create_dir_all(file.parent().expect("a folder")).expect("a folder");
        std::fs::write(file, text).expect("a file");
    }
    library
}

#[test]
fn a_list_that_came_with_the_ruleset_is_said_to_prove_nothing_yet() {
    let (work, folder) = (Folder::new(), Folder::new());
    let library = library(&work);
    let places = Path::new(&library).join("jurisdictions");
    let ours = places.join("elsewhere");
    std::fs::create_dir(&ours).expect("a folder");
    std::fs::copy("tests/ruleset/signers", ours.join("signers")).expect("a file");
    let place = "place \"Elsewhere (invented)\" {\n  authority any \"Clerk (invented)\" \"Town hall\"\n}\n\nadopt vents from 2020-01-01 cite common_practice \"x\" because \"y\"\n";
    std::fs::write(ours.join("place.rules"), place).expect("a file");
    let to = folder.named("");
    let output = groundrule(&[
        "publish",
        "elsewhere",
        "--to",
        &to,
        "--library",
        &library,
        "--key",
        "tests/ruleset/clerk_ecdsa",
    ]);
    assert!(output.status.success(), "{}", said(&output));
    let told = in_a_line(&groundrule(&[
        "rules",
        "elsewhere",
        "--library",
        &folder.named("ruleset"),
    ]));
    assert!(told.contains("the list of signers came with the ruleset itself, so that the signature proves nothing yet"), "{told}");
}

#[test]
fn a_superseded_edition_says_by_what() {
    let (work, folder) = (Folder::new(), Folder::new());
    let library = library(&work);
    let publish = |to: &Folder| {
        let to = to.named("");
        let output = groundrule(&["publish", TOWN, "--to", &to, "--library", &library]);
        assert!(output.status.success(), "{}", said(&output));
    };
    publish(&folder);
    let first = folder.text("digests.txt")[21..85].to_owned();
    let edition =
        format!("edition {first} until 2027-01-01 by \"the edition of January 2027 (invented)\"\n");
    std::fs::write(
        Path::new(&library)
            .join("jurisdictions")
            .join(TOWN)
            .join("editions"),
        edition,
    )
    .expect("a file");
    publish(&folder);
    // The rules are the same, so that the list names the edition it came with.
    assert_eq!(folder.text("digests.txt")[21..85], first);
    assert!(
        folder
            .text("index.html")
            .contains("by the edition of January 2027 (invented)")
    );
    let told = in_a_line(&folder.check(&[]));
    assert!(
        told.contains("is superseded from 2027-01-01 by the edition of January 2027 (invented)"),
        "{told}"
    );
}

#[test]
fn nothing_is_written_if_something_is_wrong() {
    let calls: [&[&str]; 6] = [
        &["--key", "tests/ruleset/stranger"],
        &["--key", "tests/ruleset/clerk_locked"],
        &["--key", "tests/ruleset/signers"],
        &["--key", "tests/ruleset/none"],
        &["--library", "docs"],
        &["--on", "someday"],
    ];
    for call in calls {
        let folder = Folder::new();
        let output = folder.publish(call);
        assert_eq!(output.status.code(), Some(2), "{call:?}: {}", said(&output));
        assert_eq!(folder.names(), Vec::<String>::new(), "{call:?}");
    }
}

#[test]
fn a_place_with_a_statement_that_does_not_hold_is_not_published() {
    let (work, folder) = (Folder::new(), Folder::new());
    let library = library(&work);
    let file = Path::new(&library)
        .join("jurisdictions")
        .join(TOWN)
        .join("place.rules");
    let text = std::fs::read_to_string(&file).expect("the place");
    let stale = text.replace(": 24 in becomes 30 in", ": 23 in becomes 30 in");
    assert_ne!(stale, text);
    std::fs::write(&file, stale).expect("a file");
    let output = folder.publish(&["--library", &library]);
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("is stale"), "{}", said(&output));
    assert_eq!(folder.names(), Vec::<String>::new());
}

#[test]
fn what_others_put_into_the_folder_is_not_written_over() {
    for name in ["index.html", "ruleset", "digests.txt", "signers"] {
        let folder = Folder::new();
        std::fs::write(folder.path(name), "<h1>Our town</h1>").expect("a file");
        let output = folder.publish(&[]);
        assert_eq!(output.status.code(), Some(2), "{name}: {}", said(&output));
        assert_eq!(folder.text(name), "<h1>Our town</h1>");
        assert_eq!(folder.names(), [name]);
    }
}

#[test]
fn an_earlier_list_of_signers_does_not_stay_beside_a_place_that_lists_none() {
    let (work, folder) = (Folder::new(), Folder::signed());
    let library = library(&work);
    let list = Path::new(&library)
        .join("jurisdictions")
        .join(TOWN)
        .join("signers");
    std::fs::remove_file(list).expect("a file");
    let before = folder.text("index.html");
    let output = folder.publish(&["--library", &library]);
    assert_eq!(output.status.code(), Some(2), "{}", said(&output));
    assert!(
        said(&output).contains("lists no signers"),
        "{}",
        said(&output)
    );
    assert_eq!(folder.text("index.html"), before);
}

#[test]
fn a_signature_of_an_earlier_edition_does_not_stay_beside_a_later_one() {
    let folder = Folder::signed();
    // The same ruleset: the signature still fits, and is kept.
    let again = folder.publish(&[]);
    assert!(
        said(&again).contains("signed by clerk@velder-mills.example"),
        "{}",
        said(&again)
    );
    let work = Folder::new();
    let library = library(&work);
    let file = Path::new(&library).join("rules/vents.rules");
    let text = std::fs::read_to_string(&file).expect("a topic");
    std::fs::write(&file, format!("{text}\n# another edition\n")).expect("a file");
    let before = folder.text("ruleset");
    let output = folder.publish(&["--library", &library]);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        said(&output).contains("of an earlier edition"),
        "{}",
        said(&output)
    );
    assert_eq!(folder.text("ruleset"), before);
}

// The page.

fn shown(files: &[(&str, &str)], place: &str, edition: &Edition) -> String {
    let opened = small::opened(files);
    page(&told(&opened, place), edition)
}

fn told(opened: &Opened, place: &str) -> Published {
    let id = opened.library.place_named(place).expect("a place");
    let on = date::parse("2026-11-26").expect("a date");
    published(opened, id, on).expect("one place claims what it has")
}

const HOSTILE: &str = "<script>alert(1)</script><img src=x onerror=alert(2)>&quot;'";

#[test]
fn no_text_of_a_ruleset_becomes_markup() {
    let topic = format!(
        "topic t \"T {HOSTILE}\" permit plumbing\n\nlimit deep : length set by the place \"M {HOSTILE}\" cite code \"S {HOSTILE}\"\n\nrule r {{\n  title \"R {HOSTILE}\"\n  each well in wells\n  shall well.depth is at least deep\n  cite code \"C {HOSTILE}\"\n  hold hand_over\n  remedy \"N {HOSTILE}\"\n  hazard shock\n}}\n"
    );
    let town = format!(
        "place \"P {HOSTILE}\" {{\n  authority any \"A {HOSTILE}\" \"B {HOSTILE}\"\n}}\n\nadopt t from 2000-01-01 cite law \"1 {HOSTILE}\" because \"Y {HOSTILE}\"\nset t.deep = 9 ft from 2028-01-01 cite law \"1 {HOSTILE}\" because \"Z {HOSTILE}\"\n"
    );
    let line = SignerLine {
        principal: format!("{HOSTILE} \u{202E}"),
        key: HOSTILE.to_owned(),
        period: HOSTILE.to_owned(),
    };
    let edition = Edition {
        signed: Some(line.clone()),
        signers: vec![line],
        superseded: vec![SupersededLine {
            digest: HOSTILE.to_owned(),
            until: HOSTILE.to_owned(),
            by: HOSTILE.to_owned(),
        }],
    };
    let page = shown(
        &[("rules/t", &topic), ("jurisdictions/zz/place", &town)],
        "zz",
        &edition,
    );
    assert_eq!(page.matches("<script>").count(), 1, "our own");
    assert!(!page.contains("<img"));
    assert!(!page.contains('\u{202E}'));
    let hidden = page
        .matches("&lt;script&gt;alert(1)&lt;/script&gt;")
        .count();
    assert!(hidden >= 20, "every text is shown: {hidden}");
    assert!(page.contains("T &lt;script&gt;") && page.contains("N &lt;script&gt;"));
}

#[test]
fn the_page_loads_nothing_and_runs_its_own_script_alone() {
    use base64ct::{Base64, Encoding};
    use sha2::Digest;
    let folder = Folder::signed();
    let page = folder.text("index.html");
    for outside in [
        "http://", "https://", "src=", "@import", "url(", "<link", "<iframe", "<object", "<form",
        " style=", " onclick",
    ] {
        assert!(!page.contains(outside), "{outside}");
    }
    let between = |from: &str, to: &str| {
        let (_, rest) = page.split_once(from).expect(from);
        rest.split_once(to).expect(to).0
    };
    let policy = between("http-equiv=\"Content-Security-Policy\" content=\"", "\"");
    assert!(policy.starts_with("default-src 'none';"), "{policy}");
    for (part, kind) in [
        (between("<style>", "</style>"), "style"),
        (between("<script>", "</script>"), "script"),
    ] {
        let digest = Base64::encode_string(&sha2::Sha256::digest(part));
        assert!(
            policy.contains(&format!("{kind}-src 'sha256-{digest}'")),
            "{kind}: {policy}"
        );
    }
}

#[test]
fn every_rule_in_force_is_on_the_page_with_what_belongs_to_it() {
    let folder = Folder::signed();
    let page = folder.text("index.html");
    let output = groundrule(&["rules", TOWN, "--on", "2026-11-26", "--as", "json"]);
    let listed: serde_json::Value = serde_json::from_slice(&output.stdout).expect("a listing");
    let escape = |text: &str| {
        text.replace('&', "&amp;")
            .replace('<', "&lt;")
            .replace('>', "&gt;")
            .replace('"', "&quot;")
    };
    let mut count = 0;
    for topic in listed.as_array().expect("topics") {
        for rule in topic["rules"].as_array().expect("rules") {
            let id = rule["rule"].as_str().expect("an id");
            let (_, rest) = page
                .split_once(&format!("<article id=\"r-{id}\">"))
                .unwrap_or_else(|| panic!("{id} has an anchor"));
            let article = rest.split_once("</article>").expect("an end").0;
            let title = rule["title"].as_str().expect("a title");
            assert!(article.contains(&escape(title)), "{id}: {title}");
            for clause in rule["clauses"].as_array().expect("clauses") {
                let section = clause["section"].as_str().expect("a section");
                assert!(article.contains(&escape(section)), "{id}: {section}");
                let mark = match clause["standing"].as_str() {
                    Some("practice") => "common practice",
                    Some("memory") => "from memory",
                    _ => "",
                };
                assert!(article.contains(mark), "{id}: {mark}");
            }
            for limit in rule["limits"].as_array().expect("limits") {
                for layer in limit["way"].as_array().expect("a way") {
                    for key in ["layer", "value", "clause"] {
                        let text = layer[key].as_str().expect("a text");
                        assert!(article.contains(&escape(text)), "{id}: {text}");
                    }
                }
            }
            assert!(article.contains("Verify with local authority: "), "{id}");
            assert!(article.contains("Remedy"), "{id}");
            count += 1;
        }
    }
    assert!(count > 70, "{count} rules");
    assert_eq!(
        page.matches("<article id=").count(),
        count,
        "and no others, but those to come"
    );
}

#[test]
fn every_link_within_the_page_leads_somewhere() {
    let folder = Folder::signed();
    let page = folder.text("index.html");
    let mut count = 0;
    for rest in page.split("href=\"#").skip(1) {
        let anchor = rest.split('"').next().expect("an end");
        assert_eq!(
            page.matches(&format!("id=\"{anchor}\"")).count(),
            1,
            "{anchor}"
        );
        count += 1;
    }
    assert!(count > 100, "{count} links");
}

#[test]
fn the_page_tells_what_is_open_and_what_is_to_come() {
    let folder = Folder::signed();
    let page = folder.text("index.html");
    let (_, open) = page.split_once("id=\"open\"").expect("what is open");
    assert!(open.contains("<code>hazardous_location.from_fuel</code>"));
    let (_, coming) = page.split_once("id=\"to-come\"").expect("what is to come");
    let coming = coming.split_once("</section>").expect("an end").0;
    assert!(coming.contains("2027-01-01") && coming.contains("12 ft → <strong>10 ft</strong>"));
    assert!(coming.contains("2028-01-01") && coming.contains("cover_by_wiring(pvc_40, yard)"));
}

#[test]
fn a_rule_that_comes_later_is_told_whole_under_its_date() {
    let topic = "topic t \"T\" permit plumbing\n\nrule r {\n  title \"Now and then\"\n  each well in wells\n  shall record well.depth\n  cite code \"1\"\n  hold hand_over\n  remedy \"Sound it.\"\n}\n";
    let town = "place \"P (invented)\" {\n  authority any \"A\" \"b\"\n}\n\nadopt t from 2000-01-01 cite law \"1\" because \"y\"\nstrike rule t.r from 2027-01-01 cite law \"2\" because \"z\"\nadd rule s in t from 2027-01-01 cite law \"3\" because \"w\"\n{\n  title \"Only then\"\n  each well in wells\n  shall record well.owner\n  cite law \"3\"\n  hold hand_over\n  remedy \"Ask.\"\n}\n";
    let page = shown(
        &[("rules/t", topic), ("jurisdictions/zz/place", town)],
        "zz",
        &Edition::default(),
    );
    let (_, coming) = page.split_once("id=\"to-come\"").expect("what is to come");
    let (coming, rest) = coming.split_once("</section>").expect("an end");
    assert!(
        coming.contains("Only then") && coming.contains("No longer in force: <code>t.r</code>")
    );
    assert!(rest.contains("Now and then") && !rest.contains("Only then"));
}
