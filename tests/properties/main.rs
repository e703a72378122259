//! The five properties that hold always, over generated rules, layers and records.
//!
//! What is random is written in the rule language and in YAML and goes the whole way, as an
//! author's text would. `PROPTEST_CASES` sets how many cases there are.

#[path = "../agreement/mod.rs"]
mod agreement;
mod choices;
mod judged;
mod libraries;
mod lots;
mod records;
mod rules;
mod vocabulary;

use std::collections::BTreeMap;
use std::sync::LazyLock;

use groundrule::finding::Verdict;
use groundrule::library::Opened;
use num_rational::Ratio;
use proptest::prelude::*;
use proptest::test_runner::{Config, RngSeed};

use choices::{Choices, numbers};
use judged::{Way, by_subject, definite_ones_stood_before, findings, judged, line, opened};
use libraries::{Library, asking, dense, head, library, probes, two_topics};
use records::{Deletion, Record, Value, first_path, record};
use vocabulary::{Exact, Kind};

/// Enough for each to be met in many forms, few enough to wait for, and the same ones each time.
/// With `PROPTEST_CASES` that many are hunted through, others each time.
fn config() -> Config {
    let (cases, rng_seed) = match std::env::var("PROPTEST_CASES") {
        Ok(_) => (Config::default().cases, RngSeed::Random),
        Err(_) => (160, RngSeed::Fixed(160)),
    };
    Config {
        cases,
        rng_seed,
        failure_persistence: None,
        max_shrink_time: 20_000,
        ..Config::default()
    }
}

/// Numbers for a library, for a record, and for what is then done to it.
fn decisions() -> impl Strategy<Value = (Vec<u16>, Vec<u16>, Vec<u16>)> {
    (numbers(240), numbers(420), numbers(300))
}

fn made(library_of: Vec<u16>, record_of: Vec<u16>) -> (Library, Record) {
    let library = library(&mut Choices::new(library_of));
    let mut choices = Choices::new(record_of);
    let head = head(&mut choices, &library.place);
    let record = record(&mut choices, head);
    (library, record)
}

/// What a failure shows.
fn shown(library: &Library, record: &Record) -> String {
    let rules = library.texts().0.into_iter();
    let rules = rules.filter(|(name, _)| !name.contains("words"));
    let rules: Vec<_> = rules
        .map(|(name, text)| format!("# {name}\n{text}"))
        .collect();
    format!("{}\n# record\n{}", rules.join("\n"), record.text())
}

/// The head of a record at a place and date where the probes are in force.
const PROBED: &str = "record: 1\nlot: L-1\nplace: land\npermits: { plumbing: { issued: 2020-01-01 } }\nrecorded: { by: R. Ames, date: 2022-01-01 }\nstage: late\ndatum: a nail\n";

/// Whether a record contradicts itself, whatever the rules of its place ask.
fn contradicts_itself(record: &Record) -> bool {
    static PROBES: LazyLock<Opened> = LazyLock::new(|| opened(&probes().texts()));
    let record = Record {
        head: PROBED.to_owned(),
        ..record.clone()
    };
    let report = judged(&PROBES, &record.text()).expect("the probes are in force");
    findings(&report)
        .iter()
        .any(|finding| finding.rule == "record.agrees")
}

fn same(path: &str) -> String {
    path.to_owned()
}

