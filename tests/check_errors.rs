//! Each mistake that a library can hold, as its author sees it: the shortest text that causes it.

mod small;

use small::mistakes_in;

/// Formulas, each of the one before it.
fn chained_defines() -> String {
    let mut items = "define d0 (x: number) gives number = x\n".to_owned();
    for at in 1..70 {
        items.push_str(&format!(
            "define d{at} (x: number) gives number = d{}(x)\n",
            at - 1
        ));
    }
    topic(&items)
}

/// Rules of eight thousand steps each.
fn hundreds_of_costly_rules() -> String {
    let mut items = "define d0 (x: number) gives number = x cite code \"1\"\n".to_owned();
    for at in 1..12 {
        items.push_str(&format!(
            "define d{at} (x: number) gives number = d{0}(x) + d{0}(x) cite code \"1\"\n",
            at - 1
        ));
    }
    for at in 0..400 {
        let rule = rule_with("shall  d11(site.people) is at least 1");
        items.push_str(&rule.replace("rule r ", &format!("rule r{at} ")));
    }
    topic(&items)
}

/// Tables of a hundred thousand values each.
fn eleven_large_tables() -> String {
    let labels: String = (0..316).map(|at| format!(" l{at}")).collect();
    let vocabulary = format!("choice many \"Many (invented)\" {{{labels} }}\n");
    let mut topic = "topic t \"Test\" permit electrical\n\n".to_owned();
    for at in 0..11 {
        topic.push_str(&format!(
            "table t{at} (a: many, b: many) gives length cite code \"2\" {{\n  any, any : 1 in\n}}\n\n"
        ));
    }
    let told = mistakes_in(&[("rules/t", &topic), ("shared/many", &vocabulary)]);
    // Behind it stands that no rule reads the tables.
    told.split("\n\n").take(2).collect::<Vec<_>>().join("\n\n")
}

/// A file of rules with these items, in a topic.
fn topic(items: &str) -> String {
    mistakes_in(&[(
        "rules/t",
        &format!("topic t \"Test\" permit electrical\n\n{items}\n"),
    )])
}

/// A rule of a stretch with these clauses besides its title and the like.
fn rule_with(clauses: &str) -> String {
    format!(
        "rule r {{\n  title  \"Test\"\n  each   cable in cables\n  each   span in cable.spans\n  {clauses}\n  cite   code \"1\"\n  hold   before_cover\n  remedy \"Mend it.\"\n}}\n"
    )
}

/// These items, and a rule that asks this of a stretch.
fn shall(items: &str, condition: &str) -> String {
    topic(&format!(
        "{items}\n\n{}",
        rule_with(&format!("shall  {condition}"))
    ))
}

/// A place that makes these statements, beside a topic.
fn in_place(statements: &str) -> String {
    mistakes_in(&[
        ("rules/t", &whole_topic()),
        (
            "jurisdictions/town/place",
            &format!("{}\n{statements}\n", head("Town")),
        ),
    ])
}

fn head(name: &str) -> String {
    format!(
        "place \"{name} (invented)\" {{\n  authority any \"Clerk (invented)\" \"Town hall\"\n}}\n"
    )
}

/// A topic without mistakes: a limit, one set by the place, a table, two rules.
fn whole_topic() -> String {
    let rules = rule_with("shall  span.cover is at least depth");
    format!(
        "topic t \"Test\" permit electrical\n\n\
         limit depth : length = 24 in cite code \"2\"\n\
         limit local : length set by the place cite code \"3\"\n\
         table least (at: location) gives length cite code \"4\" {{\n  yard or driveway : 24 in\n  rising : no value\n}}\n\n\
         {rules}\n\
         rule s {{\n  title  \"Test\"\n  each   cable in cables\n  each   span in cable.spans\n  \
         shall  span.cover is at least least(span.location) and span.cover is at least local\n  \
         cite   code \"1\"\n  hold   before_cover\n  remedy \"Mend it.\"\n}}\n"
    )
}

const WHY: &str = "cite law \"1\" because \"test\"";

/// The trenches of a site, as a precaution.
const PRECAUTION: &str = "topic safe \"Safety\" permit none\n\nlimit deep : length = 4 ft cite code \"9\"\n\nrule trench {\n  title  \"Test\"\n  precaution site.frost is less than deep\n  cite   code \"1\"\n  hold   before_cover\n  remedy \"Mend it.\"\n}\n";

