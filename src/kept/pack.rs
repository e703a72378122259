//! A result in, a few bytes out, and the same result again.
//!
//! Most of a report is what it tells of the rules: titles, clauses, remedies, cautions. That is
//! kept once, as a row of `rules`, and a finding names the row. What is left is JSON in a zlib
//! stream, which any language can read without this program.

use std::borrow::Cow;
use std::collections::{BTreeMap, HashMap};
use std::io::{Read as _, Write as _};

use flate2::Compression;
use flate2::read::ZlibDecoder;
use flate2::write::ZlibEncoder;
use serde::{Deserialize, Serialize};

use crate::finding::{
    Clause, Decision, Due, Finding, Limit, Missing, Obligation, Place, Plot, Report, Subject,
    Variance, Verdict,
};
use crate::quantity::date;
use crate::screen::Screened;

/// More than any report holds, in bytes: a file from a stranger must not fill the memory.
const LARGEST: u64 = 256 << 20;

/// What a finding tells of its rule, whatever the record.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Told<'a> {
    pub rule: Cow<'a, str>,
    pub title: Cow<'a, str>,
    pub obligation: Obligation,
    pub clauses: Cow<'a, [Clause]>,
    pub limits: Cow<'a, [Limit]>,
    pub permit: Option<Cow<'a, str>>,
    pub place: Option<Cow<'a, str>>,
    pub question: Option<Cow<'a, str>>,
    pub remedy: Cow<'a, str>,
    pub hold: Cow<'a, str>,
    pub hazard: Option<Cow<'a, str>>,
    pub hazard_caution: Option<Cow<'a, str>>,
    pub caution: Cow<'a, str>,
}

/// What it tells of the record.
#[derive(Debug, Serialize, Deserialize)]
struct Lean<'a> {
    told: i64,
    verdict: Verdict,
    decision: Decision,
    banded: Verdict,
    as_read: Verdict,
    due: Due,
    subject: Cow<'a, [Subject]>,
    measured: Option<Cow<'a, str>>,
    limit: Option<Cow<'a, str>>,
    margin: Option<Cow<'a, str>>,
    si: Option<Cow<'a, Plot>>,
    missing: Cow<'a, [Missing]>,
    places: Cow<'a, [Place]>,
    in_force_on: Option<Cow<'a, str>>,
    variance: Option<Cow<'a, Variance>>,
}

/// A whole result.
#[derive(Debug, Serialize, Deserialize)]
struct Packed<'a> {
    /// Without its findings.
    report: Cow<'a, Report>,
    findings: Option<Vec<Lean<'a>>>,
    recorded: Option<String>,
    positions: Cow<'a, BTreeMap<String, Vec<[f64; 2]>>>,
}

fn borrowed(text: &Option<String>) -> Option<Cow<'_, str>> {
    text.as_deref().map(Cow::Borrowed)
}

fn owned(text: &Option<Cow<'_, str>>) -> Option<String> {
    text.as_ref().map(|text| text.clone().into_owned())
}

fn of_rule(finding: &Finding) -> Told<'_> {
    Told {
        rule: Cow::Borrowed(&finding.rule),
        title: Cow::Borrowed(&finding.title),
        obligation: finding.obligation,
        clauses: Cow::Borrowed(&finding.clauses),
        limits: Cow::Borrowed(&finding.limits),
        permit: borrowed(&finding.permit),
        place: borrowed(&finding.place),
        question: borrowed(&finding.question),
        remedy: Cow::Borrowed(&finding.remedy),
        hold: Cow::Borrowed(&finding.hold),
        hazard: borrowed(&finding.hazard),
        hazard_caution: borrowed(&finding.hazard_caution),
        caution: Cow::Borrowed(&finding.caution),
    }
}

fn of_record(finding: &Finding, told: i64) -> Lean<'_> {
    Lean {
        told,
        verdict: finding.verdict,
        decision: finding.decision,
        banded: finding.banded,
        as_read: finding.as_read,
        due: finding.due,
        subject: Cow::Borrowed(&finding.subject),
        measured: borrowed(&finding.measured),
        limit: borrowed(&finding.limit),
        margin: borrowed(&finding.margin),
        si: finding.si.as_ref().map(Cow::Borrowed),
        missing: Cow::Borrowed(&finding.missing),
        places: Cow::Borrowed(&finding.places),
        in_force_on: borrowed(&finding.in_force_on),
        variance: finding.variance.as_ref().map(Cow::Borrowed),
    }
}

