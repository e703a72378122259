//! A ruleset proved: what its cases notice, what is suggested where they don't, what its places
//! change.
//!
//! The small library of these tests is invented.

#[path = "small/mod.rs"]
mod small;

use groundrule::library::{self, Opened, Texts};
use groundrule::prove::{Force, Outlook, Proof, Scope, Unproved, Way, prove};
use groundrule::quantity::{Rational, date};
use groundrule::report::{self, terminal::Style};
use small::{opened, texts};

/// A cable's cover, by where it lies, and a fall with two published equivalents.
const RULES: &str = r#"
topic burial "Burial" permit electrical

limit least_cover : length = 24 in   "least cover in a yard"   cite code "1"
limit in_driveway : length = 18 in   "least cover in a driveway"   cite code "2"
limit deep : length set by the place   "how deep is deep"   cite code "3"

rule cover {
  title   "Each stretch in a yard has its cover"
  each    cable in cables
  each    span in cable.spans
  when    span.location is yard
  shall   span.cover is at least least_cover
  cite    code "1"
  hold    before_cover
  remedy  "Lower it."
}

rule driveway {
  title   "Each stretch in a driveway has its cover"
  each    cable in cables
  each    span in cable.spans
  when    span.location is driveway
  shall   span.cover is at least in_driveway
  cite    code "2"
  hold    before_cover
  remedy  "Lower it."
}

rule not_too_deep {
  title   "No stretch is deep"
  each    cable in cables
  each    span in cable.spans
  should  span.cover is less than deep
  cite    code "3"
  hold    before_cover
  remedy  "Ask."
}
"#;

const HEAD: &str = "
head:
  record: 1
  lot: CASE
  permits:
    electrical: { number: E-1, issued: 2026-03-19 }
    plumbing: { number: P-1, issued: 2026-03-19 }
  recorded: { by: A. Case, role: crew_lead, date: 2026-04-18 }
  stage: hand_over
  tolerances: exact
cases:
";

/// Cases that stand at every edge.
const CASES: &str = "  - case: 24 in in a yard meets
    record: { cables: [ { id: C, length: 40 ft, spans: [ { from: 0 ft, to: 40 ft, location: yard, cover: 24 in } ] } ] }
    expect: { cover: meets, driveway: does_not_apply }
  - case: just under 24 in in a yard falls short
    record: { cables: [ { id: C, length: 40 ft, spans: [ { from: 0 ft, to: 40 ft, location: yard, cover: 23.9 in } ] } ] }
    expect: { cover: falls_short }
  - case: 18 in in a driveway meets
    record: { cables: [ { id: C, length: 40 ft, spans: [ { from: 0 ft, to: 40 ft, location: driveway, cover: 18 in } ] } ] }
    expect: { driveway: meets, cover: does_not_apply }
  - case: just under 18 in in a driveway falls short
    record: { cables: [ { id: C, length: 40 ft, spans: [ { from: 0 ft, to: 40 ft, location: driveway, cover: 17.9 in } ] } ] }
    expect: { driveway: falls_short }
  - case: a rising stretch needs neither
    record: { cables: [ { id: C, length: 40 ft, spans: [ { from: 0 ft, to: 40 ft, location: rising, cover: 1 in } ] } ] }
    expect: { cover: does_not_apply, driveway: does_not_apply }
  - case: less than what is deep meets
    set: { burial.deep: 60 in }
    record: { cables: [ { id: C, length: 40 ft, spans: [ { from: 0 ft, to: 40 ft, location: rising, cover: 59.9 in } ] } ] }
    expect: { not_too_deep: meets }
  - case: exactly what is deep falls short
    set: { burial.deep: 60 in }
    record: { cables: [ { id: C, length: 40 ft, spans: [ { from: 0 ft, to: 40 ft, location: rising, cover: 60 in } ] } ] }
    expect: { not_too_deep: falls_short }
  - case: without cables nothing is too deep
    record: { cables: none }
    expect: { not_too_deep: does_not_apply }
