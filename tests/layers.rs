//! Which rules are in force where and when, and where each limit came from.

mod small;

use groundrule::finding::{Finding, Report};
use groundrule::layers::{Direction, direction_of_cells, direction_of_limit};
use groundrule::library::Opened;
use small::{finding, findings, judged, mistakes_in, opened, verdicts};

/// A limit, one that the place sets, a table, and a rule on each.
const MODEL: &str = r#"topic t "Test" permit electrical

limit depth : length = 24 in cite code "2"
limit local : length set by the place "how deep the place asks" cite code "3"
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

/// A second topic, by the plumbing permit.
const OTHER: &str = r#"topic u "Other" permit plumbing

limit few : number = 4 cite code "5"

rule people {
  title  "Not too many"
  shall  site.people is at most few
  cite   code "1"
  hold   before_cover
  remedy "Ask."
}
"#;

/// A precaution, by no permit.
const SAFETY: &str = r#"topic safe "Safety" permit none

limit most : length = 60 in cite code "9"

rule trench {
  title      "Shallow enough to stand in"
  precaution site.frost is less than most
  cite       code "9"
  hold       before_cover
  remedy     "Shore it."
}
"#;

/// What stands beneath every lot of these tests.
const FACTS: &str = "site: { frost: 30 in, people: 3 }\ncables: [ { id: C-1, length: 9 ft, spans: [ { from: 0 ft, to: 9 ft, location: yard, cover: 26 in } ] } ]";

/// A place's file: `…` stands for a clause and a reason, `{}` lines after `|` for its own clauses.
fn place(clauses: &str, statements: &str) -> String {
    let statements = statements.replace('…', "cite law \"1\" because \"test\"");
    format!(
        "place \"A place (invented)\" {{\n  authority any \"Clerk (invented)\" \"Hall\"\n  {clauses}\n}}\n\n{statements}\n"
    )
}

/// The model and these places, each with its statements.
fn library(places: &[(&str, &str)]) -> Opened {
    let written: Vec<(String, String)> = places
        .iter()
        .map(|(path, statements)| (format!("jurisdictions/{path}/place"), place("", statements)))
        .collect();
    let mut files = vec![
        ("rules/t", MODEL),
        ("rules/u", OTHER),
        ("rules/safe", SAFETY),
    ];
    files.extend(
        written
            .iter()
            .map(|(name, text)| (name.as_str(), text.as_str())),
    );
    opened(&files)
}

/// The mistakes of the same.
fn mistaken(places: &[(&str, &str)]) -> String {
    let written: Vec<(String, String)> = places
        .iter()
        .map(|(path, statements)| (format!("jurisdictions/{path}/place"), place("", statements)))
        .collect();
    let mut files = vec![
        ("rules/t", MODEL),
        ("rules/u", OTHER),
        ("rules/safe", SAFETY),
    ];
    files.extend(
        written
            .iter()
            .map(|(name, text)| (name.as_str(), text.as_str())),
    );
    mistakes_in(&files)
}

/// A record at some places whose permits have this date.
fn record(places: &str, permits: &str, more: &str) -> String {
    format!(
        "record: 1\nlot: L-1\nplace: {places}\npermits: {permits}\nrecorded: {{ by: A. Tester, role: crew_lead, date: 2026-04-18 }}\nstage: hand_over\ntolerances: exact\n{more}\n{FACTS}\n"
    )
}

fn on(places: &str, date: &str) -> String {
    record(
        places,
        &format!(
            "{{ electrical: {{ number: E-1, issued: {date} }}, plumbing: {{ number: P-1, issued: {date} }} }}"
        ),
        "",
    )
}

fn at(library: &Opened, places: &str, date: &str) -> Report {
    judged(library, &on(places, date)).unwrap_or_else(|mistakes| panic!("{mistakes}"))
}

/// The rules in force but for what the program asks itself and precautions.
fn rules(report: &Report) -> Vec<&str> {
    let mut rules: Vec<&str> = findings(report)
        .iter()
        .map(|finding| finding.rule.as_str())
        .filter(|rule| !rule.starts_with("safe."))
        .collect();
    rules.dedup();
    rules
}

/// The way of a finding's first limit: each layer with its value, and its note's first word.
fn way(finding: &Finding) -> String {
    let limit = finding.limits.first().expect("it compares with a limit");
    let layers: Vec<String> = limit
        .way
        .iter()
        .map(|layer| {
            let note = layer.note.as_deref().map(|note| {
                let end = note.find(':').unwrap_or(note.len());
                format!(" ({})", &note[..end])
            });
            format!(
                "{} {}{}",
                layer.layer,
                layer.value,
                note.unwrap_or_default()
            )
        })
        .collect();
    format!("{} = {}", layers.join(", "), limit.value)
}

fn way_of_depth(library: &Opened, places: &str, date: &str) -> String {
    way(finding(&at(library, places, date), "t.deep"))
}