proptest! {
    #![proptest_config(config())]

    /// 1. No deletion of a fact makes anything meet, refer or not apply that did not before; nor
    /// does it make anything fall short.
    #[test]
    fn deleting_a_fact_passes_nothing((library_of, record_of, then) in decisions()) {
        let (library, record) = made(library_of, record_of);
        let opened = opened(&library.texts());
        prop_assume!(!contradicts_itself(&record));
        deletions_pass_nothing(&opened, &library, &record, then)?;
    }

    /// 2. A definite banded verdict is the verdict at every point inside the tolerances.
    #[test]
    fn a_definite_verdict_is_that_of_every_point((library_of, record_of, then) in decisions()) {
        let (library, record) = made(library_of, record_of);
        let opened = opened(&library.texts());
        prop_assume!(!contradicts_itself(&record));
        points_agree(&opened, &library, &record, then)?;
    }

    /// 2. More tolerance is never more certain, and is nothing to how a reading reads.
    #[test]
    fn more_tolerance_is_never_more_certain((library_of, record_of, then) in decisions()) {
        let (library, record) = made(library_of, record_of);
        let opened = opened(&library.texts());
        let Some(narrow) = judged(&opened, &record.text()) else { return Ok(()) };
        prop_assume!(!contradicts_itself(&record));
        let wider = widened(&record, &mut Choices::new(then));
        let wide = judged(&opened, &wider.text()).expect("a reading decides no rule in force");
        let (less, known) = (by_subject(&wide, same), by_subject(&narrow, same));
        let mut checked = definite_ones_stood_before(&less, &known, Way::Banded);
        if !record.may_have_two_sources() {
            checked = checked
                .and(definite_ones_stood_before(&less, &known, Way::AsRead))
                .and(definite_ones_stood_before(&known, &less, Way::AsRead));
        }
        if let Err(why) = checked {
            let wider = wider.text();
            prop_assert!(false, "{why}\n{}\n# wider\n{wider}", shown(&library, &record));
        }
    }

    /// 3. Re-expressing readings in other units of their dimension changes nothing.
    #[test]
    fn units_do_not_matter((library_of, record_of, then) in decisions()) {
        let (library, record) = made(library_of, record_of);
        let opened = opened(&library.texts());
        let Some(one) = judged(&opened, &record.text()) else { return Ok(()) };
        let mut choices = Choices::new(then);
        for _ in 0..2 {
            let other = in_other_units(&record, &mut choices);
            let two = judged(&opened, &other.text()).expect("a reading decides no rule in force");
            let said = |report: &groundrule::finding::Report| -> Vec<_> {
                let findings = findings(report).iter();
                findings.map(|finding| (
                    finding.rule.clone(),
                    finding.subject.iter().map(|subject| subject.path.clone()).collect::<Vec<_>>(),
                    finding.verdict,
                    finding.banded,
                    finding.as_read,
                    finding.due,
                    finding.si.as_ref().map(|plot| (plot.margin, plot.limit, plot.measured)),
                    finding.missing.iter().map(|missing| missing.path.clone()).collect::<Vec<_>>(),
                )).collect()
            };
            let (first, second) = (said(&one), said(&two));
            let text = other.text();
            for (first, second) in first.iter().zip(&second) {
                prop_assert_eq!(first, second, "{}\n# other units\n{}", shown(&library, &record), text);
            }
            prop_assert_eq!(first.len(), second.len());
            prop_assert_eq!(one.exit_status, two.exit_status);
        }
    }

    /// 4. Neither the names of files nor the order of their items changes a report.
    #[test]
    fn layers_do_not_depend_on_file_order((library_of, record_of, then) in decisions()) {
        let (library, record) = made(library_of, record_of);
        let other = library.in_another_order(&mut Choices::new(then));
        let text = record.text();
        let of = |library: &Library| {
            judged(&opened(&library.texts()), &text).map(|mut report| {
                report.ruleset_digest = String::new();
                // Findings are told in the order in which rules are written.
                report.findings.iter_mut().for_each(|findings| findings.sort_by_key(|finding| {
                    let paths = finding.subject.iter().map(|subject| subject.path.clone());
                    (finding.rule.clone(), paths.collect::<Vec<_>>())
                }));
                report.claimed_complete.sort();
                report.topics_not_in_force.sort();
                line(&report)
            })
        };
        let (one, two) = (of(&library), of(&other));
        if one != two {
            prop_assert!(false, "{}\n# other order\n{}\n{}", shown(&library, &record), shown(&other, &record), difference(one, two));
        }
    }

    /// 4. Two amendments of one target by one place from one date are an error.
    #[test]
    fn a_tie_is_an_error(library_of in numbers(240)) {
        let mut library = library(&mut Choices::new(library_of));
        let Some(amendment) = library.amendment.clone() else { return Ok(()) };
        let place = library.files.iter_mut().find(|file| file.items.contains(&amendment));
        place.expect("an amendment stands in a place").items.insert(0, amendment);
        let problems = groundrule::library::open(&library.texts());
        prop_assert!(problems.is_err(), "{:?}", library.amendment);
    }

    /// 5. The same inputs give the same bytes, whatever the number of threads.
    #[test]
    fn the_same_inputs_give_the_same_bytes((library_of, record_of, _) in decisions()) {
        let (library, record) = made(library_of, record_of);
        let first = opened(&library.texts());
        let text = record.text();
        let report = |opened: &Opened| judged(opened, &text).as_ref().map(line);
        let expected = report(&first);
        let again = report(&opened(&library.texts()));
        prop_assert_eq!(&again, &expected);
        std::thread::scope(|scope| -> Result<(), TestCaseError> {
            let threads: Vec<_> = (0..3).map(|_| scope.spawn(|| report(&first))).collect();
            for thread in threads {
                let told = thread.join().expect("judging cannot fail");
                prop_assert_eq!(&told, &expected);
            }
            Ok(())
        })?;
    }
}