";

fn on() -> Rational {
    date::parse("2026-11-26").expect("a date")
}

/// A library of some rule files and files of cases, each by its name without its ending.
fn with_cases(rules: &[(&str, &str)], cases: &[(&str, &str)]) -> (Opened, Texts) {
    let opened = opened(rules);
    let mut texts = texts(rules);
    for (name, text) in cases {
        let name = format!("{name}.cases.yaml");
        texts.0.insert(name, (*text).to_owned());
    }
    (opened, texts)
}

fn proof_of((opened, texts): &(Opened, Texts), scope: Scope) -> Proof {
    match prove(opened, texts, scope, on(), &|_| {}) {
        Ok(proof) => proof,
        Err(problems) => panic!("{:?}", problems.problems),
    }
}

/// What the small topic's cases notice.
fn proof_with(cases: &str) -> Proof {
    let file = format!("topic: burial{HEAD}{cases}");
    let library = with_cases(&[("rules/burial", RULES)], &[("rules/burial", &file)]);
    proof_of(&library, Scope::Whole)
}

/// The cases without one of them.
fn without(case: &str) -> String {
    let at = CASES.find(case).expect("a case of that name");
    let from = CASES[..at].rfind("  - case").expect("its beginning");
    let until = CASES[at..]
        .find("\n  - case")
        .map_or(CASES.len(), |more| at + more + 1);
    format!("{}{}", &CASES[..from], &CASES[until..])
}

fn changes_of<'a>(proof: &'a Proof, what: &str) -> Vec<&'a Unproved> {
    proof
        .changes
        .unproved
        .iter()
        .filter(|unproved| unproved.what == what)
        .collect()
}

#[test]
fn rules_with_cases_at_every_edge_are_proved() {
    let proof = proof_with(CASES);
    assert!(proof.proved, "{proof:#?}");
    assert_eq!(proof.changes.noticed, proof.changes.tried);
    assert_eq!(proof.cases.run, 8);
}

#[test]
fn each_limit_stands_once_in_each_direction_among_the_changes() {
    // Two limits with a value, up and down; three comparisons; two labels, each with the label
    // after it.
    let proof = proof_with(CASES);
    assert_eq!(proof.changes.tried, 2 * 2 + 3 + 2);
    let nothing_proves =
        proof_with("  - case: nothing\n    record: { cables: none }\n    expect: {}\n");
    let mut seen: Vec<(String, String)> = nothing_proves
        .changes
        .unproved
        .iter()
        .map(|unproved| {
            (
                unproved.at.to_string() + &unproved.what,
                unproved.tried.clone(),
            )
        })
        .collect();
    assert_eq!(seen.len(), proof.changes.tried);
    seen.sort();
    seen.dedup();
    assert_eq!(seen.len(), proof.changes.tried, "none stands twice");
}

#[test]
fn a_limit_without_a_case_at_its_edge_is_found_and_the_suggested_case_pasted_mends_it() {
    for (case, what) in [
        ("24 in in a yard meets", "limit burial.least_cover"),
        ("just under 24 in in a yard", "limit burial.least_cover"),
        ("18 in in a driveway meets", "comparison in burial.driveway"),
        ("exactly what is deep", "comparison in burial.not_too_deep"),
    ] {
        let mut cases = without(case);
        // Something else still shows each verdict.
        cases.push_str(
            "  - case: well over and well under
    set: { burial.deep: 60 in }
    record: { cables: [ { id: C, length: 40 ft, spans: [ { from: 0 ft, to: 10 ft, location: yard, cover: 30 in }, { from: 10 ft, to: 20 ft, location: yard, cover: 10 in }, { from: 20 ft, to: 30 ft, location: driveway, cover: 30 in }, { from: 30 ft, to: 40 ft, location: driveway, cover: 70 in } ] } ] }
    expect: { cover: [ meets, falls_short, does_not_apply, does_not_apply ], driveway: [ does_not_apply, does_not_apply, meets, meets ], not_too_deep: [ meets, meets, meets, falls_short ] }
",
        );
        let proof = proof_with(&cases);
        assert!(!proof.proved, "{case} is missed");
        assert!(proof.cases.wrong.is_empty(), "{case}: {:#?}", proof.cases);
        let unproved = changes_of(&proof, what);
        assert!(!unproved.is_empty(), "{case}: {:#?}", proof.changes);
        assert!(
            unproved
                .iter()
                .all(|unproved| unproved.suggestion.is_some())
        );

        for suggestion in &proof.changes.suggestions {
            assert_eq!(suggestion.file, "rules/burial.cases.yaml");
            cases.push_str(&suggestion.yaml);
        }
        let mended = proof_with(&cases);
        assert!(mended.proved, "{case}: {mended:#?}");
    }
}