#[test]
fn a_topic_is_in_force_from_its_date_and_until_before_its_end() {
    let library = library(&[("state", "adopt t from 2020-01-01 until 2022-01-01 …")]);
    for (date, in_force) in [
        ("2019-12-31", false),
        ("2020-01-01", true),
        ("2021-12-31", true),
        ("2022-01-01", false),
    ] {
        let judged = judged(&library, &on("state", date));
        assert_eq!(judged.is_ok(), in_force, "{date}: {judged:?}");
    }
    let report = at(&library, "state", "2020-01-01");
    assert_eq!(rules(&report), ["t.deep", "t.local_depth", "t.cover"]);
    assert_eq!(report.topics_not_in_force, ["u"]);
    let finding = finding(&report, "t.deep");
    assert_eq!(finding.in_force_on.as_deref(), Some("2020-01-01"));
    assert_eq!(finding.permit.as_deref(), Some("electrical"));
}

#[test]
fn an_amendment_holds_for_its_period_and_tells_its_way() {
    let library = library(&[(
        "state",
        "adopt t from 2020-01-01 …\namend t.depth : 24 in becomes 32 in from 2021-01-01 until 2023-01-01 …",
    )]);
    let of = |date: &str| way_of_depth(&library, "state", date);
    assert_eq!(of("2020-12-31"), "model 24 in = 24 in");
    assert_eq!(of("2021-01-01"), "model 24 in, state 32 in = 32 in");
    assert_eq!(of("2022-12-31"), "model 24 in, state 32 in = 32 in");
    assert_eq!(of("2023-01-01"), "model 24 in = 24 in");
    let report = at(&library, "state", "2021-01-01");
    let finding = finding(&report, "t.deep");
    assert_eq!(finding.verdict.name(), "falls_short");
    let layer = &finding.limits[0].way[1];
    assert_eq!(layer.from.as_deref(), Some("2021-01-01"));
    assert_eq!(layer.until.as_deref(), Some("2023-01-01"));
    assert_eq!(layer.clause, "Local Law (invented) (2020), 1");
    assert_eq!(layer.because.as_deref(), Some("test"));
    assert_eq!(
        finding.clauses[0].document, "Local Law (invented)",
        "the local clause is first"
    );
}

#[test]
fn of_one_places_statements_the_latest_governs() {
    let library = library(&[(
        "state",
        "adopt t from 2020-01-01 …\namend t.depth : 24 in becomes 36 in from 2022-01-01 …\namend t.depth : 24 in becomes 32 in from 2021-01-01 …",
    )]);
    assert_eq!(
        way_of_depth(&library, "state", "2021-06-01"),
        "model 24 in, state 32 in = 32 in"
    );
    assert_eq!(
        way_of_depth(&library, "state", "2022-01-01"),
        "model 24 in, state 36 in = 36 in"
    );
}

#[test]
fn the_nearer_place_wins_over_the_farther() {
    let library = library(&[
        (
            "state",
            "adopt t from 2020-01-01 …\namend t.depth : 24 in becomes 32 in from 2021-01-01 …",
        ),
        (
            "state/county",
            "amend t.depth : 32 in becomes 36 in from 2021-06-01 …",
        ),
        (
            "state/county/town",
            "amend t.depth : 36 in becomes 28 in from 2022-01-01 …",
        ),
    ]);
    assert_eq!(
        way_of_depth(&library, "state/county/town", "2022-01-01"),
        "model 24 in, state 32 in, state/county 36 in, state/county/town 28 in = 28 in"
    );
    assert_eq!(
        way_of_depth(&library, "state/county", "2022-01-01"),
        "model 24 in, state 32 in, state/county 36 in = 36 in"
    );
}

#[test]
fn cells_are_amended_each_by_itself() {
    let library = library(&[(
        "state",
        "adopt t from 2020-01-01 …\namend t.least(yard) : 24 in becomes 28 in from 2021-01-01 …\namend t.least(rising) : no value becomes 12 in from 2021-01-01 …",
    )]);
    let report = at(&library, "state", "2021-01-01");
    assert_eq!(
        way(finding(&report, "t.cover")),
        "model 24 in, state 28 in = 28 in"
    );
    assert_eq!(verdicts(&report, "t.cover")[0].name(), "falls_short");
    let facts = on("state", "2021-01-01");
    let of = |location: &str| {
        let facts = facts.replace("location: yard", &format!("location: {location}"));
        let report = judged(&library, &facts).expect("it can be judged");
        way(finding(&report, "t.cover"))
    };
    assert_eq!(of("driveway"), "model 24 in = 24 in");
    assert_eq!(of("rising"), "model no value, state 12 in = 12 in");
}

