//! What differs between two places, dates or rulesets, and between two records of a lot.

mod small;

use groundrule::compare::{
    Change, Kind, Side, Turn, compare_findings, compare_rules, records_of_one_lot,
};
use groundrule::layers::{Dates, in_force};
use groundrule::library::Opened;
use groundrule::quantity::date;
use groundrule::report::{comparison, terminal::Style};
use small::{judged, opened};

const MODEL: &str = r#"topic t "Test" permit electrical

limit depth : length = 24 in cite code "2"
limit local : length set by the place "how deep the place asks" cite code "3"
limit crowd : number = 6 cite code "5"
table least (at: location) gives length cite code "4" {
  yard or driveway : 24 in
  rising : no value
}

rule deep {
  title  "Deep enough"
  shall  site.frost is at least depth
  cite   code "1"
  hold   before_cover
  remedy "Dig."
}

rule local_depth {
  title  "As deep as the place asks"
  shall  site.frost is at least local
  cite   code "1"
  hold   before_cover
  remedy "Dig."
}

rule people {
  title  "Not too many"
  shall  site.people is at most crowd
  cite   code "1"
  hold   hand_over
  remedy "Ask."
}

rule cover {
  title  "Covered"
  each   cable in cables
  each   span in cable.spans
  shall  span.cover is at least least(span.location)
  cite   code "1"
  hold   before_cover
  remedy "Dig."
}
"#;

/// A place that adopts the model, and these statements.
fn place(statements: &str) -> String {
    format!(
        "place \"A place (invented)\" {{ authority any \"Clerk (invented)\" \"Hall\" }}\n\nadopt t\n  from 2020-01-01 cite law \"1\" because \"test\"\n\n{statements}"
    )
}

fn library(model: &str, statements: &str) -> Opened {
    opened(&[
        ("rules/t", model),
        ("jurisdictions/land/place", &place(statements)),
    ])
}

/// What differs at the one place, for permits of a date each.
fn compared(before: (&Opened, &str), after: (&Opened, &str)) -> Vec<Change> {
    let in_force_on = |opened: &Opened, on: &str| {
        let land = opened
            .library
            .place_named("land")
            .expect("the place is there");
        let dates = Dates::all_on(date::parse(on).expect("a date"));
        in_force(&opened.library, &[land], &dates).expect("nothing is claimed twice")
    };
    let (old, new) = (
        in_force_on(before.0, before.1),
        in_force_on(after.0, after.1),
    );
    compare_rules(
        Side {
            opened: before.0,
            in_force: &old,
        },
        Side {
            opened: after.0,
            in_force: &new,
        },
    )
}

/// What differs between the model as adopted and the same with these statements.
fn amended(statements: &str) -> Vec<Change> {
    let (before, after) = (library(MODEL, ""), library(MODEL, statements));
    compared((&before, "2026-01-01"), (&after, "2026-01-01"))
}

fn kinds(changes: &[Change]) -> Vec<(Kind, &str, &str)> {
    changes
        .iter()
        .map(|change| {
            (
                change.kind,
                change.rules[0].as_str(),
                change.what.as_deref().unwrap_or("whole"),
            )
        })
        .collect()
}

#[test]
fn a_ruleset_and_itself_differ_in_nothing() {
    assert_eq!(amended(""), Vec::new());
}

/// More depth and fewer people ask more; the other way round they ask less.
#[test]
fn which_way_a_limit_turns_is_told_from_how_it_is_used() {
    let changed = |statements: &str| {
        let changes = amended(statements);
        assert_eq!(changes.len(), 1, "{changes:?}");
        changes[0].kind
    };
    let why = "from 2025-01-01 cite law \"2\" because \"test\"\n";
    assert_eq!(
        changed(&format!("amend t.depth : 24 in becomes 30 in {why}")),
        Kind::Tightened
    );
    assert_eq!(
        changed(&format!("amend t.depth : 24 in becomes 18 in {why}")),
        Kind::Loosened
    );
    assert_eq!(
        changed(&format!("amend t.crowd : 6 becomes 4 {why}")),
        Kind::Tightened
    );
    assert_eq!(
        changed(&format!("amend t.crowd : 6 becomes 8 {why}")),
        Kind::Loosened
    );
    assert_eq!(
        changed(&format!("set t.local = 3 ft {why}")),
        Kind::Tightened
    );
}

/// Two feet are twenty-four inches.
#[test]
fn the_same_limit_in_other_units_is_no_change() {
    let changes = amended(
        "amend t.depth : 24 in becomes 2 ft from 2025-01-01 cite law \"2\" because \"test\"\n",
    );
    assert_eq!(changes, Vec::new());
}

#[test]
fn cells_that_change_alike_are_told_together() {
    let changes = amended(
        "amend t.least(yard or driveway) : 24 in becomes 30 in from 2025-01-01 cite law \"2\" because \"augers\"\n",
    );
    assert_eq!(
        kinds(&changes),
        [(Kind::Tightened, "t.cover", "t.least (yard or driveway)")]
    );
    let change = &changes[0];
    assert_eq!(change.before.as_deref(), Some("24 in"));
    assert_eq!(change.after.as_deref(), Some("30 in"));
    assert_eq!(change.from.as_deref(), Some("2025-01-01"));
    assert_eq!(change.because.as_deref(), Some("augers"));
    assert_eq!(change.clauses, ["Local Law (invented) (2020), 2"]);
}