#[test]
fn a_suggested_case_reads_the_limit_in_its_own_unit() {
    let proof = proof_with(&without("24 in in a yard meets"));
    let suggestion = &proof.changes.suggestions[0].yaml;
    assert!(suggestion.contains("cover: 24 in "), "{suggestion}");
    assert!(
        suggestion.contains("expect: { cover: meets }"),
        "{suggestion}"
    );
}

#[test]
fn a_rule_of_which_no_case_speaks_is_told_to_need_a_first_one() {
    let proof = proof_with(
        "  - case: nothing\n    record: { cables: none }\n    expect: { cover: does_not_apply }\n",
    );
    let unproved = changes_of(&proof, "limit burial.in_driveway");
    assert_eq!(unproved.len(), 2);
    assert!(
        unproved
            .iter()
            .all(|unproved| unproved.suggestion.is_none())
    );
    let why = unproved[0].why_none.as_deref().expect("a reason");
    assert!(why.contains("write a first one"), "{why}");
    let lacking: Vec<&str> = proof
        .cases
        .lacking
        .iter()
        .map(|lacking| lacking.rule.as_str())
        .collect();
    assert_eq!(
        lacking,
        ["burial.cover", "burial.driveway", "burial.not_too_deep"]
    );
}

#[test]
fn a_case_that_comes_out_otherwise_fails_and_tells_its_place() {
    let proof = proof_with(&CASES.replace(
        "expect: { driveway: falls_short }",
        "expect: { driveway: meets }",
    ));
    assert!(!proof.proved);
    let [wrong] = proof.cases.wrong.as_slice() else {
        panic!("{:#?}", proof.cases.wrong);
    };
    assert_eq!(wrong.rule, "burial.driveway");
    assert_eq!(wrong.at.file, "rules/burial.cases.yaml");
    let line = format!("topic: burial{HEAD}{CASES}");
    let line = line.lines().nth(wrong.at.line - 1).expect("that line");
    assert!(line.contains("driveway: falls_short"), "{line}");
}

#[test]
fn an_equivalent_beside_one_that_asks_less_never_decides() {
    // 1/4 in/ft is 2.0833 %: a fall of 2 % meets by the other equivalent already.
    let rules = r#"
topic fall "Fall" permit plumbing

limit least_fall : slope = 1/4 in/ft or 2 %   "least fall"   cite code "4"

rule falls {
  title   "The sewer falls"
  each    sewer in sewers
  shall   sewer.fall is at least least_fall
  cite    code "4"
  hold    before_cover
  remedy  "Lay it again."
}
"#;
    let cases = format!(
        "topic: fall{HEAD}  - case: exactly 2 % meets
    record: {{ sewers: [ {{ id: S, fall: 2 % }} ] }}
    expect: {{ falls: meets }}
  - case: 1.99 % falls short
    record: {{ sewers: [ {{ id: S, fall: 1.99 % }} ] }}
    expect: {{ falls: falls_short }}
  - case: no sewer
    record: {{ sewers: none }}
    expect: {{ falls: does_not_apply }}
"
    );
    let library = with_cases(&[("rules/fall", rules)], &[("rules/fall", &cases)]);
    let proof = proof_of(&library, Scope::Whole);
    assert!(proof.proved, "{proof:#?}");
    let never: Vec<&str> = proof
        .changes
        .never_decides
        .iter()
        .map(|never| never.is.as_str())
        .collect();
    assert_eq!(never, ["1/4 in/ft", "1/4 in/ft"]);
}