/// Every field is named here, so that a new one asks where it belongs.
fn whole(lean: Lean<'_>, told: &Told<'_>) -> Finding {
    Finding {
        rule: told.rule.clone().into_owned(),
        title: told.title.clone().into_owned(),
        obligation: told.obligation,
        verdict: lean.verdict,
        decision: lean.decision,
        banded: lean.banded,
        as_read: lean.as_read,
        due: lean.due,
        subject: lean.subject.into_owned(),
        measured: lean.measured.map(Cow::into_owned),
        limit: lean.limit.map(Cow::into_owned),
        margin: lean.margin.map(Cow::into_owned),
        si: lean.si.map(Cow::into_owned),
        missing: lean.missing.into_owned(),
        places: lean.places.into_owned(),
        clauses: told.clauses.clone().into_owned(),
        limits: told.limits.clone().into_owned(),
        permit: owned(&told.permit),
        in_force_on: lean.in_force_on.map(Cow::into_owned),
        place: owned(&told.place),
        variance: lean.variance.map(Cow::into_owned),
        question: owned(&told.question),
        remedy: told.remedy.clone().into_owned(),
        hold: told.hold.clone().into_owned(),
        hazard: owned(&told.hazard),
        hazard_caution: owned(&told.hazard_caution),
        caution: told.caution.clone().into_owned(),
    }
}

/// What each finding tells of its rule, as a row of `rules` keeps it.
pub(super) fn told(screened: &Screened) -> Vec<String> {
    let findings = screened.report.findings.iter().flatten();
    let texts = findings.map(|finding| serde_json::to_string(&of_rule(finding)));
    texts.map(|text| text.expect(HOLDS)).collect()
}

const HOLDS: &str = "a report holds only what JSON can say";

/// A result, packed; its findings name rows of `rules`, one for each.
pub(super) fn pack(screened: &mut Screened, told: &[i64]) -> Vec<u8> {
    // The report is written without its findings, and then gets them back.
    let findings = screened.report.findings.take();
    let lean = findings.as_ref().map(|findings| {
        let each = findings.iter().zip(told);
        each.map(|(finding, told)| of_record(finding, *told))
            .collect()
    });
    let packed = Packed {
        report: Cow::Borrowed(&screened.report),
        findings: lean,
        recorded: screened.recorded.map(date::show),
        positions: Cow::Borrowed(&screened.places),
    };
    let json = serde_json::to_vec(&packed).expect(HOLDS);
    screened.report.findings = findings;
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::fast());
    let written = encoder.write_all(&json).and_then(|()| encoder.finish());
    written.expect("memory takes what is written to it")
}

/// The result that was packed; none where somebody else changed it.
pub(super) fn unpack(packed: &[u8], rules: &HashMap<i64, Told<'static>>) -> Option<Screened> {
    let mut json = Vec::new();
    let text = ZlibDecoder::new(packed);
    text.take(LARGEST).read_to_end(&mut json).ok()?;
    let packed: Packed<'static> = serde_json::from_slice(&json).ok()?;
    let mut report = packed.report.into_owned();
    if let Some(findings) = packed.findings {
        let each = findings.into_iter();
        let whole = each.map(|lean| whole_of(lean, rules));
        report.findings = Some(whole.collect::<Option<_>>()?);
    }
    let recorded = match packed.recorded {
        Some(text) => Some(date::parse(&text)?),
        None => None,
    };
    Some(Screened {
        asked: report.counts,
        report,
        recorded,
        places: packed.positions.into_owned(),
        plan: None,
    })
}

fn whole_of(lean: Lean<'static>, rules: &HashMap<i64, Told<'static>>) -> Option<Finding> {
    let told = rules.get(&lean.told)?;
    Some(whole(lean, told))
}
