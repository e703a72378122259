//! The one place that knows how a library is opened and a record judged.

use std::collections::BTreeMap;

use super::agreement::rulings_are_the_judgements;

use groundrule::finding::{Decision, Finding, Report, Verdict};
use groundrule::judge;
use groundrule::library::{self, Opened, Texts};
use groundrule::record;
use groundrule::report::{json, mistakes};
use groundrule::source::Sources;

/// Opens a library that is right by construction.
pub fn opened(texts: &Texts) -> Opened {
    library::open(texts).unwrap_or_else(|problems| {
        let told = mistakes::render(&problems.sources, problems.problems, false, 100);
        panic!("a generated library is refused:\n{told}")
    })
}

/// Judges a record, and holds what floats say against it; nothing where no rule is in force there
/// then.
///
/// # Panics
///
/// Where the record itself is refused: what is generated is right by construction.
pub fn judged(opened: &Opened, text: &str) -> Option<Report> {
    let mut sources = Sources::default();
    let id = sources.add("record.yaml", text);
    let record = record::read(&opened.library.vocabulary, &sources, id)
        .unwrap_or_else(|mistakes| panic!("a record is refused: {mistakes:#?}\n{text}"));
    let judged = judge::report(opened.setting(), record, &sources, id).ok()?;
    rulings_are_the_judgements(opened, &judged);
    Some(judged.report)
}

/// As JSON, in one line.
pub fn line(report: &Report) -> String {
    json::line(report)
}

pub fn findings(report: &Report) -> &[Finding] {
    report.findings.as_deref().unwrap_or_default()
}

/// A rule and a subject: the paths of its things, the outermost first.
pub type Key = (String, Vec<String>);

/// The findings of rules, by rule and subject as `first` gives its path.
pub fn by_subject(report: &Report, first: impl Fn(&str) -> String) -> BTreeMap<Key, Vec<&Finding>> {
    let mut found: BTreeMap<Key, Vec<&Finding>> = BTreeMap::new();
    for finding in findings(report) {
        if finding.rule.starts_with("record.") {
            continue;
        }
        let paths = finding
            .subject
            .iter()
            .map(|subject| first(&subject.path))
            .collect();
        found
            .entry((finding.rule.clone(), paths))
            .or_default()
            .push(finding);
    }
    found
}

/// The verdicts of which rules are meant: those that decide banded, or as read.
///
/// Only the verdict that decides is asked after. The other one is told beside it, on subjects that
/// its own walk through the lists may not have reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    Banded,
    AsRead,
}

impl Way {
    fn decides(self, finding: &Finding) -> bool {
        match self {
            Way::Banded => finding.decision == Decision::Banded,
            Way::AsRead => finding.decision == Decision::AsRead,
        }
    }
}

/// Every definite verdict of the surer report stands in the other one, which knows more: on the
/// same subject, or, where a rule does not apply, on one enclosing it.
pub fn definite_ones_stood_before(
    less: &BTreeMap<Key, Vec<&Finding>>,
    more: &BTreeMap<Key, Vec<&Finding>>,
    way: Way,
) -> Result<(), String> {
    for ((rule, subject), findings) in less {
        for finding in findings.iter().filter(|finding| way.decides(finding)) {
            let verdict = finding.verdict;
            let stands_at = |subject: &[String]| {
                let key = (rule.clone(), subject.to_vec());
                let known = more.get(&key).into_iter().flatten();
                known.into_iter().any(|known| known.verdict == verdict)
            };
            let stood = match verdict {
                Verdict::Meets | Verdict::FallsShort | Verdict::Refer => stands_at(subject),
                Verdict::DoesNotApply => {
                    (0..=subject.len()).any(|length| stands_at(&subject[..length]))
                }
                Verdict::TooClose | Verdict::NotRecorded => true,
            };
            if !stood {
                return Err(format!(
                    "{rule} on {subject:?} is {} ({way:?}) and was not so where more is known",
                    verdict.words()
                ));
            }
        }
    }
    Ok(())
}
