//! That what is measured is the same work: all engines agree, and no predicate is idle.

use groundrule::judge::Rulings;
use groundrule_speed::agree::agree;
use groundrule_speed::answer::{Answer, PREDICATES};
use groundrule_speed::archive::{Archive, Lot};
use groundrule_speed::block::block;
use groundrule_speed::ours::{Reader, Rules, first_of};
use groundrule_speed::{crew, ours};

/// Not the seed of the measured archive.
fn lots(count: usize) -> Vec<Lot> {
    Archive::new(7).take(count).collect()
}

#[test]
fn all_engines_agree_on_every_predicate_of_every_record() {
    let opened = ours::library();
    let answers = agree(&opened, &lots(500));
    let answers = answers.unwrap_or_else(|disagreement| panic!("{disagreement}"));
    assert!(answers.len() > 490, "all but the broken lines are answered");
}

#[test]
fn each_predicate_is_met_falls_short_and_is_undecided_somewhere() {
    let opened = ours::library();
    let answers = agree(&opened, &lots(500));
    let answers = answers.unwrap_or_else(|disagreement| panic!("{disagreement}"));
    for (place, predicate) in PREDICATES.iter().enumerate() {
        for wanted in [Answer::Met, Answer::Undecided, Answer::Short] {
            let is_there = answers.iter().any(|answers| answers[place] == wanted);
            assert!(is_there, "{predicate} is {wanted:?} of no record");
        }
    }
}

#[test]
fn a_wrong_answer_is_told_with_its_engine_and_predicate() {
    let opened = ours::library();
    let mut lots = lots(3);
    // The record as crews write it and the one in base units now differ.
    lots[1].base["site"]["largest_stone"] = 76_201.into();
    lots[1].written["site"]["largest_stone"] = "3 in".into();
    let disagreement = agree(&opened, &lots).expect_err("they differ");
    assert_eq!(disagreement.engine, "groundrule");
    assert_eq!(disagreement.predicate, Some("plain.stone"));
}

#[test]
fn an_archive_is_that_of_its_seed() {
    let lines = |seed| Archive::new(seed).take(50).map(|lot| lot.line());
    assert!(lines(7).eq(lines(7)));
    assert!(!lines(7).eq(lines(8)));
}

#[test]
fn records_are_of_the_promised_size_and_few_are_broken() {
    let lots = lots(4000);
    let bytes: usize = lots.iter().map(|lot| lot.line().len()).sum();
    let mean = bytes / lots.len();
    assert!((1800..2000).contains(&mean), "{mean} bytes a record");
    let broken = lots.iter().filter(|lot| lot.broken).count();
    assert!((4..=40).contains(&broken), "{broken} of 4000 are broken");
}

#[test]
fn all_readers_fill_the_plain_struct_with_the_same_record() {
    for lot in lots(500).iter().filter(|lot| !lot.broken) {
        let (line, text) = (lot.line(), block(&lot.written));
        let json: crew::Record<'_> = serde_json::from_str(&line).expect("serde_json reads it");
        let yaml: crew::Record<'_> = serde_yaml::from_str(&text).expect("serde_yaml reads it");
        let saphyr: crew::Record<'_> = serde_saphyr::from_str(&text).expect("saphyr reads it");
        assert_eq!(json, yaml);
        assert_eq!(json, saphyr);
    }
}

#[test]
fn a_record_in_yaml_has_the_answers_of_its_line() {
    let opened = ours::library();
    let lots = lots(300);
    let rules = Rules::of(&opened, &first_of(&opened, &[lots[0].line()]));
    let reader = Reader::new(&opened, &rules);
    let answers = |text: &str| {
        let record = reader.read(text).expect("it reads");
        let mut rulings = Rulings::default();
        reader.judge(&rules, &record, &mut rulings);
        reader.answers(&rules, &rulings)
    };
    for lot in lots.iter().filter(|lot| !lot.broken) {
        assert_eq!(answers(&lot.line()), answers(&block(&lot.written)));
    }
}