#[test]
fn a_rule_that_can_never_apply_fall_short_or_be_met_is_told() {
    // The vocabulary says that cover lies between 0 in and 20 ft, frost between 0 in and 10 ft.
    let rule = |name: &str, when: &str, shall: &str| {
        format!(
            "rule {name} {{\n  title \"{name}\"\n  each cable in cables\n  each span in cable.spans\n  {when}\n  shall {shall}\n  cite code \"5\"\n  hold before_cover\n  remedy \"Ask.\"\n}}\n"
        )
    };
    let rules = format!(
        "topic odd \"Odd\" permit electrical\n{}{}{}{}",
        rule("never", "when span.cover is more than 20 ft", "span.warned"),
        rule("always", "when span.warned", "span.cover is at least 0 in"),
        rule(
            "not_met",
            "when span.warned",
            "span.cover + site.frost is more than 30 ft"
        ),
        rule(
            "open",
            "when span.warned",
            "span.cover + site.frost is more than 29 ft"
        ),
    );
    let library = with_cases(&[("rules/odd", &rules)], &[]);
    let proof = proof_of(&library, Scope::Whole);
    let told: Vec<(&str, Outlook)> = proof
        .settled
        .iter()
        .map(|settled| (settled.rule.as_str(), settled.outlook))
        .collect();
    assert_eq!(
        told,
        [
            ("odd.never", Outlook::NeverApplies),
            ("odd.always", Outlook::NeverFallsShort),
            ("odd.not_met", Outlook::NeverMeets),
        ]
    );
    assert!(!proof.proved);
}

const TOWN: &str = r#"
place "Town (invented)" {
  authority any "Clerk (invented)" "555-0100"
}
"#;

const FOR_GOOD: &str = "adopt burial from 2020-01-01 cite law \"1\" because \"it is good\"\n";
const FOR_TEN_YEARS: &str =
    "adopt burial from 2020-01-01 until 2030-01-01 cite law \"1\" because \"to be tried\"\n";

/// A proof of a town that adopts the small topic and says more.
fn town(adoption: &str, statements: &str) -> Proof {
    let place = format!("{TOWN}{adoption}{statements}");
    let rules = [
        ("rules/burial", RULES),
        ("jurisdictions/town/place", place.as_str()),
    ];
    let library = with_cases(&rules, &[]);
    let id = library.0.library.place_named("town").expect("the town");
    proof_of(&library, Scope::Place(id))
}

#[test]
fn what_a_place_changes_is_told_as_loosening_tightening_or_rewording() {
    let proof = town(
        FOR_GOOD,
        r#"
amend burial.least_cover : 24 in becomes 30 in
  from 2021-01-01 cite law "2" because "deeper"
amend burial.in_driveway : 18 in becomes 12 in
  from 2021-01-01 cite law "3" because "shallower"
set burial.deep = 5 ft
  from 2021-01-01 cite law "4" because "it was open"
strike rule burial.not_too_deep
  from 2022-01-01 cite law "5" because "not here"
"#,
    );
    let told: Vec<(&str, Way)> = proof
        .amendments
        .iter()
        .map(|amendment| (amendment.change.as_str(), amendment.way))
        .collect();
    assert_eq!(
        told,
        [
            ("burial.least_cover: 24 in → 30 in", Way::Tightens),
            ("burial.in_driveway: 18 in → 12 in", Way::Loosens),
            ("burial.deep: no value → 5 ft", Way::Tightens),
            ("strikes rule burial.not_too_deep", Way::Loosens),
        ]
    );
    assert!(proof.amendments.iter().all(|amendment| {
        amendment
            .force
            .iter()
            .all(|from| from.force == Force::Holds)
    }));
}

