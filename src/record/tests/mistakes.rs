//! Every mistake, as somebody who made it is told of it.

use miette::{GraphicalReportHandler, GraphicalTheme, NamedSource, Report};

use super::{HEAD, read_text, with_head};

/// A mistake's name and the least text that shows it.
fn wrong_records() -> Vec<(&'static str, String)> {
    let bodies = [
        // The text as YAML.
        ("open_bracket", "wells: [ { id: W-1 }"),
        ("tab", "site:\n\tfrost_depth: 30 in"),
        ("colon_in_value", "site: { frost_depth: 30 in }: 2"),
        ("unclosed_quote", "site:\n  soil: \"sandy"),
        ("percent", "%YAML 1.2"),
        (
            "anchor_and_alias",
            "site: { frost_depth: &depth 30 in, soil: *depth }",
        ),
        ("tag", "site: { frost_depth: !!str 30 in }"),
        (
            "merge_key",
            "site: { <<: { soil: clay }, frost_depth: 30 in }",
        ),
        ("second_document", "wells: none\n---\nrecord: 1"),
        ("list_as_key", "? [ a, b ]\n: 1"),
        (
            "duplicate_key",
            "site:\n  frost_depth: 30 in\n  soil: clay\n  frost_depth: 36 in",
        ),
        // The shape.
        ("site_is_a_value", "site: clay"),
        (
            "unknown_fact",
            "supply_cables: [ { spans: [ { covr: 24 in } ] } ]",
        ),
        ("unknown_list", "welds: none"),
        ("site_fact_at_margin", "frost_depth: 30 in"),
        ("list_under_site", "site: { wells: none }"),
        (
            "fact_of_another_thing",
            "building_sewers: [ { cover: 24 in } ]",
        ),
        ("head_key_in_thing", "wells: [ { datum: hydrant } ]"),
        ("empty_list", "wells: []"),
        ("list_is_a_mapping", "wells: { id: W-1 }"),
        ("element_is_a_value", "wells: [ W-1, { id: W-2 } ]"),
        ("only_the_word_more", "wells: more"),
        ("more_first", "wells: [ more, { id: W-1 } ]"),
        ("none_inside", "wells: [ none ]"),
        ("duplicate_id", "wells:\n  - { id: W-1 }\n  - { id: W-1 }"),
        (
            "unknown_reference",
            "wells: [ { id: W-1 } ]\nclearances: [ { to: W1 } ]",
        ),
        ("empty_id", "wells: [ { id: '' } ]"),
        // The values.
        (
            "bare_number",
            "supply_cables: [ { spans: [ { cover: 24 } ] } ]",
        ),
        (
            "bare_tolerance",
            "supply_cables: [ { spans: [ { cover: 24 in ± 1/4 } ] } ]",
        ),
        ("bare_slope", "supply_cables: [ { conduit_fall: 0.02 } ]"),
        (
            "slope_as_ratio",
            "supply_cables: [ { conduit_fall: 1:48 } ]",
        ),
        (
            "wrong_dimension",
            "supply_cables: [ { spans: [ { cover: 240 V } ] } ]",
        ),
        (
            "slope_as_length",
            "supply_cables: [ { conduit_fall: 2 in } ]",
        ),
        (
            "no_number",
            "supply_cables: [ { spans: [ { cover: about 2 ft } ] } ]",
        ),
        (
            "none_as_quantity",
            "supply_cables: [ { spans: [ { cover: none } ] } ]",
        ),
        ("thousands", "site: { frost_depth: \"1,200 mm\" }"),
        ("unknown_unit", "site: { frost_depth: 3 furlongs }"),
        (
            "unknown_size",
            "building_sewers: [ { nominal_size: 5 in } ]",
        ),
        (
            "misspelt_label",
            "supply_cables: [ { spans: [ { wiring: pvc40 } ] } ]",
        ),
        (
            "true_for_yes",
            "supply_cables: [ { spans: [ { ribbon: true } ] } ]",
        ),
        ("no_such_day", "site: { located_on: 2026-02-30 }"),
        ("american_date", "site: { located_on: 4/18/2026 }"),
        (
            "stated_with_tolerance",
            "building_sewers: [ { rated_length: 10 ft ± 1 in } ]",
        ),
        (
            "chainage_with_tolerance",
            "building_sewers: [ { length: 38 ft ± 1 in } ]",
        ),
        ("negative_tolerance", "site: { frost_depth: 30 in ± -1 in }"),
        ("several_in_one_list", "site: { frost_depth: [] }"),
        (
            "long_form_without_reads",
            "site: { frost_depth: { by: R. Ames } }",
        ),
        (
            "long_form_unknown_key",
            "site: { frost_depth: { reads: 30 in, whit: T-2 } }",
        ),
        (
            "unknown_way_to_read",
            "site: { frost_depth: { reads: 30 in, how: guessed } }",
        ),
        (
            "many_at_once",
            "site: { frost_depth: 30 }\nwells: []\nsupply_cables: [ { spans: [ { cover: 24, ribbon: maybe } ] } ]",
        ),
    ];
    let heads = [
        ("no_stage", "stage: before_cover\n", ""),
        ("no_recorded_date", ", date: 2026-04-18", ""),
        ("no_head_at_all", HEAD, ""),
        ("format_two", "record: 1", "record: 2"),
        ("unknown_stage", "stage: before_cover", "stage: befor_cover"),
        ("unknown_permit", "plumbing:", "plumbin:"),
        ("unknown_permit_key", "issued:", "isued:"),
        ("impossible_permit_date", "2026-03-02", "2026-13-02"),
        ("unknown_tolerance", "length: 1/4 in", "lenght: 1/4 in"),
        ("others_not_exact", "others: exact", "others: 1/4 in"),
        (
            "tolerance_of_wrong_dimension",
            "length: 1/4 in",
            "length: 2 %",
        ),
        ("bare_head_tolerance", "length: 1/4 in", "length: 0.25"),
        (
            "negative_head_tolerance",
            "length: 1/4 in",
            "length: -1/4 in",
        ),
        ("tolerance_of_chainage", "length: 1/4 in", "chainage: 1 in"),
        (
            "tolerances_as_one_value",
            "{ length: 1/4 in, elevation: 0.02 ft, others: exact }",
            "1/4 in",
        ),
        (
            "tolerance_missing",
            "length: 1/4 in, elevation: 0.02 ft, others: exact",
            "angle: 1 deg",
        ),
        (
            "plan_above_the_record",
            "datum:",
            "plan: { file: ../lot_07.geojson, tolerance: 0.3 ft }\ndatum:",
        ),
        (
            "datum_missing",
            "datum: benchmark on the hydrant at Mill and Third\n",
            "",
        ),
        (
            "variance_without_end",
            "datum:",
            "variances: [ { number: V-1, rule: a.b, subject: W-1, authority: Board, date: 2026-03-01, because: rock } ]\ndatum:",
        ),
    ];
    let body =
        "site: { frost_depth: 30 in }\nbuilding_sewers: [ { shots: [ { invert: 809.10 ft } ] } ]\n";
    let deep = format!("wells: {}{}", "[".repeat(40), "]".repeat(40));
    let many = "wells: [ { covr: 1 } ]\n".to_owned()
        + &(0..60)
            .map(|at| format!("unknown_{at}: 1\n"))
            .collect::<String>();
    let mut records: Vec<_> = bodies
        .into_iter()
        .map(|(name, body)| (name, with_head(body)))
        .collect();
    for (name, from, to) in heads {
        assert!(HEAD.contains(from), "{name} changes nothing");
        records.push((name, with_head(body).replace(from, to)));
    }
    records.push(("empty_file", String::new()));
    records.push(("a_list_as_record", "- 1".into()));
    records.push(("too_deep", with_head(&deep)));
    records.push(("more_than_fifty", with_head(&many)));
    records
}

