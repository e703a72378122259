//! Every topic's and place's cases, run as everybody runs them.

use std::path::{Path, PathBuf};

use groundrule::library::{embedded, open};
use groundrule::prove::run_cases;
use groundrule::report::mistakes;
use groundrule::source::Sources;

fn case_files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("a folder of the library") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            case_files(&path, found);
        } else if path.to_string_lossy().ends_with(".cases.yaml") {
            found.push(path);
        }
    }
}

#[test]
fn every_case_comes_out_as_its_author_expects() {
    let opened = open(&embedded()).unwrap_or_else(|problems| {
        panic!(
            "{}",
            mistakes::render(&problems.sources, problems.problems, false, 80)
        )
    });
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Vec::new();
    case_files(&root.join("rules"), &mut files);
    case_files(&root.join("jurisdictions"), &mut files);
    files.sort();
    assert!(files.len() >= 6, "the six topics of the card have cases");
    let mut wrong = String::new();
    let mut expectations = 0;
    for file in files {
        let mut sources = Sources::default();
        let name = file
            .strip_prefix(root)
            .expect("inside")
            .display()
            .to_string();
        let text = std::fs::read_to_string(&file).expect("a readable file");
        let id = sources.add(name.as_str(), text);
        match run_cases(&opened, &sources, id) {
            Err(problems) => {
                wrong.push_str(&mistakes::render(&sources, problems, false, 80));
            }
            Ok(outcomes) => {
                assert!(!outcomes.is_empty(), "{name} expects nothing");
                expectations += outcomes.len();
                for outcome in outcomes.iter().filter(|outcome| !outcome.holds()) {
                    let at = sources.position(outcome.span);
                    wrong.push_str(&format!(
                        "{name}:{} {}\n  {}: expected {:?}, found {:?}\n",
                        at.line, outcome.case, outcome.rule, outcome.expected, outcome.found
                    ));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    assert!(expectations > 600, "only {expectations} expectations");
}

/// The rules that no case speaks of, or whose cases don't show what their form can.
#[test]
fn every_model_rule_has_cases_that_meet_fall_short_and_do_not_apply() {
    use groundrule::check::typed::Obligation;
    use groundrule::finding::Verdict;
    use std::collections::{BTreeMap, BTreeSet};

    let opened = open(&embedded()).expect("the library was opened by the other test");
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Vec::new();
    case_files(&root.join("rules"), &mut files);
    let mut shown: BTreeMap<String, BTreeSet<Verdict>> = BTreeMap::new();
    for file in files {
        let mut sources = Sources::default();
        let text = std::fs::read_to_string(&file).expect("a readable file");
        let id = sources.add(file.display().to_string(), text);
        for outcome in run_cases(&opened, &sources, id).expect("cases that read") {
            shown.entry(outcome.rule).or_default().extend(outcome.found);
        }
    }
    let mut lacking = Vec::new();
    for rule in &opened.library.rules {
        if opened.library.topics[rule.topic.index()].home.is_some() || rule.id.contains('@') {
            continue;
        }
        let wanted: &[Verdict] = match rule.obligation {
            Obligation::Shall(_) | Obligation::Should(_) => {
                &[Verdict::Meets, Verdict::FallsShort, Verdict::DoesNotApply]
            }
            Obligation::Precaution(_) => {
                &[Verdict::Refer, Verdict::FallsShort, Verdict::DoesNotApply]
            }
            Obligation::Record(_) => &[Verdict::Meets, Verdict::NotRecorded],
            Obligation::Refer(_) => &[Verdict::Refer],
        };
        let none = BTreeSet::new();
        let has = shown.get(&rule.id).unwrap_or(&none);
        // A rule on the lot itself, without `each` and `when`, always applies.
        let can_be =
            |verdict: &&Verdict| **verdict != Verdict::DoesNotApply || !rule.head.is_empty();
        let lacks = |verdict: &&Verdict| !has.contains(verdict);
        for verdict in wanted.iter().filter(can_be).filter(lacks) {
            lacking.push(format!("{} has no case for {}", rule.id, verdict.name()));
        }
    }
    assert!(lacking.is_empty(), "{}", lacking.join("\n"));
}