#[test]
fn the_same_length_in_another_unit_only_rewords() {
    let proof = town(
        FOR_GOOD,
        r#"
amend burial.least_cover : 24 in becomes 2 ft
  from 2021-01-01 cite law "2" because "the town measures in feet"
replace rule burial.cover
  from 2021-01-01 cite law "3" because "in plainer words"
{
  title   "Cable in a yard lies deep enough"
  each    cable in cables
  each    span in cable.spans
  when    span.location is yard
  shall   span.cover is at least least_cover
  cite    law "3"
  hold    before_cover
  remedy  "Dig."
}
replace rule burial.driveway
  from 2021-01-01 cite law "4" because "everywhere"
{
  title   "Cable lies deep enough"
  each    cable in cables
  each    span in cable.spans
  shall   span.cover is at least in_driveway
  cite    law "4"
  hold    before_cover
  remedy  "Dig."
}
"#,
    );
    let ways: Vec<Way> = proof
        .amendments
        .iter()
        .map(|amendment| amendment.way)
        .collect();
    assert_eq!(ways, [Way::Rewords, Way::Rewords, Way::CannotTell]);
}

#[test]
fn an_amendment_that_an_outer_place_forbids_has_no_force_and_is_not_proved() {
    let county = r#"
place "County (invented)" {
  authority any "Clerk (invented)" "555-0100"
}
adopt burial from 2020-01-01 cite law "1" because "it is good"
restrict burial.least_cover to tighten only
  from 2020-01-01 cite law "2" because "safety"
"#;
    let town = r#"
place "Town (invented)" {
  authority any "Clerk (invented)" "555-0100"
}
amend burial.least_cover : 24 in becomes 12 in
  from 2021-01-01 cite law "3" because "rock"
"#;
    let rules = [
        ("rules/burial", RULES),
        ("jurisdictions/county/place", county),
        ("jurisdictions/county/town/place", town),
    ];
    let library = with_cases(&rules, &[]);
    let id = library
        .0
        .library
        .place_named("county/town")
        .expect("the town");
    let proof = proof_of(&library, Scope::Place(id));
    let [amendment] = proof.amendments.as_slice() else {
        panic!("{:#?}", proof.amendments);
    };
    assert_eq!(amendment.way, Way::Loosens);
    assert_eq!(amendment.force[0].force, Force::Forbidden);
    assert!(!proof.proved);
    assert_eq!(proof.changes.tried, 0, "what has no force is not changed");
}

#[test]
fn a_place_is_suggested_cases_of_its_amendment_in_its_own_file_by_its_own_names() {
    let place = format!(
        "{TOWN}{FOR_GOOD}amend burial.least_cover : 24 in becomes 30 in\n  from 2021-01-01 cite law \"2\" because \"deeper\"\n"
    );
    let rules = [
        ("rules/burial", RULES),
        ("jurisdictions/town/place", place.as_str()),
    ];
    let mut cases = format!(
        "place: town{HEAD}  - case: well over
    head: {{ permits: {{ electrical: {{ number: E-2, issued: 2022-02-02 }} }} }}
    record:
      cables:
        - id: C
          length: 40 ft
          spans:
            - {{ from: 0 ft, to: 40 ft, location: yard, cover: 3 ft }}
    expect: {{ burial.cover: meets }}
"
    );
    let proof = |cases: &str| {
        let library = with_cases(&rules, &[("jurisdictions/town/place", cases)]);
        let id = library.0.library.place_named("town").expect("the town");
        proof_of(&library, Scope::Place(id))
    };
    let first = proof(&cases);
    assert_eq!((first.changes.tried, first.changes.noticed), (2, 0));
    for suggestion in &first.changes.suggestions {
        assert_eq!(suggestion.file, "jurisdictions/town/place.cases.yaml");
        assert!(suggestion.yaml.contains("issued: 2022-02-02"));
        cases.push_str(&suggestion.yaml);
    }
    assert!(cases.contains("cover: 30 in "), "{cases}");
    let mended = proof(&cases);
    assert!(mended.proved, "{mended:#?}");
}