#[test]
fn a_place_sets_what_the_model_leaves_to_it() {
    let library = library(&[
        (
            "state",
            "adopt t from 2020-01-01 …\nset t.local = 18 in from 2021-01-01 …",
        ),
        (
            "state/town",
            "amend t.local : 18 in becomes 36 in from 2022-01-01 …",
        ),
    ]);
    let unset = at(&library, "state", "2020-06-01");
    let unset = finding(&unset, "t.local_depth");
    assert_eq!(unset.verdict.name(), "refer");
    assert!(
        unset
            .question
            .as_deref()
            .is_some_and(|question| question.contains("how deep the place asks"))
    );
    let set = at(&library, "state", "2021-01-01");
    assert_eq!(verdicts(&set, "t.local_depth")[0].name(), "meets");
    assert_eq!(
        way(finding(&set, "t.local_depth")),
        "model no value, state 18 in = 18 in"
    );
    let amended = at(&library, "state/town", "2022-01-01");
    assert_eq!(verdicts(&amended, "t.local_depth")[0].name(), "falls_short");
}

const ADDED: &str = "{\n  title \"A ribbon\"\n  shall site.people is at least 1\n  cite law \"2\"\n  hold before_cover\n  remedy \"Lay it.\"\n}";

#[test]
fn rules_are_struck_replaced_and_added() {
    let library = library(&[
        ("state", "adopt t from 2020-01-01 …"),
        (
            "state/town",
            &format!(
                "strike rule t.cover from 2021-01-01 …\nreplace rule t.deep from 2022-01-01 …\n{ADDED}\nadd rule ribbon in t from 2023-01-01 …\n{ADDED}"
            ),
        ),
    ]);
    let of = |date: &str| at(&library, "state/town", date);
    assert_eq!(
        rules(&of("2020-06-01")),
        ["t.deep", "t.local_depth", "t.cover"]
    );
    assert_eq!(rules(&of("2021-06-01")), ["t.deep", "t.local_depth"]);
    let replaced = of("2022-06-01");
    assert_eq!(finding(&replaced, "t.deep").title, "A ribbon");
    assert_eq!(
        finding(&replaced, "t.deep").place.as_deref(),
        Some("state/town")
    );
    let added = of("2023-06-01");
    assert_eq!(
        rules(&added),
        ["t.deep", "t.local_depth", "t.ribbon@state/town"]
    );
    // Only there.
    assert_eq!(
        rules(&at(&library, "state", "2023-06-01")),
        ["t.deep", "t.local_depth", "t.cover"]
    );
}

#[test]
fn a_place_strikes_a_topic_that_an_outer_one_adopts() {
    let library = library(&[
        (
            "state",
            "adopt t from 2020-01-01 …\nadopt u from 2020-01-01 …",
        ),
        (
            "state/town",
            "strike topic t from 2021-01-01 until 2022-01-01 …",
        ),
    ]);
    assert_eq!(rules(&at(&library, "state/town", "2020-06-01")).len(), 4);
    assert_eq!(
        rules(&at(&library, "state/town", "2021-06-01")),
        ["u.people"]
    );
    assert_eq!(rules(&at(&library, "state/town", "2022-01-01")).len(), 4);
}

#[test]
fn each_topic_comes_from_the_place_with_a_say_on_it() {
    let library = library(&[
        ("state", "adopt u from 2020-01-01 …"),
        ("state/town", "amend u.few : 4 becomes 2 from 2020-01-01 …"),
        ("state/district", "adopt t from 2020-01-01 …"),
    ]);
    for both in [
        "[ state/town, state/district ]",
        "[ state/district, state/town ]",
    ] {
        let report = at(&library, both, "2020-06-01");
        assert_eq!(
            rules(&report),
            ["t.deep", "t.local_depth", "t.cover", "u.people"]
        );
        assert_eq!(
            way(finding(&report, "u.people")),
            "model 4, state/town 2 = 2"
        );
    }
}

#[test]
fn what_no_place_claims_is_left_to_the_part_that_they_share() {
    let library = library(&[
        (
            "state",
            "adopt u from 2020-01-01 …\namend u.few : 4 becomes 2 from 2020-01-01 …",
        ),
        ("state/town", "adopt t from 2020-01-01 …"),
        ("state/district", ""),
    ]);
    let report = at(&library, "[ state/town, state/district ]", "2020-06-01");
    assert_eq!(way(finding(&report, "u.people")), "model 4, state 2 = 2");
}

#[test]
fn what_two_of_three_places_share_is_not_lost() {
    let library = library(&[
        ("state", "adopt u from 2020-01-01 …"),
        ("state/county", "adopt t from 2020-01-01 …"),
        ("state/county/town", ""),
        ("state/county/village", ""),
        ("state/district", ""),
    ]);
    let places = "[ state/county/town, state/county/village, state/district ]";
    let report = at(&library, places, "2020-06-01");
    assert_eq!(
        rules(&report),
        ["t.deep", "t.local_depth", "t.cover", "u.people"]
    );
}