macro_rules! shows {
    ($($name:ident: $text:expr;)*) => {
        $(#[test]
        fn $name() {
            insta::assert_snapshot!(stringify!($name), $text);
        })*
    };
}

shows! {
    unknown_fact: shall("", "span.covr is at least 24 in");
    unknown_fact_like_no_other: shall("", "span.temperature_of_the_day is at least 24 in");
    unknown_name: shall("", "handl_height is at most 2 m");
    unknown_name_near_a_limit: shall("limit handle_height : length = 2 m cite code \"1\"", "span.cover is at most handl_height");
    unknown_list: topic("rule r {\n  title \"Test\"\n  each cable in cabels\n  shall record cable.insulated\n  cite code \"1\"\n  hold before_cover\n  remedy \"Mend it.\"\n}");
    unknown_hold: topic(&rule_with("shall  span.warned").replace("before_cover", "before_covre"));
    unknown_source: topic(&rule_with("shall  span.warned").replace("cite   code", "cite   cod"));
    unknown_permit: mistakes_in(&[("rules/t", "topic t \"Test\" permit electric\n")]);
    unknown_function: shall("", "least_cover(span) is at least 24 in");
    unknown_type: topic("limit depth : lenght = 24 in cite code \"1\"");
    unknown_label: shall("", "span.location is garden");
    unknown_label_of_a_size: topic("table t2 (nominal: pipe_size) gives length cite code \"1\" {\n  2 1/2 in and over : 1 in\n}");
    quantity: shall("", "span.cover is at least 24 inn");
    unknown_unit: shall("", "(span.cover in feets) is at least 2");
    tolerance_is_no_part_of_the_language: topic("limit depth : length = 24 in ± 1/4 in cite code \"1\"");
    dimension_mismatch: shall("", "span.cover is at least 3 psi");
    dimension_mismatch_of_a_size: topic("rule r {\n  title \"Test\"\n  each sewer in sewers\n  shall sewer.shift is at least sewer.nominal\n  cite code \"1\"\n  hold before_cover\n  remedy \"Mend it.\"\n}");
    dimension_mismatch_of_a_sum: shall("", "span.cover + span.location is at least 3 in");
    sum_of_points: topic("rule r {\n  title \"Test\"\n  each a in sewers\n  shall a.inlet + a.outlet is at least a.inlet\n  cite code \"1\"\n  hold before_cover\n  remedy \"Mend it.\"\n}");
    literal_elevation: topic("rule r {\n  title \"Test\"\n  each a in sewers\n  shall a.inlet is at least 800 ft\n  cite code \"1\"\n  hold before_cover\n  remedy \"Mend it.\"\n}");
    expected: shall("", "span.cover");
    expected_a_length: shall("define twice (depth: length) gives length = depth + depth cite code \"1\"", "span.cover is at least twice(3 psi)");
    expected_a_value_found_a_thing: shall("", "span is at least 24 in");
    expected_a_value_found_a_list: shall("", "cable.spans is at least 24 in");
    expected_an_order: shall("", "span.location is at least yard");
    bare_slope: topic("limit fall : slope = 0.02 cite code \"1\"");
    bare_number: topic("limit depth : length = 24 cite code \"1\"");
    bare_number_compared: shall("", "span.cover is at least 24");
    argument_count: shall("table least (at: location) gives length cite code \"1\" {\n  any : 24 in\n}", "span.cover is at least least(span.location, span.cover)");
    argument_count_in_a_row: topic("table least (at: location) gives length cite code \"1\" {\n  yard, rising : 24 in\n}");
    power: shall("", "span.cover ^ 1/2 is at least 24 in");
    declared_twice: topic("limit depth : length = 24 in cite code \"1\"\nlimit depth : length = 30 in cite code \"1\"");
    declared_twice_in_two_files: mistakes_in(&[("rules/a", "topic t \"Test\" permit electrical\n"), ("rules/b", "topic t \"Test\" permit electrical\n")]);
    declared_twice_bound: shall("", "some span in cable.spans has span.warned");
    no_topic: mistakes_in(&[("rules/t", "rule r {\n  shall site.sloping\n}\n")]);
    no_topic_for_a_limit: mistakes_in(&[("rules/t", "limit depth : length = 24 in cite code \"1\"\n")]);
    second_topic: mistakes_in(&[("rules/t", "topic a \"Test\" permit electrical\ntopic b \"Test\" permit electrical\n")]);
    clause_missing: topic("rule r {\n  shall site.sloping\n  cite code \"1\"\n}");
    clause_missing_obligation: topic("rule r {\n  title \"Test\"\n  cite code \"1\"\n  hold hand_over\n  remedy \"Mend it.\"\n}");
    clause_twice: topic(&rule_with("shall  span.warned\n  hold   hand_over"));
    clause_twice_obligation: topic(&rule_with("shall  span.warned\n  should span.warned"));
    head_after_obligation: topic(&rule_with("shall  span.warned\n  when   site.sloping"));
    no_citation: topic("limit depth : length = 24 in\n");
    no_citation_of_a_rule: topic(&rule_with("shall  span.warned").replace("  cite   code \"1\"\n", ""));
    never_used: topic("limit depth : length = 24 in cite code \"1\"");
    defined_by_itself: topic("define a (x: number) gives number = b(x)\ndefine b (x: number) gives number = a(x)\n");
    table_gap: topic("table least (at: pipe_size) gives length cite code \"1\" {\n  3 in : 24 in\n}");
    table_overlap: topic("table least (at: pipe_size) gives length cite code \"1\" {\n  up to 3 in : 24 in\n  3 in and over : 30 in\n}");
    key_form: topic("table least (at: location) gives length cite code \"1\" {\n  up to driveway : 24 in\n  rising : 30 in\n}");
    key_form_of_a_quantity: topic("table least (at: length) gives length cite code \"1\" {\n  up to 10 ft : 24 in\n  from 10 ft : 30 in\n}");
    key_reversed: topic("table least (at: pipe_size) gives length cite code \"1\" {\n  4 in to 2 in : 24 in\n}");
    unset_in_when: topic(&format!("limit local : length set by the place cite code \"1\"\n\n{}", rule_with("when   span.cover is at least local\n  shall  span.warned")));
    equivalents_not_alone: shall("limit flat : number = 2 % or 0.02 cite code \"1\"", "site.people + 1 % is at least 2 × flat");
    equivalents_under_not: shall("limit flat : number = 2 or 3 cite code \"1\"", "not (site.people is at least flat)");
    too_costly: doubling_defines();
    too_costly_together: hundreds_of_costly_rules();
    too_many_calls: chained_defines();
    too_many_cells: eleven_large_tables();
    too_nested: topic("rule r {\n  title \"Test\"\n  each a in cables\n  each b in cables\n  each c in cables\n  each d in cables\n  shall record d.insulated\n  cite code \"1\"\n  hold before_cover\n  remedy \"Mend it.\"\n}");
    not_a_precaution: mistakes_in(&[("rules/t", &format!("topic t \"Test\" permit none\n\n{}", rule_with("shall  span.warned")))]);
    source_clause: mistakes_in(&[("shared/more", "source county {\n  publisher \"County (invented)\"\n  edition \"2020\"\n  kind local\n}\n")]);
    source_clause_of_no_kind: mistakes_in(&[("shared/more", "source county {\n  title \"County Law (invented)\"\n  publisher \"County (invented)\"\n  edition \"2020\"\n  kind ordinance\n}\n")]);
    statement_outside_place: mistakes_in(&[("rules/t", &format!("{}\nadopt t from 2020-01-01 {WHY}\n", whole_topic()))]);
    second_place: mistakes_in(&[("jurisdictions/town/a", &head("Town")), ("jurisdictions/town/b", &head("Village"))]);
    statement_clause: in_place("adopt t");
    date: in_place(&format!("adopt t from 2025-02-30 {WHY}"));
    until_before_from: in_place(&format!("adopt t from 2026-01-01 until 2025-01-01 {WHY}"));
    tie: in_place(&format!("adopt t from 2020-01-01 {WHY}\namend t.depth : 24 in becomes 30 in from 2021-01-01 {WHY}\namend t.depth : 24 in becomes 36 in from 2021-01-01 {WHY}"));
    tie_of_a_cell: in_place(&format!("adopt t from 2020-01-01 {WHY}\namend t.least(yard) : 24 in becomes 30 in from 2021-01-01 {WHY}\namend t.least(yard or driveway) : 24 in becomes 36 in from 2021-01-01 {WHY}"));
    set_of_valued: in_place(&format!("adopt t from 2020-01-01 {WHY}\nset t.depth = 30 in from 2020-01-01 {WHY}"));
    place_dates_a_permit_twice: mistakes_in(&[("jurisdictions/town/place", "place \"Town (invented)\" {\n  date electrical applied\n  date electrical issued\n}\n")]);
    place_narrows_a_topic: in_place(&format!("adopt t from 2020-01-01 {WHY} tighten only"));
    precaution_struck: mistakes_in(&[("rules/safe", PRECAUTION), ("jurisdictions/town/place", &format!("{}\nstrike rule safe.trench from 2020-01-01 {WHY}\n", head("Town")))]);
    place: in_place(&format!("amend t.deph : 24 in becomes 30 in from 2020-01-01 {WHY}"));
    place_amends_a_table_whole: in_place(&format!("amend t.least : 24 in becomes 30 in from 2020-01-01 {WHY}"));
    place_amends_a_rule: in_place(&format!("amend t.r : 24 in becomes 30 in from 2020-01-01 {WHY}"));
    place_strikes_an_unknown_rule: in_place(&format!("strike rule t.q from 2020-01-01 {WHY}"));
    place_replaces_an_unknown_rule: in_place(&format!("replace rule t.q from 2020-01-01 {WHY}\n{{\n  title \"Test\"\n  shall site.sloping\n  hold hand_over\n  remedy \"Mend it.\"\n  cite law \"2\"\n}}"));
    place_grants_half_a_variance: in_place("variance \"V-1\" {\n  rule t.r\n  lot \"L-1\"\n  subject \"C-1\"\n  authority \"Board (invented)\"\n  date 2026-01-01\n  because \"rock\"\n}");
}