#[test]
fn a_place_without_cases_is_suggested_a_file_of_them_from_the_models() {
    let place = format!(
        "{TOWN}{FOR_GOOD}amend burial.least_cover : 24 in becomes 30 in\n  from 2027-01-01 cite law \"2\" because \"deeper\"\n"
    );
    let rules = [
        ("rules/burial", RULES),
        ("jurisdictions/town/place", place.as_str()),
    ];
    let model = format!("topic: burial{HEAD}{CASES}");
    let proof = |own: &[(&str, &str)]| {
        let cases = [&[("rules/burial", model.as_str())], own].concat();
        let library = with_cases(&rules, &cases);
        let id = library.0.library.place_named("town").expect("the town");
        proof_of(&library, Scope::Place(id))
    };
    let first = proof(&[]);
    assert_eq!(first.cases.run, 0, "the model's cases are the model's");
    assert_eq!((first.changes.tried, first.changes.noticed), (2, 0));
    let suggestions = &first.changes.suggestions;
    let mut file = suggestions[0]
        .begins
        .clone()
        .expect("a file that isn't there yet");
    for suggestion in suggestions {
        assert_eq!(suggestion.file, "jurisdictions/town/place.cases.yaml");
        file.push_str(&suggestion.yaml);
    }
    // The model's permits are of 2026; the amendment holds from 2027 on.
    assert!(file.contains("issued: 2027-01-01"), "{file}");
    let mended = proof(&[("jurisdictions/town/place", &file)]);
    assert!(mended.proved, "{file}\n{mended:#?}");
}

/// A pipe's weight by its size, against what a hook holds by another size.
fn steps(weight: &str, holds: &str) -> Proof {
    let rules = format!(
        r#"
topic hooks "Hooks" permit plumbing

table weight (size: pipe_size) gives length cite code "7" {{
  up to 3 in   : {weight}
  4 in         : 40 in
}}

limit holds : length = {holds}   "what it holds"   cite code "8"

rule hangs {{
  title   "The sewer hangs"
  each    sewer in sewers
  shall   weight(sewer.nominal) is at most holds
  cite    code "7"
  hold    before_cover
  remedy  "Ask."
}}
"#
    );
    let cases = format!(
        "topic: hooks{HEAD}  - case: small and large
    record: {{ sewers: [ {{ id: S, nominal: 3 in }}, {{ id: T, nominal: 4 in }} ] }}
    expect: {{ hangs: [ meets, falls_short ] }}
  - case: none
    record: {{ sewers: none }}
    expect: {{ hangs: does_not_apply }}
"
    );
    let library = with_cases(
        &[("rules/hooks", rules.as_str())],
        &[("rules/hooks", &cases)],
    );
    proof_of(&library, Scope::Whole)
}

#[test]
fn a_step_that_no_label_stands_on_never_decides_and_one_that_a_label_stands_on_is_noticed() {
    // 20 in and 40 in against 30 in: nothing within 1 % of any of them.
    let apart = steps("20 in", "30 in");
    assert!(apart.proved, "{apart:#?}");
    assert_eq!(apart.changes.noticed, 0);
    assert_eq!(apart.changes.never_decides.len(), apart.changes.tried);
    // 30 in against 30 in: up for the row, down for the limit and the comparison show.
    let together = steps("30 in", "30 in");
    assert!(together.proved, "{together:#?}");
    assert_eq!(together.changes.noticed, 3);
}

