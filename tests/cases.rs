//! Every topic's and place's cases, run as everybody runs them.

use groundrule::library::{embedded, open};
use groundrule::prove::{Scope, lacking, run_cases};
use groundrule::report::mistakes;
use groundrule::source::Sources;

#[test]
fn every_case_comes_out_as_its_author_expects() {
    let opened = open(&embedded()).unwrap_or_else(|problems| {
        panic!(
            "{}",
            mistakes::render(&problems.sources, problems.problems, false, 80)
        )
    });
    let texts = embedded();
    assert!(texts.cases().count() >= 40, "topics and places have cases");
    let mut wrong = String::new();
    let mut expectations = 0;
    for (name, text) in texts.cases() {
        let mut sources = Sources::default();
        let id = sources.add(name, text);
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
fn every_rule_has_cases_that_meet_fall_short_and_do_not_apply() {
    let opened = open(&embedded()).expect("the library was opened by the other test");
    let mut outcomes = Vec::new();
    for (name, text) in embedded().cases() {
        let mut sources = Sources::default();
        let id = sources.add(name, text);
        outcomes.extend(run_cases(&opened, &sources, id).expect("cases that read"));
    }
    assert!(outcomes.len() > 600, "the cases come with the library");
    let lacking = lacking(&opened.library, &opened.sources, Scope::Whole, &outcomes);
    assert!(lacking.is_empty(), "{lacking:#?}");
}