#[test]
fn the_place_says_which_of_a_permits_dates_counts() {
    let place = place(
        "date electrical applied",
        "adopt t from 2020-01-01 until 2021-01-01 …\nadopt u from 2020-01-01 …",
    );
    let library = opened(&[
        ("rules/t", MODEL),
        ("rules/u", OTHER),
        ("jurisdictions/town/place", &place),
    ]);
    let permits = "{ electrical: { number: E-1, applied: 2020-12-30, issued: 2021-02-01 }, plumbing: { number: P-1, issued: 2021-02-01 } }";
    let report = judged(&library, &record("town", permits, "")).expect("it can be judged");
    assert_eq!(
        finding(&report, "t.deep").in_force_on.as_deref(),
        Some("2020-12-30")
    );
    assert_eq!(
        finding(&report, "u.people").in_force_on.as_deref(),
        Some("2021-02-01")
    );
    // Without that date the rules can't be chosen, whatever the others are.
    let permits = "{ electrical: { number: E-1, issued: 2020-12-30 }, plumbing: { number: P-1, issued: 2021-02-01 } }";
    let report = judged(&library, &record("town", permits, "")).expect("it can be judged");
    assert_eq!(rules(&report), ["record.permit", "u.people"]);
}

#[test]
fn a_permit_that_is_not_there_is_not_recorded() {
    let library = library(&[(
        "state",
        "adopt t from 2020-01-01 …\nadopt u from 2020-01-01 …",
    )]);
    let permits = "{ plumbing: { number: P-1, issued: 2021-02-01 } }";
    let report = judged(&library, &record("state", permits, "")).expect("it can be judged");
    assert_eq!(rules(&report), ["record.permit", "u.people"]);
    let permit = finding(&report, "record.permit");
    assert_eq!(permit.verdict.name(), "not_recorded");
    assert_eq!(permit.missing[0].path, "permits.electrical");
    assert_eq!(permit.permit.as_deref(), Some("electrical"));
    assert_eq!(report.exit_status, 3);
    // Precautions don't wait for a permit.
    assert_eq!(verdicts(&report, "safe.trench").len(), 1);
}

#[test]
fn a_permit_that_had_expired_falls_short() {
    let library = library(&[("state", "adopt t from 2020-01-01 …")]);
    let with = |expires: &str| {
        let permits =
            format!("{{ electrical: {{ number: E-1, issued: 2021-02-01, expires: {expires} }} }}");
        judged(&library, &record("state", &permits, "")).expect("it can be judged")
    };
    // Recorded on 2026-04-18; the last day still counts.
    assert_eq!(verdicts(&with("2026-04-18"), "record.permit").len(), 0);
    let expired = with("2026-04-17");
    let permit = finding(&expired, "record.permit");
    assert_eq!(permit.verdict.name(), "falls_short");
    assert_eq!(permit.measured.as_deref(), Some("2026-04-18"));
    assert_eq!(permit.limit.as_deref(), Some("2026-04-17"));
    assert_eq!(expired.exit_status, 1);
}

#[test]
fn the_models_precautions_are_in_force_everywhere_by_the_recorded_date() {
    let library = library(&[("state", "adopt t from 2020-01-01 …"), ("other", "")]);
    let report = at(&library, "state", "2020-06-01");
    let trench = finding(&report, "safe.trench");
    assert_eq!(trench.verdict.name(), "refer");
    assert_eq!(trench.in_force_on.as_deref(), Some("2026-04-18"));
    // They are no rule in force.
    let nothing = judged(&library, &on("other", "2020-06-01")).expect_err("nothing is adopted");
    assert!(
        nothing.contains("no rule is in force at other"),
        "{nothing}"
    );
}

#[test]
fn where_only_tightening_is_allowed_loosening_has_no_force() {
    let library = library(&[
        (
            "state",
            "adopt t from 2020-01-01 …\nrestrict t.depth to tighten only from 2020-01-01 …",
        ),
        (
            "state/lax",
            "amend t.depth : 24 in becomes 18 in from 2020-01-01 …",
        ),
        (
            "state/strict",
            "amend t.depth : 24 in becomes 32 in from 2020-01-01 …",
        ),
    ]);
    assert_eq!(
        way_of_depth(&library, "state/lax", "2020-06-01"),
        "model 24 in, state/lax 18 in (without force) = 24 in"
    );
    assert_eq!(
        way_of_depth(&library, "state/strict", "2020-06-01"),
        "model 24 in, state/strict 32 in = 32 in"
    );
    let report = at(&library, "state/lax", "2020-06-01");
    assert_eq!(
        report.notices,
        [
            "state/lax: its statement on t.depth is without force: an outer place allows no such change"
        ]
    );
}

#[test]
fn a_statement_may_narrow_what_it_leaves() {
    let library = library(&[
        (
            "state",
            "adopt t from 2020-01-01 …\namend t.depth : 24 in becomes 30 in from 2020-01-01 … tighten only",
        ),
        (
            "state/lax",
            "amend t.depth : 30 in becomes 24 in from 2020-01-01 …",
        ),
    ]);
    assert_eq!(
        way_of_depth(&library, "state/lax", "2020-06-01"),
        "model 24 in, state 30 in, state/lax 24 in (without force) = 30 in"
    );
}