#[test]
fn a_step_within_reach_that_no_case_stands_on_is_not_told_to_never_decide() {
    let rules = r#"
topic hooks "Hooks" permit plumbing

table weight (size: pipe_size) gives length cite code "7" {
  2 in : 10 in
  3 in : 30 in
  4 in : 40 in
}

limit holds : length = 30 in   "what it holds"   cite code "8"

rule hangs {
  title   "The sewer hangs"
  each    sewer in sewers
  shall   weight(sewer.nominal) is at most holds
  cite    code "7"
  hold    before_cover
  remedy  "Ask."
}
"#;
    let cases = format!(
        "topic: hooks{HEAD}  - case: small and large
    record: {{ sewers: [ {{ id: S, nominal: 2 in }}, {{ id: T, nominal: 4 in }} ] }}
    expect: {{ hangs: [ meets, falls_short ] }}
  - case: none
    record: {{ sewers: none }}
    expect: {{ hangs: does_not_apply }}
"
    );
    let library = with_cases(&[("rules/hooks", rules)], &[("rules/hooks", &cases)]);
    let proof = proof_of(&library, Scope::Whole);
    let unproved: Vec<&str> = proof
        .changes
        .unproved
        .iter()
        .map(|unproved| unproved.what.as_str())
        .collect();
    assert_eq!(
        unproved,
        [
            "limit hooks.holds",
            "hooks.weight(3 in)",
            "comparison in hooks.hangs"
        ]
    );
    assert_eq!(
        proof.changes.suggestions.len(),
        1,
        "one case shows all three"
    );
    assert!(proof.changes.suggestions[0].yaml.contains("nominal: 3 in"));
}

#[test]
fn a_proof_in_words_tells_what_to_mend_before_what_to_look_at() {
    let mut cases = without("24 in in a yard meets");
    cases.push_str(
        "  - case: cover well over\n    record: { cables: [ { id: C, length: 40 ft, spans: [ { from: 0 ft, to: 40 ft, location: yard, cover: 30 in } ] } ] }\n    expect: { cover: falls_short, driveway: does_not_apply }\n",
    );
    let file = format!("topic: burial{HEAD}{cases}");
    let place = format!(
        "{TOWN}{FOR_TEN_YEARS}amend burial.least_cover : 24 in becomes 20 in\n  from 2021-01-01 until 2030-01-01 cite law \"2\" because \"rock\"\n"
    );
    let rules = [
        ("rules/burial", RULES),
        ("jurisdictions/town/place", place.as_str()),
    ];
    let library = with_cases(&rules, &[("rules/burial", &file)]);
    let proof = proof_of(&library, Scope::Whole);
    let style = Style {
        colour: false,
        width: 80,
    };
    let words = report::prove::proof(&proof, style);
    let words = words.replace(&proof.ruleset[..12], "[ruleset]");
    insta::assert_snapshot!(words);
}

#[test]
fn what_the_model_leaves_open_is_on_the_clerks_list_until_the_place_fills_it() {
    let open = town(FOR_GOOD, "");
    let [limit] = open.open_limits.as_slice() else {
        panic!("{:#?}", open.open_limits);
    };
    assert_eq!(limit.limit, "burial.deep");
    assert_eq!(limit.rules, ["burial.not_too_deep"]);
    assert_eq!(limit.file, "jurisdictions/town/place.rules");
    // The statement is one as soon as what is in < > is filled.
    let filled = limit
        .statement
        .replace("<number in>", "5 ft")
        .replace("<source>", "law")
        .replace("<section>", "9")
        .replace("<why>", "frost");
    assert!(!filled.contains('<'), "{filled}");
    assert!(town(FOR_GOOD, &filled).open_limits.is_empty());
}

#[test]
fn an_adoption_that_ends_with_nothing_after_it_is_told() {
    let proof = town(FOR_TEN_YEARS, "");
    let [gap] = proof.over_time.as_slice() else {
        panic!("{:#?}", proof.over_time);
    };
    assert_eq!(gap.what, "nothing of burial is in force from 2030-01-01 on");
    let again = town(
        FOR_TEN_YEARS,
        "adopt burial from 2031-01-01 cite law \"6\" because \"again\"\n",
    );
    assert_eq!(
        again.over_time[0].what,
        "nothing of burial is in force from 2030-01-01 until 2031-01-01"
    );
    let overlap = town(
        FOR_TEN_YEARS,
        "adopt burial from 2029-01-01 cite law \"6\" because \"again\"\n",
    );
    assert_eq!(overlap.over_time.len(), 1, "{:#?}", overlap.over_time);
    assert!(overlap.over_time[0].what.contains("the later one governs"));
}