/// Each define asks the one before it twice: the steps double from one to the next.
fn doubling_defines() -> String {
    let mut items = String::from("define d0 (x: number) gives number = x + x + x + x\n");
    for at in 1..13 {
        let before = at - 1;
        items.push_str(&format!(
            "define d{at} (x: number) gives number = d{before}(x) + d{before}(x)\n"
        ));
    }
    shall(&items, "d12(site.people) is at least 1")
}

/// Every code of a pass has a text here that causes it.
#[test]
fn every_code_has_its_snapshot() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/snapshots");
    let mut shown = String::new();
    for entry in std::fs::read_dir(folder).expect("the snapshots are there") {
        let path = entry.expect("the folder can be listed").path();
        let name = path
            .file_name()
            .expect("a file has a name")
            .to_string_lossy();
        if name.starts_with("check_errors__") || name.starts_with("layers__") {
            shown.push_str(&std::fs::read_to_string(&path).expect("a snapshot is a text"));
        }
    }
    let sources = [
        include_str!("../src/check/error.rs"),
        include_str!("../src/layers/error.rs"),
    ];
    let codes: Vec<&str> = sources
        .iter()
        .flat_map(|source| source.split("code(").skip(1))
        .filter_map(|rest| rest.split(')').next())
        .collect();
    assert!(codes.len() > 40, "only {} codes were found", codes.len());
    for code in codes {
        assert!(
            shown.lines().any(|line| line.trim() == code),
            "no snapshot shows `{code}`"
        );
    }
}

