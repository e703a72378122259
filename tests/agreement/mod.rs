//! What is judged with floats, held against what is judged exactly.

use std::sync::Arc;

use groundrule::figures::{Figures, Layout};
use groundrule::judge::{self, Judged, Judgement, Quick, Ruling, Rulings, Subject};
use groundrule::library::Opened;

/// How many rulings of a judged record are those of its judgements, rule by rule and subject by
/// subject.
///
/// # Panics
///
/// Where one is not.
pub fn rulings_are_the_judgements(opened: &Opened, judged: &Judged) -> usize {
    let (program, record) = (&judged.chosen.program, &judged.record);
    let vocabulary = &opened.library.vocabulary;
    let judgements = judge::judge(program, vocabulary, &opened.survey, record);
    let everything = Arc::new(Layout::everything(vocabulary));
    let within = Quick::within(&everything, program, vocabulary);
    let within = within.expect("everything is in that layout");
    for quick in [judged.chosen.quick(vocabulary), &within] {
        let mut rulings = Rulings::default();
        let figures = Figures::of(record, quick.layout());
        quick.rule_on(
            program,
            vocabulary,
            &opened.survey,
            &figures,
            || record,
            &mut rulings,
        );
        let subjects = rulings
            .iter()
            .map(|ruling| rulings.subject(&figures, ruling));
        are_the_same(opened, judged, &rulings, subjects, &judgements);
    }
    judgements.len()
}

fn are_the_same(
    opened: &Opened,
    judged: &Judged,
    rulings: &[Ruling],
    subjects: impl Iterator<Item = Subject>,
    judgements: &[Judgement<'_>],
) {
    let program = &judged.chosen.program;
    assert_eq!(rulings.len(), judgements.len());
    for ((ruling, subject), judgement) in rulings.iter().zip(subjects).zip(judgements) {
        let rule = &program.rules[ruling.rule as usize];
        let id = &opened.library.rules[rule.rule.index()].id;
        assert!(std::ptr::eq(rule, judgement.rule), "{id}");
        assert_eq!(subject.things(), judgement.subject, "{id}");
        assert_eq!(
            (ruling.banded, ruling.as_read),
            (judgement.banded, judgement.as_read),
            "{id} of {:?}",
            judgement.subject
        );
        assert_eq!(ruling.verdict(program), judgement.verdict(), "{id}");
        let (exact, near) = (judgement.margin(), ruling.margin());
        let is_near = match (exact, near) {
            (None, None) => true,
            (Some(exact), Some(near)) => (exact - near).abs() <= 1e-9 * size(exact, ruling),
            (Some(_), None) | (None, Some(_)) => false,
        };
        assert!(is_near, "{id}: the margin is {exact:?}, and near {near:?}");
    }
}

/// What a margin is a difference of: it is as near as floats of that size are.
fn size(margin: f64, ruling: &Ruling) -> f64 {
    let share = ruling.share().filter(|share| *share != 0.0);
    let limit = ruling.margin().zip(share).map(|(near, share)| near / share);
    limit.unwrap_or_default().abs().max(margin.abs())
}