proptest! {
    // Each case asks some seven hundred rules of a dozen records.
    #![proptest_config(Config { cases: config().cases / 8 + 1, ..config() })]

    /// 1 and 2, of each thing that can be asked of one list or one run.
    #[test]
    fn nothing_that_can_be_asked_of_a_list_is_passed(record_of in numbers(420), then in numbers(300)) {
        static DENSE: LazyLock<Opened> = LazyLock::new(|| opened(&dense().texts()));
        let record = dense_record(record_of);
        prop_assume!(!contradicts_itself(&record));
        let named = Library { files: Vec::new(), ..dense() };
        deletions_pass_nothing(&DENSE, &named, &record, then.clone())?;
        points_agree(&DENSE, &named, &record, then)?;
    }
}

/// Deletes a dozen facts, each by itself.
fn deletions_pass_nothing(
    opened: &Opened,
    library: &Library,
    record: &Record,
    then: Vec<u16>,
) -> Result<(), TestCaseError> {
    let Some(before) = judged(opened, &record.text()) else {
        return Ok(());
    };
    let has_one_source = !record.may_have_two_sources();
    let known = by_subject(&before, same);
    let mut deletions = Choices::new(then).shuffled(record.deletions());
    // Half of those that are tried take whole things and lists away.
    let is_large =
        |deletion: &Deletion| matches!(deletion, Deletion::List(..) | Deletion::Element(_));
    let mut large = 0;
    deletions.sort_by_cached_key(|deletion| {
        large += usize::from(is_large(deletion));
        !is_large(deletion) || large > 6
    });
    for deletion in deletions.iter().take(12) {
        let left = record.without(deletion);
        let after = judged(opened, &left.text()).expect("a fact decides no rule in force");
        let less = by_subject(&after, |path| first_path(deletion, path));
        let mut checked = definite_ones_stood_before(&less, &known, Way::Banded);
        if has_one_source {
            checked = checked.and(definite_ones_stood_before(&less, &known, Way::AsRead));
            if after.exit_status == 0 && before.exit_status != 0 {
                checked = Err(format!(
                    "exit status 0 after, {} before",
                    before.exit_status
                ));
            }
        }
        if let Err(why) = checked {
            let after = left.text();
            prop_assert!(
                false,
                "{why}\n{deletion:?}\n{}\n# after\n{after}",
                shown(library, record)
            );
        }
    }
    Ok(())
}

/// Takes points inside the tolerances.
fn points_agree(
    opened: &Opened,
    library: &Library,
    record: &Record,
    then: Vec<u16>,
) -> Result<(), TestCaseError> {
    let Some(banded) = judged(opened, &record.text()) else {
        return Ok(());
    };
    let less = by_subject(&banded, same);
    let mut choices = Choices::new(then);
    for _ in 0..4 {
        let Some(point) = point_within(record, &mut choices) else {
            break;
        };
        if contradicts_itself(&point) {
            continue;
        }
        let sampled = judged(opened, &point.text()).expect("a reading decides no rule in force");
        let known = by_subject(&sampled, same);
        if let Err(why) = definite_ones_stood_before(&less, &known, Way::Banded) {
            let point = point.text();
            prop_assert!(false, "{why}\n{}\n# point\n{point}", shown(library, record));
        }
    }
    Ok(())
}

/// A record where the rules that ask each thing are in force.
fn dense_record(record_of: Vec<u16>) -> Record {
    record(&mut Choices::new(record_of), PROBED.to_owned())
}