#[test]
fn a_mistake_in_a_file_of_cases_is_told_with_its_place() {
    let cases = format!("topic: burial{HEAD}  - case: no record\n    expect: {{ cover: meets }}\n");
    let (opened, texts) = with_cases(&[("rules/burial", RULES)], &[("rules/burial", &cases)]);
    let problems = prove(&opened, &texts, Scope::Whole, on(), &|_| {}).expect_err("a mistake");
    let [problem] = problems.problems.as_slice() else {
        panic!("{:?}", problems.problems);
    };
    assert_eq!(
        &*problems.sources.get(problem.source).name,
        "rules/burial.cases.yaml"
    );
    assert_eq!(
        problem.diagnostic.to_string(),
        "a file of cases has no `record`"
    );
}

#[test]
fn cases_come_with_a_library_and_change_nothing_of_its_digest() {
    let mut texts = library::embedded();
    let digest = library::open(&texts)
        .expect("the library inside the program")
        .digest;
    let names: Vec<String> = texts.cases().map(|(name, _)| name.to_owned()).collect();
    assert!(
        names
            .iter()
            .any(|name| name == "rules/cable_burial.cases.yaml")
    );
    for name in names {
        texts.0.remove(&name);
    }
    assert_eq!(
        library::open(&texts).expect("its rules alone").digest,
        digest
    );
}

/// What of the library inside the program is not proved, and why that is so.
const EXCEPTIONS: [(&str, &str); 1] = [(
    "raceways.greatest_fill(up to 1)",
    "the largest conductor that the table knows fills the smallest raceway to less than 53 %",
)];

#[test]
fn the_library_inside_the_program_is_proved() {
    let texts = library::embedded();
    let opened = library::open(&texts).expect("the library inside the program");
    let proof = proof_of(&(opened, texts), Scope::Whole);
    assert!(proof.cases.wrong.is_empty(), "{:#?}", proof.cases.wrong);
    assert!(proof.cases.lacking.is_empty(), "{:#?}", proof.cases.lacking);
    assert!(proof.settled.is_empty(), "{:#?}", proof.settled);
    assert!(proof.changes.tried > 1000, "{}", proof.changes.tried);
    let unproved: Vec<_> = proof
        .changes
        .unproved
        .iter()
        .filter(|unproved| !EXCEPTIONS.iter().any(|(what, _)| *what == unproved.what))
        .collect();
    assert!(unproved.is_empty(), "{unproved:#?}");
    // Invented Hask Ferry shows what amendments without force, and a stale one, look like.
    let mut weak: Vec<(&str, Force)> = Vec::new();
    for amendment in &proof.amendments {
        let force = amendment.force.iter().map(|from| from.force);
        weak.extend(
            force
                .filter(|force| *force != Force::Holds)
                .map(|force| (amendment.place.as_str(), force)),
        );
    }
    let ferry = "aldmoor/sarnfell/hask_ferry";
    assert_eq!(
        weak,
        [
            (ferry, Force::Stale),
            (ferry, Force::Forbidden),
            (ferry, Force::Forbidden)
        ]
    );
}

#[test]
fn the_proof_that_the_readme_shows_is_what_the_program_says() {
    let texts = library::embedded();
    let opened = library::open(&texts).expect("the library inside the program");
    let place = "aldmoor/sarnfell/velder_mills";
    let id = opened.library.place_named(place).expect("the town");
    let proof = proof_of(&(opened, texts), Scope::Place(id));
    let style = Style {
        colour: false,
        width: 80,
    };
    let words = report::prove::proof(&proof, style);
    let from = words
        .find("    cases")
        .expect("the first line of the summary");
    let until = words.find("\n\nWHAT").expect("what comes after it");
    let readme = include_str!("../README.md");
    assert!(readme.contains(&words[from..until]), "{words}");
}