#[test]
fn what_is_fixed_is_neither_loosened_nor_tightened() {
    let library = library(&[
        (
            "state",
            "adopt t from 2020-01-01 …\nrestrict t.depth to fixed from 2020-01-01 …\nrestrict rule t.cover to tighten only from 2020-01-01 …",
        ),
        (
            "state/town",
            "amend t.depth : 24 in becomes 32 in from 2020-01-01 …\nstrike rule t.cover from 2020-01-01 …",
        ),
    ]);
    let report = at(&library, "state/town", "2020-06-01");
    assert_eq!(
        way(finding(&report, "t.deep")),
        "model 24 in, state/town 32 in (without force) = 24 in"
    );
    assert_eq!(
        verdicts(&report, "t.cover").len(),
        1,
        "the strike has no force"
    );
    assert!(
        report
            .notices
            .iter()
            .any(|notice| notice
                .starts_with("state/town: its statement on t.cover is without force")),
        "{:?}",
        report.notices
    );
}

#[test]
fn what_a_precaution_uses_may_only_be_tightened() {
    let library = library(&[
        ("state", "adopt t from 2020-01-01 …"),
        (
            "state/lax",
            "amend safe.most : 60 in becomes 72 in from 2020-01-01 …",
        ),
        (
            "state/strict",
            "amend safe.most : 60 in becomes 24 in from 2020-01-01 …",
        ),
    ]);
    let of = |place: &str| way(finding(&at(&library, place, "2020-06-01"), "safe.trench"));
    assert_eq!(
        of("state/lax"),
        "model 60 in, state/lax 72 in (without force) = 60 in"
    );
    assert_eq!(
        of("state/strict"),
        "model 60 in, state/strict 24 in = 24 in"
    );
}

#[test]
fn what_can_not_be_told_has_no_force_where_only_tightening_is_allowed() {
    let both = MODEL.replace(
        "rule local_depth",
        "rule shallow {\n  title \"Not too deep\"\n  shall site.frost is at most 2 × depth\n  cite code \"1\"\n  hold before_cover\n  remedy \"Fill.\"\n}\n\nrule local_depth",
    );
    let state = place(
        "",
        "adopt t from 2020-01-01 …\nrestrict t.depth to tighten only from 2020-01-01 …",
    );
    let town = place("", "amend t.depth : 24 in becomes 32 in from 2020-01-01 …");
    let library = opened(&[
        ("rules/t", &both),
        ("jurisdictions/state/place", &state),
        ("jurisdictions/state/town/place", &town),
    ]);
    assert_eq!(
        way_of_depth(&library, "state/town", "2020-06-01"),
        "model 24 in, state/town 32 in (without force) = 24 in"
    );
    let notices = at(&library, "state/town", "2020-06-01").notices;
    assert!(notices[0].contains("can't be told"), "{notices:?}");
}

#[test]
fn what_one_place_adds_does_not_change_what_another_may_do() {
    let shallow = "add rule shallow in t from 2020-01-01 …\n{\n  title \"Not too deep\"\n  shall site.frost is at most 2 × t.depth\n  cite law \"2\"\n  hold before_cover\n  remedy \"Fill.\"\n}";
    let library = library(&[
        (
            "state",
            "adopt t from 2020-01-01 …\nrestrict t.depth to tighten only from 2020-01-01 …",
        ),
        (
            "state/town",
            "amend t.depth : 24 in becomes 32 in from 2020-01-01 …",
        ),
        ("state/other", shallow),
    ]);
    assert_eq!(
        way_of_depth(&library, "state/town", "2020-06-01"),
        "model 24 in, state/town 32 in = 32 in"
    );
}

#[test]
fn a_stale_amendment_holds_and_is_noticed() {
    let library = library(&[
        (
            "state",
            "adopt t from 2020-01-01 …\namend t.depth : 24 in becomes 28 in from 2022-01-01 …",
        ),
        (
            "state/town",
            "amend t.depth : 24 in becomes 32 in from 2021-01-01 …",
        ),
    ]);
    assert_eq!(
        way_of_depth(&library, "state/town", "2021-06-01"),
        "model 24 in, state/town 32 in = 32 in"
    );
    let report = at(&library, "state/town", "2022-06-01");
    assert_eq!(
        way(finding(&report, "t.deep")),
        "model 24 in, state 28 in, state/town 32 in (stale) = 32 in"
    );
    assert_eq!(report.notices.len(), 1, "{:?}", report.notices);
    assert!(report.notices[0].starts_with("state/town: its statement on t.depth is stale"));
}

#[test]
fn a_strike_older_than_an_outer_replacement_holds_and_is_noticed() {
    let replaced =
        format!("adopt t from 2020-01-01 …\nreplace rule t.deep from 2022-01-01 …\n{ADDED}");
    let library = library(&[
        ("state", &replaced),
        ("state/town", "strike rule t.deep from 2021-01-01 …"),
    ]);
    let fresh = at(&library, "state/town", "2021-06-01");
    assert!(fresh.notices.is_empty(), "{:?}", fresh.notices);
    let stale = at(&library, "state/town", "2022-06-01");
    assert!(verdicts(&stale, "t.deep").is_empty());
    assert!(
        stale.notices[0].starts_with("state/town: its statement on t.deep is stale"),
        "{:?}",
        stale.notices
    );
}