/// A topic in which each form of the language stands at least once.
const RICH: &str = r#"topic t "Test" permit electrical

limit depth : length = 24 in "how deep" tighten only cite code "2" from memory
limit few   : number = 4 or 400 % cite code "2"
limit local : length set by the place cite code "3"
table least (where_it_is: location, nominal: pipe_size) gives length fixed cite code "4" {
  yard or driveway, up to 3 in    : 24 in
  yard or driveway, 4 in and over : 18 in
  rising, any                     : no value
}
table steps (depth: length) gives slope cite code "5" {
  below     : 2 %
  from 2 ft : 1/4 in/ft
}
define twice (depth: length, factor: number) gives length = (depth + depth) × factor / 1 cite code "6"

rule r {
  title  "Test"
  each   cable in cables
  when   not (site.sloping is site.sloping) or cable.insulated is more than 1 in
  each   span in cable.spans
  shall  span.cover is at least twice(depth, 2) and (if span.warned then span.cover else local) is at least 1 ft
  cite   code "1"
  hold   before_cover
  remedy "Mend it."
  hazard shock
}

rule s {
  title  "Test"
  each   sewer in sewers
  should sewer.inlet - sewer.outlet is at most least(yard, sewer.nominal) or sewer.fall is less than steps(sewer.shift) or site.people is at least few
  cite   code "1"
  hold   before_cover
  remedy "Mend it."
}

