//! What each construct makes of what is recorded, absent, within its tolerance or in an open list.
//!
//! The expected verdicts are those that the meaning of the language fixes, construct by construct;
//! each row stands for one sentence of it.

mod small;

use groundrule::finding::{Finding, Report};
use small::{findings, judged, opened};

const TOWN: &str = "place \"Town (invented)\" {\n  authority any \"Clerk (invented)\" \"Town hall\"\n}\nadopt t from 2020-01-01 cite law \"1\" because \"test\"\n";

/// A rule in force beside the one that is asked: precautions alone are no rules in force.
const ADVICE: &str = "\nrule advice {\n  title \"Advice\"\n  should site.people is at least 1\n  cite code \"1\"\n  hold hand_over\n  remedy \"None.\"\n}\n";

/// The report on a record with these facts, by one rule with these clauses in a topic with these
/// items.
fn reported(items: &str, clauses: &str, facts: &str, stage: &str) -> Report {
    let topic = format!(
        "topic t \"Test\" permit electrical\n\n{items}\n\nrule r {{\n  title \"Test\"\n  {clauses}\n  cite code \"1\"\n  hold before_cover\n  remedy \"Mend it.\"\n}}\n{ADVICE}"
    );
    let library = opened(&[("rules/t", &topic), ("jurisdictions/town/place", TOWN)]);
    let record = format!(
        "record: 1\nlot: L-1\nplace: town\npermits: {{ electrical: {{ number: E-1, issued: 2026-03-19 }} }}\nrecorded: {{ by: A. Tester, role: crew_lead, date: 2026-04-18 }}\nstage: {stage}\ntolerances: {{ length: 1 in, others: exact }}\ndatum: a nail\n{facts}\n"
    );
    judged(&library, &record).unwrap_or_else(|mistakes| panic!("{mistakes}"))
}

/// The rule's verdicts in the order of their subjects, each with what it lacks.
fn verdicts(report: &Report) -> String {
    let told: Vec<String> = of_rule(report).map(told).collect();
    told.join("; ")
}

fn of_rule(report: &Report) -> impl Iterator<Item = &Finding> {
    findings(report)
        .iter()
        .filter(|finding| finding.rule == "t.r")
}

fn told(finding: &Finding) -> String {
    let missing: Vec<&str> = finding
        .missing
        .iter()
        .map(|missing| match missing.path.as_str() {
            "" => missing.what.as_str(),
            path => path,
        })
        .collect();
    match missing.as_slice() {
        [] => finding.verdict.name().to_owned(),
        missing => format!("{} {}", finding.verdict.name(), missing.join(", ")),
    }
}