#[test]
fn the_order_of_files_changes_nothing() {
    let head = place("", "adopt t from 2020-01-01 …");
    let first = "amend t.depth : 24 in becomes 32 in from 2021-01-01 …\nstrike rule t.cover from 2021-01-01 …\n";
    let second = format!(
        "amend t.depth : 24 in becomes 36 in from 2022-01-01 …\nadd rule ribbon in t from 2020-01-01 …\n{ADDED}\n"
    );
    let cite = |text: &str| text.replace('…', "cite law \"1\" because \"test\"");
    let (first, second) = (cite(first), cite(&second));
    let report = |a: &str, b: &str, model: &str| {
        let library = opened(&[
            (model, MODEL),
            ("rules/m", OTHER),
            ("jurisdictions/state/m", &head),
            ("jurisdictions/state/a", a),
            ("jurisdictions/state/z", b),
        ]);
        let mut report = at(&library, "state", "2022-06-01");
        report.ruleset_digest.clear();
        report
    };
    let one = report(&first, &second, "rules/a");
    assert_eq!(one, report(&second, &first, "rules/a"));
    let mut other = report(&first, &second, "rules/z");
    // Topics are told in the order of their files; what is told of each is the same.
    let key = |finding: &Finding| finding.rule.clone();
    let mut one = one;
    for report in [&mut one, &mut other] {
        report
            .findings
            .as_mut()
            .expect("it was judged")
            .sort_by_key(key);
    }
    assert_eq!(one, other);
}

#[test]
fn a_place_decides_by_topic_whether_tolerances_count() {
    let library = opened(&[
        ("rules/t", MODEL),
        ("rules/u", OTHER),
        ("rules/safe", SAFETY),
        (
            "jurisdictions/state/place",
            &place(
                "decision t as_read\n  decision safe as_read",
                "adopt t from 2020-01-01 …",
            ),
        ),
        (
            "jurisdictions/state/town/place",
            &place("decision t banded", ""),
        ),
    ]);
    let of = |place: &str, frost: &str, rule: &str| {
        let text = on(place, "2020-06-01").replace("frost: 30 in", &format!("frost: {frost}"));
        let report = judged(&library, &text).expect("it can be judged");
        let finding = finding(&report, rule);
        format!(
            "{} {} {}",
            finding.verdict.name(),
            finding.banded.name(),
            finding.as_read.name()
        )
    };
    assert_eq!(
        of("state", "24 in ± 1 in", "t.deep"),
        "meets too_close meets"
    );
    assert_eq!(
        of("state", "23.9 in ± 1 in", "t.deep"),
        "falls_short too_close falls_short"
    );
    assert_eq!(
        of("state/town", "24 in ± 1 in", "t.deep"),
        "too_close too_close meets"
    );
    // A precaution is always banded.
    assert_eq!(
        of("state", "59 in ± 1 in", "safe.trench"),
        "too_close too_close refer"
    );
}

const VARIANCE: &str = "variance \"V-1\" {\n  rule t.cover\n  lot \"L-1\"\n  subject \"C-1\"\n  authority \"Board (invented)\"\n  date 2026-01-01\n  until 2026-12-31\n  because \"rock\"\n}\n";

fn shallow(library: &Opened, more: &str) -> Report {
    let permits = "{ electrical: { number: E-1, issued: 2020-06-01 } }";
    let text = record("state", permits, more).replace("cover: 26 in", "cover: 20 in");
    judged(library, &text).unwrap_or_else(|mistakes| panic!("{mistakes}"))
}

#[test]
fn a_granted_variance_changes_the_status_and_no_verdict() {
    let adopt = "adopt t from 2020-01-01 …\nset t.local = 1 in from 2020-01-01 …\n";
    let library = library(&[("state", &format!("{adopt}{VARIANCE}"))]);
    let report = shallow(&library, "");
    let cover = finding(&report, "t.cover");
    assert_eq!(cover.verdict.name(), "falls_short");
    let variance = cover.variance.as_ref().expect("it is granted");
    assert_eq!(
        (variance.number.as_str(), variance.granted, variance.valid),
        ("V-1", true, true)
    );
    assert_eq!(report.exit_status, 3);
    assert!(report.notices.is_empty(), "{:?}", report.notices);
}

#[test]
fn an_expired_or_claimed_variance_changes_nothing() {
    let adopt = "adopt t from 2020-01-01 …\nset t.local = 1 in from 2020-01-01 …\n";
    let expired = VARIANCE.replace("until 2026-12-31", "until 2026-04-17");
    let granted = library(&[("state", &format!("{adopt}{expired}"))]);
    let report = shallow(&granted, "");
    assert_eq!(report.exit_status, 1);
    assert_eq!(
        report.notices,
        ["variance V-1 (granted) for t.cover had expired when this was recorded"]
    );
    let none = library(&[("state", adopt)]);
    let claimed = "variances: [ { number: V-2, rule: t.cover, subject: C-1, authority: Board, date: 2026-01-01, until: no end, because: rock } ]";
    let report = shallow(&none, claimed);
    let variance = finding(&report, "t.cover")
        .variance
        .as_ref()
        .expect("it is claimed");
    assert!(!variance.granted);
    assert_eq!(report.exit_status, 1);
    // One that matches nothing is told.
    let elsewhere = claimed.replace("subject: C-1", "subject: C-9");
    assert_eq!(
        shallow(&none, &elsewhere).notices,
        ["variance V-2 (claimed) for t.cover matches no finding that falls short or refers"]
    );
}

