//! What the demo's pages and the README say of the recorded lots is what comes out.

use std::collections::BTreeSet;
use std::path::Path;

use groundrule::finding::{Report, Verdict};
use groundrule::judge;
use groundrule::library::{Opened, embedded, open};
use groundrule::record;
use groundrule::report::terminal::{self, Style};
use groundrule::source::Sources;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// How many records the demo holds.
fn lots_of_the_demo() -> usize {
    std::fs::read_dir(root().join("demo"))
        .expect("the demo")
        .map(|place| place.expect("an entry").path())
        .flat_map(|place| std::fs::read_dir(place).expect("a folder of lots"))
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "yaml"))
        .count()
}

/// Judges a lot of the demo; gives its text as well.
fn judged(opened: &Opened, name: &str) -> (Report, String) {
    let text = std::fs::read_to_string(root().join(name)).expect("a lot of the demo");
    let mut sources = Sources::default();
    let id = sources.add(name, text.as_str());
    let vocabulary = &opened.library.vocabulary;
    let mut record = record::read(vocabulary, &sources, id)
        .unwrap_or_else(|errors| panic!("{name}: {}", errors[0].error));
    if let Some(plan) = &record.head.plan {
        let beside = Path::new(name).with_file_name(&plan.file.value);
        let text = std::fs::read_to_string(root().join(&beside)).expect("a plan beside the lot");
        let plan = sources.add(beside.display().to_string(), text);
        record = record::plan::attach(vocabulary, record, &sources, plan)
            .unwrap_or_else(|errors| panic!("{name}: {}", errors[0].error));
    }
    let judged = judge::report(opened.setting(), record, &sources, id)
        .unwrap_or_else(|errors| panic!("{name}: {}", errors[0].error));
    (judged.report, text)
}

#[test]
fn the_lots_have_the_exit_status_that_their_page_says() {
    let opened = open(&embedded()).expect("the library opens");
    let mut lots = 0;
    for place in ["velder_mills", "quern_landing", "hask_ferry"] {
        let page = root().join("demo").join(place).join("README.md");
        let page = std::fs::read_to_string(page).expect("a page");
        for row in page.lines().filter(|line| line.starts_with("| [")) {
            let name = row.split(['(', ')']).nth(1).expect("a file");
            let status: u8 = row
                .trim_end_matches(['|', ' '])
                .rsplit('|')
                .next()
                .and_then(|cell| cell.trim().parse().ok())
                .expect("a status");
            let (report, _) = judged(&opened, &format!("demo/{place}/{name}"));
            assert_eq!(report.exit_status, status, "{place}/{name}");
            lots += 1;
        }
    }
    assert_eq!(lots, lots_of_the_demo(), "every lot stands on a page");
    assert!(lots >= 22, "only {lots} lots");
}

#[test]
fn the_lots_show_every_verdict_every_layer_and_each_of_the_six_topics() {
    let opened = open(&embedded()).expect("the library opens");
    let (mut verdicts, mut layers, mut topics) =
        (BTreeSet::new(), BTreeSet::new(), BTreeSet::new());
    for lot in 1..=13 {
        let (report, _) = judged(&opened, &format!("demo/velder_mills/lot_{lot:02}.yaml"));
        for finding in report.findings.expect("findings") {
            let topic = finding.rule.split('.').next().expect("a topic");
            topics.insert(topic.to_owned());
            let applies = finding.verdict != Verdict::DoesNotApply;
            verdicts.insert(finding.verdict);
            for layer in finding.limits.iter().flat_map(|limit| &limit.way) {
                if applies {
                    layers.insert(layer.layer.clone());
                }
            }
            layers.extend(finding.place);
        }
    }
    assert_eq!(verdicts, Verdict::ALL.into_iter().collect());
    for layer in [
        "model",
        "aldmoor",
        "aldmoor/sarnfell",
        "aldmoor/sarnfell/velder_mills",
        "aldmoor/upper_quarn_sewer_district",
    ] {
        assert!(layers.contains(layer), "no finding tells of {layer}");
    }
    for topic in [
        "vents",
        "hazardous_location",
        "cable_burial",
        "lateral_burial",
        "sewer_fall_upc",
        "separation_ipc",
        "raceways",
    ] {
        assert!(topics.contains(topic), "no lot shows {topic}");
    }
}