rule w {
  title  "Test"
  when   every well in wells has (well.depth in ft) ^ 2 is at least root(site.people)
  when   some well in wells has well.owner is one of "A (invented)", "B (invented)"
  shall  count of well in wells where well.depth is at least greater of depth and 1 m is at most 2
  cite   code "1"
  hold   hand_over
  remedy "Mend it."
}

rule x {
  title  "Test"
  precaution least of well.depth for well in wells is at least -total of well.depth for well in wells
  cite   code "1"
  hold   hand_over
  remedy "Mend it."
}

rule y {
  title  "Test"
  shall record wells
  cite   code "1"
  hold   hand_over
  remedy "Mend it."
}
"#;

const TOWN: &str = r#"place "Town (invented)" {
  authority any "Clerk (invented)" "Town hall"
  date      electrical applied
  decision  t as_read
}

adopt t from 2020-01-01 cite law "1" because "test"
amend t.depth : 24 in becomes 30 in from 2021-01-01 until 2022-01-01 cite law "1" because "test" fixed
amend t.least(yard, up to 3 in) : 24 in becomes 30 in from 2021-01-01 cite law "1" because "test"
set t.local = 1 ft from 2020-01-01 cite law "1" because "test"
restrict t.few to tighten only from 2020-01-01 cite law "1" because "test"
restrict rule t.r to fixed from 2020-01-01 cite law "1" because "test"
strike rule t.s from 2020-01-01 cite law "1" because "test"

replace rule t.y from 2020-01-01 cite law "1" because "test"
{
  title  "Test"
  refer  "Which?"
  cite   law "1"
  hold   hand_over
  remedy "Mend it."
}

variance "V-1" {
  rule t.r
  lot "L-1"
  subject "C-1"
  authority "Board (invented)"
  date 2026-01-01
  until no end
  because "rock"
}
"#;

#[test]
fn a_word_taken_out_doubled_or_put_elsewhere_is_told_and_never_panics() {
    let whole = [("rules/t", RICH), ("jurisdictions/town/place", TOWN)];
    small::opened(&whole);
    let (mut opened, mut told) = (0, 0);
    for (name, text) in whole {
        let words: Vec<&str> = text.split_inclusive([' ', '\n', '(', ')', ',']).collect();
        for at in 0..words.len() {
            let other = words[(at * 7 + 13) % words.len()];
            let twice = words[at].repeat(2);
            let instead = ["", &twice, other, "site.frost ", "24 in "][at % 5];
            let mut changed = words.clone();
            changed[at] = instead;
            let changed = changed.concat();
            let files = whole
                .map(|(file, text)| (file, if file == name { changed.as_str() } else { text }));
            match groundrule::library::open(&small::texts(&files)) {
                Ok(_) => opened += 1,
                Err(problems) => {
                    assert!(
                        !problems.problems.is_empty(),
                        "refused without a word: {changed}"
                    );
                    told += 1;
                }
            }
        }
    }
    assert!(opened > 10 && told > 300, "{opened} opened, {told} told");
}

#[test]
fn the_library_inside_the_program_has_no_mistake() {
    let opened = groundrule::library::open(&groundrule::library::embedded());
    let told: Vec<String> = match &opened {
        Ok(_) => Vec::new(),
        Err(problems) => problems
            .problems
            .iter()
            .map(|problem| problem.diagnostic.to_string())
            .collect(),
    };
    assert!(told.is_empty(), "{told:#?}");
}