/// Rows of clauses, facts and the verdicts due, all judged before any is complained of.
fn holds(items: &str, rows: &[(&str, &str, &str)]) {
    let wrong: Vec<String> = rows
        .iter()
        .filter_map(|(clauses, facts, due)| {
            let found = verdicts(&reported(items, clauses, facts, "hand_over"));
            (found != *due).then(|| format!("{clauses}\n  {facts}\n  due: {due}\n  got: {found}"))
        })
        .collect();
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

const NONE: &str = "site: {}";

#[test]
fn comparisons_are_true_of_every_pair_or_of_none() {
    let frost = "site: { frost: 24 in }";
    holds(
        "",
        &[
            ("shall site.frost is at least 23 in", frost, "meets"),
            ("shall site.frost is at least 24 in", frost, "too_close"),
            ("shall site.frost is at least 25 in", frost, "too_close"),
            ("shall site.frost is at least 26 in", frost, "falls_short"),
            ("shall site.frost is more than 23 in", frost, "too_close"),
            ("shall site.frost is more than 25 in", frost, "falls_short"),
            ("shall site.frost is at most 25 in", frost, "meets"),
            ("shall site.frost is less than 25 in", frost, "too_close"),
            ("shall site.frost is less than 23 in", frost, "falls_short"),
            ("shall site.frost is 24 in", frost, "too_close"),
            ("shall site.frost is 26 in", frost, "falls_short"),
            (
                "shall site.frost is 24 in",
                "site: { frost: 24 in ± 0 in }",
                "meets",
            ),
            (
                "shall site.frost is at least 24 in",
                "site: { frost: 2 ft ± 0 in }",
                "meets",
            ),
            (
                "shall site.frost is at least 23 in",
                NONE,
                "not_recorded site.frost",
            ),
            (
                "shall site.frost is at least -20 in",
                NONE,
                "not_recorded site.frost",
            ),
        ],
    );
}

#[test]
fn labels_and_truths_are_unknown_where_absent_even_if_all_alternatives_are_listed() {
    let each = |condition: &str| format!("each s in sewers\n  shall {condition}");
    let rows = [
        (
            each("s.nominal is 4 in"),
            "sewers: [ { id: S-1, nominal: 4 in } ]",
            "meets",
        ),
        (
            each("s.nominal is 4 in"),
            "sewers: [ { id: S-1, nominal: DN 100 } ]",
            "meets",
        ),
        (
            each("s.nominal is at least 3 in"),
            "sewers: [ { id: S-1, nominal: 4 in } ]",
            "meets",
        ),
        (
            each("s.nominal is at least 3 in"),
            "sewers: [ { id: S-1, nominal: 2 in } ]",
            "falls_short",
        ),
        (
            each("s.nominal is one of 2 in, 3 in, 4 in"),
            "sewers: [ { id: S-1 } ]",
            "not_recorded sewers[0].nominal",
        ),
        (
            each("s.nominal is at least 2 in"),
            "sewers: [ { id: S-1 } ]",
            "not_recorded sewers[0].nominal",
        ),
        (
            each("s.nominal is one of 2 in, 3 in"),
            "sewers: [ { id: S-1, nominal: 3 in } ]",
            "meets",
        ),
    ];
    for (clauses, facts, due) in rows {
        holds("", &[(&clauses, facts, due)]);
    }
    holds(
        "",
        &[
            ("shall site.sloping", "site: { sloping: yes }", "meets"),
            ("shall site.sloping", "site: { sloping: no }", "falls_short"),
            ("shall site.sloping", NONE, "not_recorded site.sloping"),
            (
                "shall site.sloping or not site.sloping",
                NONE,
                "not_recorded site.sloping",
            ),
            (
                "shall site.people is one of 2, 3",
                "site: { people: 3 }",
                "meets",
            ),
            (
                "shall site.people is one of 2, 3",
                "site: { people: 4 }",
                "falls_short",
            ),
            (
                "shall site.people is one of 2, 3",
                NONE,
                "not_recorded site.people",
            ),
        ],
    );
}

#[test]
fn truths_combine_with_three_values_and_definite_ones_drop_their_causes() {
    holds(
        "",
        &[
            (
                "shall site.sloping and site.people is at least 1",
                "site: { people: 0 }",
                "falls_short",
            ),
            (
                "shall site.sloping and site.people is at least 1",
                "site: { people: 2 }",
                "not_recorded site.sloping",
            ),
            (
                "shall site.sloping or site.people is at least 1",
                "site: { people: 2 }",
                "meets",
            ),
            (
                "shall site.sloping or site.people is at least 1",
                "site: { people: 0 }",
                "not_recorded site.sloping",
            ),
            (
                "shall site.sloping and site.people is at least 1",
                NONE,
                "not_recorded site.sloping, site.people",
            ),
            ("shall not site.sloping", "site: { sloping: no }", "meets"),
            ("shall not site.sloping", NONE, "not_recorded site.sloping"),
            // Undecided by its tolerance and by nothing missing.
            (
                "shall site.sloping and site.frost is at least 24 in",
                "site: { sloping: yes, frost: 24 in }",
                "too_close",
            ),
        ],
    );
}

#[test]
fn arithmetic_is_that_of_intervals() {
    holds(
        "",
        &[
            (
                "shall site.frost + 2 in is at least 25 in",
                "site: { frost: 24 in }",
                "meets",
            ),
            (
                "shall site.frost - site.frost is 0 in",
                "site: { frost: 24 in }",
                "too_close",
            ),
            (
                "shall 2 × site.frost is at most 50 in",
                "site: { frost: 24 in }",
                "meets",
            ),
            (
                "shall site.people × site.frost is at most 0 in",
                "site: { people: 0 }",
                "meets",
            ),
            (
                "shall site.people × site.frost is at most 0 in",
                "site: { people: 1 }",
                "not_recorded site.frost",
            ),
            (
                "shall 24 in / site.people is at least 6 in",
                "site: { people: 4 }",
                "meets",
            ),
            (
                "shall 24 in / site.people is at least 6 in",
                "site: { people: 0 }",
                "not_recorded divisor may be zero",
            ),
            (
                "shall 24 in / site.people is at least 6 in",
                NONE,
                "not_recorded site.people",
            ),
            (
                "shall site.people ^ 2 is at least 16",
                "site: { people: 4 }",
                "meets",
            ),
            // Tighter than x × x: a square is never negative.
            ("shall site.people ^ 2 is at least 0", NONE, "meets"),
            (
                "shall site.people × site.people is at least 0",
                NONE,
                "not_recorded site.people",
            ),
            (
                "shall root(site.people) is at least 2",
                "site: { people: 4 }",
                "meets",
            ),
            (
                "shall root(site.people - 5) is at least 0",
                "site: { people: 3 }",
                "not_recorded outside domain",
            ),
            (
                "shall (site.frost in in) is at least 23",
                "site: { frost: 24 in }",
                "meets",
            ),
        ],
    );
}

#[test]
fn lesser_and_greater_leave_a_half_line_where_one_side_is_missing() {
    holds(
        "",
        &[
            (
                "shall lesser of site.frost and 12 in is at most 12 in",
                NONE,
                "meets",
            ),
            (
                "shall lesser of site.frost and 12 in is at least 12 in",
                NONE,
                "not_recorded site.frost",
            ),
            (
                "shall greater of site.frost and 12 in is at least 12 in",
                NONE,
                "meets",
            ),
            (
                "shall greater of site.frost and 12 in is at most 12 in",
                NONE,
                "not_recorded site.frost",
            ),
        ],
    );
}

#[test]
fn a_choice_between_values_holds_both_where_the_condition_is_unknown() {
    let value = "shall site.frost is at least (if site.sloping then 20 in else 30 in)";
    let truth =
        "shall if site.sloping then site.frost is at least 20 in else site.frost is at least 30 in";
    holds(
        "",
        &[
            (value, "site: { sloping: yes, frost: 24 in }", "meets"),
            (value, "site: { sloping: no, frost: 24 in }", "falls_short"),
            (value, "site: { frost: 24 in }", "not_recorded site.sloping"),
            (value, "site: { frost: 40 in }", "meets"),
            (value, "site: { frost: 10 in }", "falls_short"),
            (truth, "site: { frost: 24 in }", "not_recorded site.sloping"),
            (truth, "site: { frost: 40 in }", "meets"),
            (truth, "site: { sloping: yes, frost: 24 in }", "meets"),
        ],
    );
}

#[test]
fn a_table_gives_the_hull_of_the_rows_its_keys_may_fall_in() {
    let steps = "table steps (size: number) gives length cite code \"1\" {\n  up to 2 : 10 in\n  up to 5 : 20 in\n}";
    let rule = "shall site.frost is at least steps(site.people)";
    holds(
        steps,
        &[
            // The key itself belongs to its row; the next begins behind it.
            (rule, "site: { people: 2, frost: 12 in }", "meets"),
            (rule, "site: { people: 3, frost: 12 in }", "falls_short"),
            (
                rule,
                "site: { people: 6, frost: 30 in }",
                "not_recorded steps ends at 5",
            ),
            (rule, "site: { frost: 30 in }", "not_recorded site.people"),
        ],
    );
    let deeper = "table steps (depth: length) gives number cite code \"1\" {\n  from 20 in : 1\n  from 24 in : 3\n}";
    let rule = "shall site.people is at least steps(site.frost)";
    holds(
        deeper,
        &[
            (rule, "site: { people: 3, frost: 24 in }", "meets"),
            (rule, "site: { people: 2, frost: 24 in }", "too_close"),
            (rule, "site: { people: 0, frost: 24 in }", "falls_short"),
            (rule, "site: { people: 1, frost: 23 in ± 0 in }", "meets"),
            (
                rule,
                "site: { people: 2, frost: 24 in ± 0 in }",
                "falls_short",
            ),
            (
                rule,
                "site: { people: 9, frost: 10 in }",
                "not_recorded steps begins at 20 in",
            ),
        ],
    );
    let cells = "table least (at: location) gives length cite code \"1\" {\n  yard : 24 in\n  driveway : 18 in\n  rising : no value\n}";
    let rule =
        "each c in cables\n  each s in c.spans\n  shall s.cover is at least least(s.location)";
    let span = |facts: &str| {
        format!(
            "cables: [ {{ id: C-1, length: 9 ft, spans: [ {{ from: 0 ft, to: 9 ft, {facts} }} ] }} ]"
        )
    };
    for (facts, due) in [
        ("location: yard, cover: 30 in", "meets"),
        ("location: driveway, cover: 20 in", "meets"),
        (
            "location: rising, cover: 20 in",
            "not_recorded least has no value for rising",
        ),
        ("cover: 40 in", "not_recorded cables[0].spans[0].location"),
    ] {
        holds(cells, &[(rule, &span(facts), due)]);
    }
    let whole = "table least (at: location) gives length cite code \"1\" {\n  yard : 24 in\n  driveway or rising : 18 in\n}";
    holds(whole, &[(rule, &span("cover: 40 in"), "meets")]);
    holds(whole, &[(rule, &span("cover: 10 in"), "falls_short")]);
    holds(
        whole,
        &[(
            rule,
            &span("cover: 20 in"),
            "not_recorded cables[0].spans[0].location",
        )],
    );
}

const TWO: &str = "wells: [ { id: W-1, depth: 20 ft }, { id: W-2, depth: 40 ft } ]";
const TWO_AND_MORE: &str = "wells: [ { id: W-1, depth: 20 ft }, { id: W-2, depth: 40 ft }, more ]";
const ONE_UNKNOWN: &str = "wells: [ { id: W-1, depth: 20 ft }, { id: W-2 } ]";
const NO_WELLS: &str = "wells: none";

#[test]
fn every_and_some_go_through_closed_and_open_lists() {
    let every = "shall every w in wells has w.depth is at least 10 ft";
    let deep = "shall every w in wells has w.depth is at least 30 ft";
    let some = "shall some w in wells has w.depth is at least 30 ft";
    let never = "shall some w in wells has w.depth is at least 90 ft";
    holds(
        "",
        &[
            (every, TWO, "meets"),
            (every, TWO_AND_MORE, "not_recorded wells"),
            (every, ONE_UNKNOWN, "not_recorded wells[1].depth"),
            (every, NO_WELLS, "meets"),
            (every, NONE, "not_recorded wells"),
            (deep, TWO_AND_MORE, "falls_short"),
            (some, TWO, "meets"),
            (some, TWO_AND_MORE, "meets"),
            (some, NO_WELLS, "falls_short"),
            (some, NONE, "not_recorded wells"),
            (never, TWO, "falls_short"),
            (never, TWO_AND_MORE, "not_recorded wells"),
            (never, ONE_UNKNOWN, "not_recorded wells[1].depth"),
        ],
    );
}

#[test]
fn counts_folds_and_totals_go_through_closed_and_open_lists() {
    holds(
        "",
        &[
            ("shall (count of w in wells) is 2", TWO, "meets"),
            (
                "shall (count of w in wells) is at least 2",
                TWO_AND_MORE,
                "meets",
            ),
            (
                "shall (count of w in wells) is at most 2",
                TWO_AND_MORE,
                "not_recorded wells",
            ),
            (
                "shall (count of w in wells) is at most 0",
                NO_WELLS,
                "meets",
            ),
            (
                "shall (count of w in wells where w.depth is at least 30 ft) is 1",
                TWO,
                "meets",
            ),
            (
                "shall (count of w in wells where w.depth is at least 10 ft) is 2",
                ONE_UNKNOWN,
                "not_recorded wells[1].depth",
            ),
            (
                "shall (count of w in wells where w.depth is at least 10 ft) is at least 1",
                ONE_UNKNOWN,
                "meets",
            ),
            (
                "shall (count of w in wells where w.depth is at least 10 ft) is at most 2",
                ONE_UNKNOWN,
                "meets",
            ),
            (
                "shall least of w.depth for w in wells is at least 19 ft",
                TWO,
                "meets",
            ),
            (
                "shall least of w.depth for w in wells is at most 21 ft",
                TWO_AND_MORE,
                "meets",
            ),
            (
                "shall least of w.depth for w in wells is at least 19 ft",
                TWO_AND_MORE,
                "not_recorded wells",
            ),
            (
                "shall greatest of w.depth for w in wells is at least 39 ft",
                TWO_AND_MORE,
                "meets",
            ),
            (
                "shall greatest of w.depth for w in wells is at most 41 ft",
                TWO_AND_MORE,
                "not_recorded wells",
            ),
            (
                "shall greatest of w.depth for w in wells is at most 41 ft",
                TWO,
                "meets",
            ),
            (
                "shall least of w.depth for w in wells is at least 0 ft",
                NO_WELLS,
                "not_recorded wells",
            ),
            (
                "shall total of w.depth for w in wells is at least 59 ft",
                TWO,
                "meets",
            ),
            (
                "shall total of w.depth for w in wells is at least 59 ft",
                TWO_AND_MORE,
                "not_recorded wells",
            ),
            (
                "shall total of w.depth for w in wells is 0 ft",
                NO_WELLS,
                "meets",
            ),
            (
                "shall total of w.depth for w in wells is at least 1 ft",
                ONE_UNKNOWN,
                "not_recorded wells[1].depth",
            ),
        ],
    );
}

#[test]
fn points_give_differences() {
    let rule = "each s in sewers\n  shall s.inlet - s.outlet is at least 6 in";
    holds(
        "",
        &[
            (
                rule,
                "sewers: [ { id: S-1, inlet: 801 ft, outlet: 800 ft } ]",
                "meets",
            ),
            (
                rule,
                "sewers: [ { id: S-1, inlet: 800.5 ft, outlet: 800 ft } ]",
                "meets",
            ),
            (
                rule,
                "sewers: [ { id: S-1, inlet: 800 ft, outlet: 800 ft } ]",
                "falls_short",
            ),
            (
                rule,
                "sewers: [ { id: S-1, inlet: 800 ft } ]",
                "not_recorded sewers[0].outlet",
            ),
        ],
    );
}

#[test]
fn a_define_is_its_body_with_the_arguments_values() {
    let twice = "define twice (depth: length, factor: number) gives length = depth × factor cite code \"2\"";
    let rule = "shall twice(site.frost, 2) is at least 46 in";
    holds(
        twice,
        &[
            (rule, "site: { frost: 24 in }", "meets"),
            (rule, NONE, "not_recorded site.frost"),
        ],
    );
}

#[test]
fn one_published_equivalent_that_is_met_suffices() {
    let items = "limit few : number = 5 or 2 cite code \"1\"";
    let rule = "shall site.people is at least few";
    holds(
        items,
        &[
            (rule, "site: { people: 3 }", "meets"),
            (rule, "site: { people: 1 }", "falls_short"),
            (rule, NONE, "not_recorded site.people"),
        ],
    );
    let report = reported(items, rule, "site: { people: 3 }", "hand_over");
    let finding = of_rule(&report).next().expect("one finding");
    assert_eq!(
        finding.limit.as_deref(),
        Some("2"),
        "the one with the greatest margin is told"
    );
    assert_eq!(finding.margin.as_deref(), Some("1"));
}

#[test]
fn a_limit_that_no_place_sets_is_referred() {
    let items = "limit local : length set by the place \"what the place asks\" cite code \"1\"";
    let rule = "when site.sloping\n  shall site.frost is at least local";
    holds(
        items,
        &[
            (rule, "site: { sloping: yes, frost: 24 in }", "refer"),
            (rule, "site: { sloping: yes }", "refer"),
            (rule, "site: { sloping: no }", "does_not_apply"),
            (rule, NONE, "not_recorded site.sloping"),
        ],
    );
}

#[test]
fn each_says_so_of_an_open_list_and_goes_on() {
    let rule = "each w in wells\n  shall w.depth is at least 30 ft";
    holds(
        "",
        &[
            (rule, TWO, "falls_short; meets"),
            (rule, TWO_AND_MORE, "not_recorded wells; falls_short; meets"),
            (rule, "wells: [ more ]", "not_recorded wells"),
            (rule, NONE, "not_recorded wells"),
            (rule, NO_WELLS, "does_not_apply"),
        ],
    );
    let spans = "each c in cables\n  each s in c.spans\n  shall s.warned";
    holds(
        "",
        &[
            (
                spans,
                "cables: [ { id: C-1, length: 9 ft, spans: [ { from: 0 ft, to: 4 ft, warned: yes } ] } ]",
                "not_recorded cables[0]; meets",
            ),
            (
                spans,
                "cables: [ { id: C-1, length: 9 ft, spans: [ { from: 0 ft, to: 9 ft, warned: yes } ] }, { id: C-2, spans: none } ]",
                "meets; does_not_apply",
            ),
        ],
    );
}

#[test]
fn when_decides_whether_a_rule_applies() {
    let rule =
        "when site.sloping\n  when site.people is at least 2\n  shall site.frost is at least 20 in";
    holds(
        "",
        &[
            (
                rule,
                "site: { sloping: yes, people: 2, frost: 24 in }",
                "meets",
            ),
            (
                rule,
                "site: { sloping: no, frost: 24 in }",
                "does_not_apply",
            ),
            (rule, "site: { sloping: no }", "does_not_apply"),
            // An unknown `when` is no ground to stop: a later one may be false.
            (rule, "site: { people: 1 }", "does_not_apply"),
            // Undecided, whatever the obligation is.
            (
                rule,
                "site: { people: 2, frost: 24 in }",
                "not_recorded site.sloping",
            ),
            (
                rule,
                "site: { people: 2, frost: 10 in }",
                "not_recorded site.sloping",
            ),
            (
                rule,
                "site: { people: 2 }",
                "not_recorded site.sloping, site.frost",
            ),
            (
                "when site.frost is at least 24 in\n  shall site.sloping",
                "site: { frost: 24 in, sloping: yes }",
                "too_close",
            ),
            (
                "when site.sloping\n  each w in wells\n  shall w.depth is at least 10 ft",
                "site: { sloping: no }",
                "does_not_apply",
            ),
        ],
    );
}

#[test]
fn obligations_turn_truths_into_verdicts() {
    let precaution = "precaution site.frost is at most 30 in";
    holds(
        "",
        &[
            (
                "should site.sloping",
                "site: { sloping: no }",
                "falls_short",
            ),
            ("refer \"Is this lot sloping?\"", NONE, "refer"),
            (
                "when site.sloping\n  refer \"How?\"",
                NONE,
                "not_recorded site.sloping",
            ),
            // Nothing that was recorded makes a trench safe.
            (precaution, "site: { frost: 24 in }", "refer"),
            (precaution, "site: { frost: 40 in }", "falls_short"),
            (precaution, "site: { frost: 30 in }", "too_close"),
            (precaution, NONE, "not_recorded site.frost"),
            ("shall record site.frost", "site: { frost: 24 in }", "meets"),
            ("shall record site.frost", NONE, "not_recorded site.frost"),
            (
                "shall record site.frost",
                "site: { frost: { reads: 24 in, how: told } }",
                "not_recorded site.frost",
            ),
            (
                "shall site.frost is at least 20 in",
                "site: { frost: { reads: 24 in, how: from_plan } }",
                "not_recorded site.frost",
            ),
            ("shall record wells", TWO, "meets"),
            ("shall record wells", NO_WELLS, "meets"),
            ("shall record wells", TWO_AND_MORE, "not_recorded wells"),
            ("shall record wells", NONE, "not_recorded wells"),
            (
                "when site.sloping\n  shall record site.frost",
                "site: { frost: 24 in }",
                "not_recorded site.sloping",
            ),
        ],
    );
    let run = "each c in cables\n  shall record c.spans";
    let cable = |spans: &str| format!("cables: [ {{ id: C-1, length: 9 ft, spans: {spans} }} ]");
    for (spans, due) in [
        (
            "[ { from: 0 ft, to: 4 ft }, { from: 4 ft, to: 9 ft } ]",
            "meets",
        ),
        ("[ { from: 0 ft, to: 4 ft } ]", "not_recorded cables[0]"),
        (
            "[ { from: 0 ft, to: 4 ft }, { from: 5 ft, to: 9 ft } ]",
            "not_recorded cables[0]",
        ),
        (
            "[ { from: 0 ft, to: 9 ft }, more ]",
            "not_recorded cables[0].spans",
        ),
        ("none", "meets"),
    ] {
        holds("", &[(run, &cable(spans), due)]);
    }
}

#[test]
fn two_readings_intersect_and_those_that_exclude_each_other_count_as_nothing() {
    let rule = "shall site.frost is at least 24 in";
    holds(
        "",
        &[
            (rule, "site: { frost: [ 24 in, 26 in ] }", "meets"),
            (
                rule,
                "site: { frost: [ 20 in, 26 in ] }",
                "not_recorded site.frost",
            ),
        ],
    );
    let report = reported("", rule, "site: { frost: [ 20 in, 26 in ] }", "hand_over");
    let disagrees = small::finding(&report, "record.agrees");
    assert_eq!(disagrees.verdict.name(), "falls_short");
    assert_eq!(disagrees.measured.as_deref(), Some("20 in and 26 in"));
    assert_eq!(report.exit_status, 1);
}

/// What is measured, the limit and the margin of the finding.
fn compared(clauses: &str, facts: &str) -> String {
    let report = reported("", clauses, facts, "hand_over");
    let finding = of_rule(&report).next().expect("one finding");
    let part = |part: &Option<String>| part.clone().unwrap_or_else(|| "none".to_owned());
    format!(
        "{} | {} | {}",
        part(&finding.measured),
        part(&finding.limit),
        part(&finding.margin)
    )
}

#[test]
fn a_finding_tells_the_comparison_that_decides() {
    let exact = "site: { frost: 24 in ± 0 in, people: 3, sloping: yes }";
    let rows = [
        (
            "shall site.frost is at least 20 in",
            exact,
            "24 in | 20 in | 4 in",
        ),
        (
            "shall site.frost is at most 20 in",
            exact,
            "24 in | 20 in | -4 in",
        ),
        // The limit is the side without facts, wherever it stands.
        (
            "shall 20 in is at most site.frost",
            exact,
            "24 in | 20 in | 4 in",
        ),
        // `not` turns the sign.
        (
            "shall not (site.frost is at most 20 in)",
            exact,
            "24 in | 20 in | 4 in",
        ),
        // The least that the record allows.
        (
            "shall site.frost is at least 20 in",
            "site: { frost: 24 in }",
            "24 in ± 1 in | 20 in | 3 in",
        ),
        // The first operand, as written, of the result's truth that has a margin.
        (
            "shall site.sloping and site.frost is at least 20 in",
            exact,
            "24 in | 20 in | 4 in",
        ),
        (
            "shall site.people is at least 2 and site.frost is at least 20 in",
            exact,
            "3 | 2 | 1",
        ),
        (
            "shall site.people is at least 2 and site.frost is at least 30 in",
            exact,
            "24 in | 30 in | -6 in",
        ),
        (
            "shall site.people is at least 9 or site.frost is at least 20 in",
            exact,
            "24 in | 20 in | 4 in",
        ),
        // Of two undecided, one has no margin: what is missing has no bounds.
        (
            "shall site.people is at least 2 and site.frost is at least 24 in",
            "site: { frost: 24 in }",
            "24 in ± 1 in | 24 in | -1 in",
        ),
        (
            "shall if site.sloping then site.frost is at least 20 in else site.people is 1",
            exact,
            "24 in | 20 in | 4 in",
        ),
        // Of `every` the least margin, of `some` the greatest.
        (
            "shall every w in wells has w.depth is at least 10 ft",
            TWO,
            "from 19.9167 ft to 20.0833 ft | 10 ft | 9.91667 ft",
        ),
        (
            "shall some w in wells has w.depth is at least 10 ft",
            TWO,
            "from 39.9167 ft to 40.0833 ft | 10 ft | 29.9167 ft",
        ),
        (
            "shall every w in wells has w.depth is at least 30 ft",
            TWO,
            "from 19.9167 ft to 20.0833 ft | 30 ft | -10.0833 ft",
        ),
        (
            "shall site.frost is at least 20 in",
            NONE,
            "none | 20 in | none",
        ),
    ];
    let wrong: Vec<String> = rows
        .iter()
        .filter_map(|(clauses, facts, due)| {
            let found = compared(clauses, facts);
            (found != *due).then(|| format!("{clauses}\n  due: {due}\n  got: {found}"))
        })
        .collect();
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

#[test]
fn what_is_due_follows_the_rules_hold_and_what_can_still_be_seen() {
    // The rule holds before cover; frost can be seen at permit, people until hand-over.
    let frost = "shall site.frost is at least 20 in";
    let people = "shall site.people is at least 2";
    let rows = [
        (frost, "site: { frost: 24 in }", "at_permit", "Later"),
        (frost, "site: { frost: 24 in }", "before_cover", "Now"),
        (frost, "site: { frost: 24 in }", "hand_over", "Now"),
        // Missing now, and the last moment to see it is this stage.
        (frost, NONE, "at_permit", "Now"),
        (frost, NONE, "before_cover", "Past"),
        (people, NONE, "at_permit", "Later"),
        (people, NONE, "hand_over", "Now"),
        // Of a list, the earliest of its facts' last moments: a cable's are before cover.
        (
            "shall every c in cables has c.insulated is at least 1 in",
            NONE,
            "before_cover",
            "Now",
        ),
        (
            "shall every c in cables has c.insulated is at least 1 in",
            NONE,
            "hand_over",
            "Past",
        ),
        (
            "shall every w in wells has w.depth is at least 1 in",
            NONE,
            "hand_over",
            "Now",
        ),
    ];
    let wrong: Vec<String> = rows
        .iter()
        .filter_map(|(clauses, facts, stage, due)| {
            let report = reported("", clauses, facts, stage);
            let found = of_rule(&report)
                .next()
                .map(|finding| format!("{:?}", finding.due));
            (found.as_deref() != Some(*due))
                .then(|| format!("{clauses} at {stage} of {facts}: due {due}, got {found:?}"))
        })
        .collect();
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

#[test]
fn the_exit_status_tells_the_gravest_of_what_is_due() {
    let rows = [
        (
            "shall site.sloping",
            "site: { sloping: yes }",
            "hand_over",
            0,
        ),
        (
            "shall site.sloping",
            "site: { sloping: no }",
            "hand_over",
            1,
        ),
        ("shall site.sloping", NONE, "hand_over", 3),
        (
            "shall site.frost is at least 24 in",
            "site: { frost: 24 in }",
            "hand_over",
            3,
        ),
        ("refer \"How?\"", NONE, "hand_over", 3),
        // Not yet due.
        (
            "shall site.sloping",
            "site: { sloping: no }",
            "at_permit",
            0,
        ),
        // Advice never changes it, nor does a precaution that refers.
        (
            "should site.sloping",
            "site: { sloping: no }",
            "hand_over",
            0,
        ),
        (
            "precaution site.sloping",
            "site: { sloping: no }",
            "hand_over",
            1,
        ),
        (
            "precaution site.sloping",
            "site: { sloping: yes }",
            "hand_over",
            0,
        ),
        (
            "shall site.sloping",
            "wells: none\nsite: { sloping: yes }",
            "hand_over",
            0,
        ),
    ];
    let wrong: Vec<String> = rows
        .iter()
        .filter_map(|(clauses, facts, stage, due)| {
            let status = reported("", clauses, facts, stage).exit_status;
            (status != *due).then(|| format!("{clauses} at {stage}: due {due}, got {status}"))
        })
        .collect();
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}