macro_rules! shows {
    ($($name:ident: $text:expr;)*) => {
        $(#[test]
        fn $name() {
            insta::assert_snapshot!(stringify!($name), $text);
        })*
    };
}

/// Why a record can't be judged.
fn refused(places: &[(&str, &str)], at: &str) -> String {
    let library = library(places);
    judged(&library, &on(at, "2020-06-01")).expect_err("it can't be judged")
}

/// A rule of one topic that uses another's limit.
fn lent(statements: &str, inner: &str) -> String {
    let borrower = OTHER.replace(
        "site.people is at most few",
        "site.people is at most few and site.frost is at least t.depth",
    );
    mistakes_in(&[
        ("rules/t", MODEL),
        ("rules/u", &borrower),
        ("jurisdictions/state/place", &place("", statements)),
        ("jurisdictions/state/town/place", &place("", inner)),
    ])
}

shows! {
    unknown_place: refused(&[("aldmoor/velder", "adopt t from 2020-01-01 …")], "aldmoor/veldre");
    two_places_claim: refused(&[("state/town", "adopt t from 2020-01-01 …"), ("state/district", "adopt t from 2020-01-01 …")], "[ state/town, state/district ]");
    no_rules: refused(&[("state", "adopt t from 2021-01-01 …")], "state");
    no_rules_ever: refused(&[("state", "")], "state");
    target_missing: mistaken(&[("state", "adopt t from 2020-01-01 until 2022-01-01 …\nstrike rule t.cover from 2021-01-01 …")]);
    target_missing_topic: mistaken(&[("state", "adopt t from 2020-01-01 until 2022-01-01 …"), ("state/town", "strike topic t from 2021-01-01 …")]);
    limit_not_adopted: lent("adopt u from 2020-01-01 …", "");
    limit_not_adopted_after_a_strike: lent("adopt u from 2020-01-01 …\nadopt t from 2020-01-01 …", "strike topic t from 2021-01-01 …");
}

/// Which way `k` or the cells of `steps` are looser, as a rule with these clauses uses them.
fn direction(items: &str, clauses: &str) -> Direction {
    let topic = format!(
        "topic t \"Test\" permit electrical\n\nlimit k : length = 24 in cite code \"1\"\ntable steps (at: location) gives length cite code \"1\" {{\n  any : 24 in\n}}\n{items}\n\nrule r {{\n  title \"Test\"\n  {clauses}\n  cite code \"1\"\n  hold before_cover\n  remedy \"Mend it.\"\n}}\n\nrule unturned {{\n  title \"Test\"\n  refer \"Is it so?\"\n  when site.sloping\n  cite code \"1\"\n  hold before_cover\n  remedy \"Mend it.\"\n}}\n"
    );
    let topic = topic.replace(
        "  refer \"Is it so?\"\n  when site.sloping\n",
        "  when site.sloping\n  refer \"Is it so?\"\n",
    );
    let uses_cells = clauses.contains("steps(") || items.contains("steps(");
    let topic = if uses_cells {
        let start = topic.find("limit k").expect("it is declared");
        let end = topic.find("table steps").expect("it is declared");
        format!("{}{}", &topic[..start], &topic[end..])
    } else {
        let start = topic.find("table steps").expect("it is declared");
        let end = start + topic[start..].find("}\n").expect("it ends") + 2;
        format!("{}{}", &topic[..start], &topic[end..])
    };
    let library = opened(&[("rules/t", &topic)]).library;
    if uses_cells {
        let at = library
            .tables
            .iter()
            .position(|table| table.name == "steps");
        let at = u32::try_from(at.expect("it is declared")).expect("few tables");
        direction_of_cells(&library, groundrule::check::typed::TableId(at))
    } else {
        let at = library.limits.iter().position(|limit| limit.name == "k");
        let at = u32::try_from(at.expect("it is declared")).expect("few limits");
        direction_of_limit(&library, groundrule::check::typed::LimitId(at))
    }
}