/// Found by the property above. Where a vertex was replaced by `more`, the line between its
/// neighbours is none that was measured: two runs may lie farther apart than it does.
#[test]
fn a_line_that_may_have_more_vertices_has_no_distance() {
    let library = opened(&probes().texts());
    let verdict = |line: &str| {
        let text = format!(
            "{PROBED}tolerances: exact\ndrains: [ {{ id: D-1, outside_diameter: 0 in, line: {line} }} ]\nwells: [ {{ id: W-1, line: [ {{ northing: 0 ft, easting: 50 ft }} ] }} ]\n"
        );
        let report = judged(&library, &text).expect("the probes are in force");
        let mut found = findings(&report).iter();
        // The probe that asks whether a drain lies at most 1 ft from a well.
        found
            .find(|finding| finding.rule == "probes.probe6")
            .expect("its finding")
            .verdict
    };
    let (west, aside, east) = (
        "{ northing: 0 ft, easting: 0 ft }",
        "{ northing: 99 ft }",
        "{ northing: 0 ft, easting: 100 ft }",
    );
    assert_eq!(verdict(&format!("[ {west}, {east} ]")), Verdict::Meets);
    assert_eq!(
        verdict(&format!("[ {west}, {aside}, {east} ]")),
        Verdict::NotRecorded
    );
    assert_eq!(
        verdict(&format!("[ {west}, {east}, more ]")),
        Verdict::NotRecorded
    );
}

/// Found by the property above: readings of a drain's distance from itself that exclude each other
/// were no contradiction, and the emptied list passed.
#[test]
fn a_thing_has_no_distance_from_itself() {
    let library = opened(&probes().texts());
    let text = format!(
        "{PROBED}tolerances: exact\ndrains: [ {{ id: D-1 }} ]\nclearances:\n  - {{ from: D-1, to: D-1, horizontal: 1 in }}\n"
    );
    let report = judged(&library, &text).expect("the probes are in force");
    // The probes of two drains: of their clearances, and whether and how they cross.
    for rule in [
        "probes.probe5",
        "probes.probe7",
        "probes.probe9",
        "probes.probe10",
    ] {
        let mut found = findings(&report).iter();
        let finding = found.find(|finding| finding.rule == rule);
        let verdict = finding.expect("its finding").verdict;
        assert_eq!(verdict, Verdict::NotRecorded, "{rule}");
    }
}

/// What rules that ask one thing each say of a record's only thing, and whether the record
/// contradicts itself.
fn asked_of(list: &str, conditions: &[&str], record: &str) -> (Vec<Verdict>, bool) {
    let library = opened(&asking(list, conditions).texts());
    let text = format!("{PROBED}tolerances: exact\n{record}\n");
    let report = judged(&library, &text).expect("the rules are in force");
    let (contradictions, asked): (Vec<_>, Vec<_>) = findings(&report)
        .iter()
        .partition(|finding| finding.rule == "record.agrees");
    let verdicts = asked.iter().map(|finding| finding.verdict).collect();
    (verdicts, !contradictions.is_empty())
}

/// Found by the property above: a stretch from beyond the end of its run left a gap behind it, and
/// the list was complete without it.
#[test]
fn what_begins_beyond_the_end_of_a_run_leaves_no_gap() {
    let conditions = ["(count of x in a.spans where x.wet) is at most 1"];
    let drain = |length: &str, first: &str| {
        let record = format!(
            "drains: [ {{ length: {length}, spans: [ {{ {first}to: 360 ft, wet: yes }}, {{ to: 10 ft }} ] }} ]"
        );
        asked_of("drains", &conditions, &record).0
    };
    assert_eq!(drain("0 ft", "from: 60 ft, "), drain("0 ft", ""));
    assert_eq!(drain("30 ft", "from: 60 ft, "), [Verdict::NotRecorded]);
    assert_eq!(drain("30 ft", ""), [Verdict::NotRecorded]);
}