fn told(text: &str) -> String {
    let mistakes = read_text(text).expect_err("the record is wrong");
    let handler = GraphicalReportHandler::new_themed(GraphicalTheme::unicode_nocolor())
        .with_width(80)
        .with_context_lines(1);
    let mut told = String::new();
    for mistake in mistakes {
        let source = NamedSource::new("lot_07.yaml", text.to_owned());
        let report = Report::new(mistake.error).with_source_code(source);
        handler
            .render_report(&mut told, report.as_ref())
            .expect("a text can be written to");
    }
    told
}

#[test]
fn each_mistake_is_told_with_its_place_and_its_mend() {
    for (name, text) in wrong_records() {
        insta::assert_snapshot!(name, told(&text));
    }
}

#[test]
fn a_mistake_far_along_a_line_is_told_without_its_column_being_drawn() {
    let one = with_head(&format!("wells: [ {}3 ]", "{}, ".repeat(20_000)));
    let mistakes = read_text(&one).expect_err("the record is wrong");
    let said = mistakes[0].error.to_string();
    assert!(
        said.ends_with("(byte 80010 of a line too long to show)"),
        "{said}"
    );
    assert!(told(&one).contains("a `well`"));
}

#[test]
fn every_mistake_has_a_record_that_makes_it() {
    let mut told: String = wrong_records()
        .iter()
        .map(|(_, text)| self::told(text))
        .collect();
    told += &told_of_too_much();
    for code in include_str!("../error.rs").split("code(").skip(1) {
        let code = code.split(')').next().expect("a code ends");
        assert!(told.contains(code), "no record shows {code}");
    }
}

/// What is told of files too large to keep as examples.
fn told_of_too_much() -> String {
    let large = "\n".repeat(super::super::yaml::MOST_BYTES + 1);
    let many = with_head(&format!("wells:\n{}", "- {}\n".repeat(600_000)));
    let far = with_head(&format!("wells: [ {}3 ]", "{}, ".repeat(20_000)));
    told(&large) + &told(&many) + &told(&far)
}