#[test]
fn which_way_a_limit_is_looser_follows_its_use() {
    use Direction::{CannotTell, RisingLoosens, RisingTightens};
    let each = "each c in cables\n  each s in c.spans\n  ";
    let rows = [
        ("", "shall site.frost is at least k", RisingTightens),
        ("", "shall site.frost is more than k", RisingTightens),
        ("", "shall site.frost is at most k", RisingLoosens),
        ("", "shall k is at least site.frost", RisingLoosens),
        ("", "shall not (site.frost is at least k)", RisingLoosens),
        (
            "",
            "when site.frost is at least k\n  shall site.sloping",
            RisingLoosens,
        ),
        (
            "",
            "when site.frost is at most k\n  shall site.sloping",
            RisingTightens,
        ),
        (
            "",
            "when not (site.frost is at most k)\n  shall site.sloping",
            RisingLoosens,
        ),
        (
            "",
            "shall site.frost is at least k and site.sloping",
            RisingTightens,
        ),
        (
            "",
            "shall site.frost is at least k or site.sloping",
            RisingTightens,
        ),
        (
            "",
            "shall every w in wells has w.depth is at least k",
            RisingTightens,
        ),
        (
            "",
            "shall some w in wells has w.depth is at least k",
            RisingTightens,
        ),
        ("", "shall site.frost is at least k + 2 in", RisingTightens),
        ("", "shall site.frost is at least 30 in - k", RisingLoosens),
        ("", "shall site.frost is at least -k", RisingLoosens),
        ("", "shall site.frost is at least 2 × k", RisingTightens),
        (
            "",
            "shall site.frost is at least k × site.people",
            RisingTightens,
        ),
        ("", "shall site.people is at least 24 in / k", RisingLoosens),
        ("", "shall (k in in) is at most site.people", RisingTightens),
        (
            "",
            "shall site.people is at least (k in in) ^ 2",
            RisingTightens,
        ),
        (
            "",
            "shall site.frost is at least (lesser of k and 20 in)",
            RisingTightens,
        ),
        (
            "",
            "shall site.frost is at least (greater of k and 20 in)",
            RisingTightens,
        ),
        (
            "",
            "shall (total of w.depth - k for w in wells) is at least 1 ft",
            RisingTightens,
        ),
        (
            "",
            "shall (count of w in wells where w.depth is at least k) is at least 1",
            RisingTightens,
        ),
        (
            "",
            "shall (count of w in wells where w.depth is at least k) is at most 1",
            RisingLoosens,
        ),
        (
            "define more (than: length) gives length = 2 × than",
            "shall site.frost is at least more(k)",
            RisingTightens,
        ),
        (
            "define less (than: length) gives length = 90 in - than",
            "shall site.frost is at least less(k)",
            RisingLoosens,
        ),
        (
            "",
            "shall site.frost is at least (if site.sloping then k else 20 in)",
            RisingTightens,
        ),
        // What can't be followed, or points both ways.
        ("", "shall site.frost is k", CannotTell),
        ("", "shall site.frost is one of k, 20 in", CannotTell),
        (
            "",
            "shall if site.frost is at least k then site.sloping else site.people is 1",
            CannotTell,
        ),
        (
            "",
            "each w in wells\n  shall site.people is at least w.depth / (k - w.depth)",
            CannotTell,
        ),
        (
            "",
            "each w in wells\n  shall (site.frost in in) is at least w.depth × k / (1 ft × 1 ft)",
            CannotTell,
        ),
        (
            "",
            "shall site.frost is at least k and site.frost is at most 2 × k",
            CannotTell,
        ),
        (
            "",
            "when site.frost is at most k\n  shall site.frost is at most k + 1 in",
            CannotTell,
        ),
        (
            "define step (depth: length) gives length = 2 × depth",
            "when site.frost is at most k\n  shall site.frost is at least step(k)",
            RisingTightens,
        ),
    ];
    let mut wrong = Vec::new();
    for (items, clauses, due) in rows {
        let found = direction(items, clauses);
        if found != due {
            wrong.push(format!("{items} {clauses}: due {due:?}, got {found:?}"));
        }
    }
    let cells = [
        (
            format!("{each}shall s.cover is at least steps(s.location)"),
            RisingTightens,
        ),
        (
            format!("{each}shall s.cover is at most steps(s.location)"),
            RisingLoosens,
        ),
        (
            format!("{each}when s.cover is at most steps(s.location)\n  shall s.warned"),
            RisingTightens,
        ),
    ];
    for (clauses, due) in cells {
        let found = direction("", &clauses);
        if found != due {
            wrong.push(format!("{clauses}: due {due:?}, got {found:?}"));
        }
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

#[test]
fn a_key_of_a_table_tells_nothing_of_its_direction() {
    let items = "table by_depth (depth: length) gives length cite code \"1\" {\n  up to 10 in : 1 in\n  up to 90 in : 2 in\n}";
    assert_eq!(
        direction(items, "shall site.frost is at least by_depth(k)"),
        Direction::CannotTell
    );
}

#[test]
fn a_later_list_does_not_lend_its_range_to_an_earlier_quantifier() {
    // The `when`'s stretch and the later cable have one number; only covers are never negative.
    let items = "";
    let clauses = "each c in cables\n  when every w in wells has (site.frost in in) is at least w.depth × k / (1 ft × 1 ft)\n  each s in c.spans\n  shall s.warned";
    assert_eq!(direction(items, clauses), Direction::CannotTell);
}