/// The same of profiles: a shot beyond the end of its run, or where another stands, told of a
/// fall, a step or a depth that nobody missed without its reading.
#[test]
fn a_shot_without_its_reading_or_its_place_is_missed_wherever_it_may_stand() {
    let conditions = [
        "least_fall(a) is at least 1 %",
        "greatest_fall(a) is at most 5 %",
        "least_cover(a) is at least 1 ft",
        "slope_length(a) is at most 60 ft",
    ];
    let drain = |last: &str| {
        let record = format!(
            "drains: [ {{ length: 30 ft, outside_diameter: 0 ft, shots: [ {{ at: 0 ft, invert: 100 ft, crown: 100 ft, ground: 102 ft }}, {{ at: 30 ft, invert: 99 ft, crown: 99 ft, ground: 101 ft }}, {last} ] }} ]"
        );
        asked_of("drains", &conditions, &record).0
    };
    let beyond = drain("{ at: 40 ft, invert: 99 ft, crown: 99 ft, ground: 99 ft }");
    assert_eq!(beyond[0], Verdict::FallsShort);
    assert_eq!(beyond[2], Verdict::FallsShort);
    for less in ["{ at: 40 ft }", "{ at: 30 ft }", "{ invert: 99 ft }", "{}"] {
        let mut missed = drain(less);
        // Where two shots stand at one place their covers must agree: one is enough.
        if less == "{ at: 30 ft }" {
            assert_eq!(missed.remove(2), Verdict::Meets);
        }
        assert!(!missed.contains(&Verdict::Meets), "{less}: {missed:?}");
    }
}

/// The same of the fall from end to end, which another shot at the end gave.
#[test]
fn the_overall_fall_is_from_the_first_shot_to_the_last() {
    let conditions = ["overall_fall(a) is at most 5 %"];
    let drain = |shots: &str| {
        let record = format!("drains: [ {{ length: 30 ft, shots: [ {shots} ] }} ]");
        asked_of("drains", &conditions, &record).0[0]
    };
    let (step, last) = (
        "{ at: 0 ft, invert: 99 ft }",
        "{ at: 30 ft, invert: 98 ft }",
    );
    assert_eq!(
        drain(&format!("{{ at: 0 ft, invert: 100 ft }}, {step}, {last}")),
        Verdict::FallsShort
    );
    assert_eq!(drain(&format!("{step}, {last}")), Verdict::Meets);
    for less in [
        format!("{{ at: 0 ft }}, {step}, {last}"),
        format!("{step}, {last}, more"),
    ] {
        assert_eq!(drain(&less), Verdict::NotRecorded, "{less}");
    }
}

/// Found by the property above: a curve that doubles back has two sources for one head, and where
/// they exclude each other nothing said so.
#[test]
fn a_curve_that_says_two_heads_of_one_flow_contradicts_itself() {
    let conditions = ["pump_head(a, 11 gpm) is at most 24 in"];
    let tank = |first: &str, third: &str| {
        let record = format!(
            "tanks: [ {{ pump_curve: [ {{ flow: 0 gpm, head: {first} }}, {{ flow: 15 gpm, head: 24 in }}, {{ flow: {third}, head: 24 in }} ] }} ]"
        );
        let (verdicts, contradicts_itself) = asked_of("tanks", &conditions, &record);
        (verdicts[0], contradicts_itself)
    };
    let agrees = (Verdict::Meets, false);
    assert_eq!(tank("24 in", "11 gpm"), agrees);
    assert_eq!(tank("24 in ± 1/2 in", "11 gpm"), agrees);
    let disagrees = (Verdict::NotRecorded, true);
    assert_eq!(tank("23 1/2 in", "11 gpm"), disagrees);
    assert_eq!(tank("23 1/2 in ± 1/4 in", "11 gpm"), disagrees);
    // A curve need not fall: nothing here knows which way it goes.
    assert_eq!(tank("23 1/2 in", "20 gpm"), agrees);
}

/// Found by the property above: the topics were told in the order of their files' names.
#[test]
fn what_is_said_of_a_missing_permit_does_not_hang_on_file_names() {
    let text = "record: 1\nlot: L-1\nplace: land\npermits: {}\nrecorded: { by: R. Ames, date: 2022-01-01 }\nstage: late\ntolerances: exact\n";
    let missing = |names| {
        let report =
            judged(&opened(&two_topics(names).texts()), text).expect("the permit is asked for");
        findings(&report)[0].missing.clone()
    };
    let told = missing(["a", "b"]);
    assert_eq!(told, missing(["b", "a"]));
    assert_eq!(
        told[0].what,
        "the permit that selects the rules of first, second"
    );
}

/// Where two texts part.
fn difference(one: Option<String>, two: Option<String>) -> String {
    let (one, two) = (one.unwrap_or_default(), two.unwrap_or_default());
    let same = one
        .bytes()
        .zip(two.bytes())
        .take_while(|(one, two)| one == two)
        .count();
    let around = |text: &str| {
        let bytes = text.as_bytes();
        let part = &bytes[same.saturating_sub(300)..bytes.len().min(same + 200)];
        String::from_utf8_lossy(part).into_owned()
    };
    format!("# one\n{}\n# two\n{}", around(&one), around(&two))
}