#[test]
fn an_amendment_tells_nothing_before_its_date() {
    let after = library(
        MODEL,
        "amend t.depth : 24 in becomes 30 in from 2025-01-01 cite law \"2\" because \"test\"\n",
    );
    assert_eq!(
        compared((&after, "2023-01-01"), (&after, "2024-12-31")),
        Vec::new()
    );
    let changes = compared((&after, "2024-12-31"), (&after, "2025-01-01"));
    assert_eq!(kinds(&changes), [(Kind::Tightened, "t.deep", "t.depth")]);
}

#[test]
fn struck_and_added_rules_are_told_whole() {
    let why = "from 2025-01-01 cite law \"2\" because \"test\"";
    let changes = amended(&format!(
        "strike rule t.people {why}\n\nadd rule wells in t {why}\n{{\n  title \"Wells are deep\"\n  each well in wells\n  shall well.depth is at least 30 ft\n  cite law \"2\"\n  hold hand_over\n  remedy \"Drill.\"\n}}\n"
    ));
    assert_eq!(
        kinds(&changes),
        [
            (Kind::Added, "t.wells@land", "whole"),
            (Kind::Struck, "t.people", "whole")
        ]
    );
}

#[test]
fn a_rule_that_asks_otherwise_and_one_in_other_words_are_told_apart() {
    let before = library(MODEL, "");
    let turned = MODEL
        .replace(
            "site.frost is at least depth",
            "site.frost is more than depth",
        )
        .replace("\"Ask.\"", "\"Ask the owner.\"");
    let after = library(&turned, "");
    let changes = compared((&before, "2026-01-01"), (&after, "2026-01-01"));
    assert_eq!(
        kinds(&changes),
        [
            (Kind::CannotBeTold, "t.deep", "condition"),
            (Kind::Reworded, "t.people", "remedy")
        ]
    );
    let spaced = library(
        &MODEL.replace("at least depth", "at   least\n    depth"),
        "",
    );
    assert_eq!(
        compared((&before, "2026-01-01"), (&spaced, "2026-01-01")),
        Vec::new()
    );
}

#[test]
fn what_was_required_and_is_advised_is_looser() {
    let before = library(MODEL, "");
    let after = library(
        &MODEL.replace("shall  site.people", "should site.people"),
        "",
    );
    let changes = compared((&before, "2026-01-01"), (&after, "2026-01-01"));
    assert_eq!(
        kinds(&changes),
        [(Kind::Loosened, "t.people", "obligation")]
    );
    let back = compared((&after, "2026-01-01"), (&before, "2026-01-01"));
    assert_eq!(kinds(&back), [(Kind::Tightened, "t.people", "obligation")]);
}

/// What a person reads.
#[test]
fn changes_are_told_in_words() {
    let before = library(MODEL, "");
    let after = library(
        MODEL,
        "amend t.least(yard) : 24 in becomes 30 in from 2025-01-01 until 2028-01-01 cite law \"2\" because \"augers\"\n\nstrike rule t.people from 2025-01-01 cite law \"3\" because \"nobody counted\"\n",
    );
    let changes = compared((&before, "2026-01-01"), (&after, "2026-01-01"));
    let style = Style {
        colour: false,
        width: 72,
    };
    insta::assert_snapshot!(comparison::comparison(
        "before",
        "after",
        &changes,
        &[],
        style
    ));
}

/// A record of a lot: how deep it freezes and how many live there.
fn lot(facts: &str) -> String {
    format!(
        "record: 1\nlot: L-1\nplace: land\npermits: {{ electrical: {{ issued: 2026-01-01 }} }}\nrecorded: {{ by: A. Tester, date: 2026-04-18 }}\nstage: hand_over\ntolerances: exact\nsite: {{ {facts} }}\ncables: none\n"
    )
}

#[test]
fn two_records_of_a_lot_tell_what_was_mended_since() {
    let library = library(
        MODEL,
        "set t.local = 3 ft from 2020-01-01 cite law \"2\" because \"test\"\n",
    );
    let report = |facts: &str| judged(&library, &lot(facts)).expect("the record is judged");
    let compared = records_of_one_lot(&report("frost: 20 in"), &report("frost: 30 in, people: 9"));
    let turns: Vec<_> = compared
        .changes
        .iter()
        .map(|change| (change.turn, change.rule.as_str()))
        .collect();
    assert_eq!(
        turns,
        [
            (Turn::Mended, "t.deep"),
            (Turn::FallsShort, "t.people"),
            (Turn::StillShort, "t.local_depth"),
        ]
    );
}

#[test]
fn whose_findings_turn_under_other_rules_is_told() {
    let before = library(MODEL, "");
    let after = library(
        MODEL,
        "amend t.depth : 24 in becomes 30 in from 2025-01-01 cite law \"2\" because \"test\"\n",
    );
    let text = lot("frost: 26 in, people: 3");
    let report = |library: &Opened| judged(library, &text).expect("the record is judged");
    let compared = compare_findings(&report(&before), &report(&after));
    assert_eq!(compared.changes.len(), 1, "{compared:?}");
    let change = &compared.changes[0];
    assert_eq!(
        (change.turn, change.rule.as_str()),
        (Turn::FallsShort, "t.deep")
    );
    assert_eq!(
        change.before_measured.as_deref(),
        Some("26 in against 24 in")
    );
    assert_eq!(
        change.after_measured.as_deref(),
        Some("26 in against 30 in")
    );
}