/// Whether a record tells of more than one new station for one house, recorded in feet on easy ground.
fn is_no_plain_new_house(record: &serde_json::Value) -> bool {
    let site = &record["site"];
    let kind = site["work_kind"].as_str().unwrap_or("new_station");
    let dwellings = site["dwellings_served"].as_u64().unwrap_or(1);
    let level = record["tolerances"]["length"].as_str().unwrap_or("exact");
    let holes = record["excavations"].as_array();
    let rock = |hole: &serde_json::Value| hole["rock_met"] == true || hole["rock_met"] == "yes";
    let in_rock = holes.is_some_and(|all| all.iter().any(rock));
    kind != "new_station" || dwellings > 1 || level.ends_with(" mm") || in_rock
}

#[test]
fn half_of_the_lots_are_no_plain_new_houses_and_three_plans_have_runs() {
    let (mut lots, mut others, mut drawn) = (0, 0, 0);
    for place in std::fs::read_dir(root().join("demo")).expect("the demo") {
        let folder = place.expect("an entry").path();
        for entry in std::fs::read_dir(folder).expect("a folder of lots") {
            let path = entry.expect("an entry").path();
            let text = std::fs::read_to_string(&path).expect("a readable file");
            let ending = path.extension().and_then(|ending| ending.to_str());
            if ending == Some("geojson") && text.contains("LineString") {
                drawn += 1;
            } else if ending == Some("yaml") {
                let record = serde_yaml::from_str(&text).expect("well-formed YAML");
                lots += 1;
                others += usize::from(is_no_plain_new_house(&record));
            }
        }
    }
    assert!(others * 2 >= lots, "only {others} of {lots}");
    assert!(drawn >= 3, "only {drawn} plans have runs");
}

/// What a record says beneath its head's permits.
fn beneath_the_permits(name: &str) -> String {
    let text = std::fs::read_to_string(root().join(name)).expect("a lot of the demo");
    let (_, beneath) = text.split_once("\nrecorded:").expect("who recorded it");
    beneath.to_owned()
}

#[test]
fn the_twins_are_one_record_that_two_towns_judge_differently() {
    let (here, there) = (
        "demo/velder_mills/lot_16.yaml",
        "demo/hask_ferry/row_08.yaml",
    );
    assert_eq!(beneath_the_permits(here), beneath_the_permits(there));
    let opened = open(&embedded()).expect("the library opens");
    let verdicts = |name: &str| -> Vec<(String, Verdict)> {
        let (report, _) = judged(&opened, name);
        let findings = report.findings.expect("findings");
        let told = findings.into_iter().map(|f| (f.rule, f.verdict));
        told.filter(|(_, verdict)| *verdict != Verdict::DoesNotApply)
            .collect()
    };
    let (here, there) = (verdicts(here), verdicts(there));
    for (rule, in_the_mills, at_the_ferry) in [
        ("cable_burial.cover", Verdict::FallsShort, Verdict::Meets),
        ("lateral_burial.cover", Verdict::FallsShort, Verdict::Meets),
        (
            "lateral_burial.tracer_thick_enough",
            Verdict::FallsShort,
            Verdict::Meets,
        ),
        (
            "vents.away_from_openings",
            Verdict::Meets,
            Verdict::FallsShort,
        ),
    ] {
        assert!(here.contains(&(rule.to_owned(), in_the_mills)), "{rule}");
        assert!(there.contains(&(rule.to_owned(), at_the_ferry)), "{rule}");
    }
}

#[test]
fn the_finding_that_the_readme_shows_is_what_the_program_says() {
    let opened = open(&embedded()).expect("the library opens");
    let (report, text) = judged(&opened, "demo/velder_mills/lot_07.yaml");
    let style = Style {
        colour: false,
        width: 80,
    };
    let said = terminal::report(&report, &text, style);
    let readme = include_str!("../README.md");
    let (_, after) = readme.split_once("```text\n").expect("a finding");
    let (shown, _) = after.split_once("```").expect("its end");
    assert!(
        said.contains(shown.trim_end()),
        "the README shows\n{shown}\nthe program says\n{said}"
    );
    let (_, after) = readme.split_once("```\nrule cover").expect("a rule");
    let (rule, _) = after.split_once("```").expect("its end");
    let rules = include_str!("../rules/cable_burial.rules");
    assert!(
        rules.contains(rule.trim_end()),
        "the README's rule is not the library's"
    );
}