/// The tolerance that counts for a reading, and the ends of what it allows.
fn band(
    record: &Record,
    kind: Kind,
    measured: bool,
    reading: &records::Reading,
) -> Option<(Exact, Exact)> {
    let Value::Quantity(value) = reading.value else {
        return None;
    };
    let tolerance = match (measured, reading.tolerance) {
        (false, _) => Ratio::from_integer(0),
        (true, Some(own)) => own,
        (true, None) => record.tolerance(kind),
    };
    Some((value - tolerance, value + tolerance))
}

/// An exact record that a record's tolerances allow; none where two readings of one fact exclude
/// each other.
fn point_within(record: &Record, choices: &mut Choices) -> Option<Record> {
    let mut point = record.clone();
    let mut is_possible = true;
    point.change_readings(&mut |fact, readings| {
        let counts = |reading: &records::Reading| {
            !(fact.measured && matches!(reading.how, Some("from_plan" | "told")))
        };
        let bands: Vec<_> = readings
            .iter()
            .filter(|reading| counts(reading))
            .filter_map(|reading| band(record, fact.kind, fact.measured, reading))
            .collect();
        let Some((low, high)) = bands
            .into_iter()
            .reduce(|a, b| (a.0.max(b.0), a.1.min(b.1)))
        else {
            if let (true, Value::Day(day), true) =
                (fact.measured, &readings[0].value, readings.len() == 1)
            {
                let days = (record.tolerance(Kind::Date) / Ratio::from_integer(86_400)).to_integer()
                    as i64;
                let moved = choices.below(2 * days as usize + 1) as i64 - days;
                readings[0].value = Value::Day(day + moved);
            }
            return;
        };
        if low > high {
            is_possible = false;
            return;
        }
        let part = match choices.below(5) {
            0 => Ratio::from_integer(0),
            1 => Ratio::from_integer(1),
            2 => Ratio::new(1, 2),
            _ => Ratio::new(choices.below(33) as i128, 32),
        };
        let one = readings
            .iter()
            .position(counts)
            .expect("one of them has a band");
        let mut reading = readings[one].clone();
        reading.value = Value::Quantity(low + (high - low) * part);
        reading.tolerance = None;
        *readings = vec![reading];
    });
    for (_, tolerance) in &mut point.tolerances {
        *tolerance = Ratio::from_integer(0);
    }
    is_possible.then_some(point)
}

/// The record with tolerances as they were or greater.
fn widened(record: &Record, choices: &mut Choices) -> Record {
    let mut wider = record.clone();
    for (kind, tolerance) in &mut wider.tolerances {
        let factor = Ratio::from_integer(1 + choices.below(4) as i128);
        let more = match kind {
            Kind::Date => Ratio::from_integer(86_400),
            _ => kind.units()[0].canonical_difference(Ratio::new(1, 100)),
        };
        *tolerance = *tolerance * factor
            + if choices.chance(1, 2) {
                more
            } else {
                Ratio::from_integer(0)
            };
    }
    let defaults: BTreeMap<_, _> = wider.tolerances.iter().copied().collect();
    wider.change_readings(&mut |fact, readings| {
        for reading in readings {
            if let Some(tolerance) = &mut reading.tolerance {
                *tolerance *= Ratio::from_integer(1 + choices.below(4) as i128);
            } else if fact.measured
                && matches!(reading.value, Value::Quantity(_))
                && choices.chance(1, 3)
            {
                let default = defaults.get(&fact.kind).copied().unwrap_or_default();
                let more = fact.kind.units()[0].canonical_difference(Ratio::new(1, 4));
                reading.tolerance = Some(default + more);
            }
        }
    });
    wider
}

/// The record with its readings in units of other choices.
fn in_other_units(record: &Record, choices: &mut Choices) -> Record {
    let mut other = record.clone();
    other.change_readings(&mut |fact, readings| {
        let units = fact.kind.units().len();
        for reading in readings {
            if units > 0 {
                reading.in_units(fact.kind, choices.below(units), choices.below(units));
            }
        }
    });
    other
}
