//! Which records and findings are wanted.

use super::Screened;
use crate::finding::{Counts, Finding, Verdict};
use crate::judge::Telling;
use crate::quantity::Rational;

/// What is wanted; everything where nothing is said. Of several values for one question any
/// suffices, and every question must be answered.
#[derive(Debug, Clone, Default)]
pub struct Filter {
    /// Findings with one of these verdicts.
    pub verdicts: Vec<Verdict>,
    /// Findings with one of these hazards.
    pub hazards: Vec<String>,
    /// Findings that can still be mended at one of these hold points.
    pub holds: Vec<String>,
    /// Records of one of these places, or of a place inside it.
    pub within: Vec<String>,
    /// Records of this date or after, canonical in seconds.
    pub from: Option<Rational>,
    /// Records before this date.
    pub until: Option<Rational>,
}

impl Filter {
    /// The record with the findings that are wanted; none where it is not wanted itself, or has
    /// none of the findings that were asked for. What can't be read is always wanted: nobody
    /// knows what is in it.
    pub fn apply(&self, mut screened: Screened) -> Option<Screened> {
        let Some(findings) = &mut screened.report.findings else {
            return Some(screened);
        };
        if self.asks_of_findings() {
            findings.retain(|finding| self.wants(finding));
            screened.asked = Counts::of(findings);
            if findings.is_empty() {
                return None;
            }
        }
        self.wants_record(&screened).then_some(screened)
    }

    /// What has to be told for it in a summary, with what is near; or wherever all is told in words.
    pub fn telling(&self, is_summary: bool, near: Option<f64>) -> Telling {
        let settled = [Verdict::Meets, Verdict::DoesNotApply];
        let open_only = !self.verdicts.is_empty()
            && !settled
                .iter()
                .any(|verdict| self.verdicts.contains(verdict));
        match (is_summary, open_only) {
            (false, true) => Telling::Open,
            (false, false) => Telling::All,
            (true, true) => Telling::Outline { near: None },
            // What is counted of hazards and hold points is counted by its findings.
            (true, false) if self.asks_of_findings() => Telling::All,
            (true, false) => Telling::Outline { near },
        }
    }

    fn asks_of_findings(&self) -> bool {
        !(self.verdicts.is_empty() && self.hazards.is_empty() && self.holds.is_empty())
    }

    fn wants(&self, finding: &Finding) -> bool {
        let hazard = finding.hazard.as_ref();
        (self.verdicts.is_empty() || self.verdicts.contains(&finding.verdict))
            && (self.hazards.is_empty() || hazard.is_some_and(|one| self.hazards.contains(one)))
            && (self.holds.is_empty() || self.holds.contains(&finding.hold))
    }

    fn wants_record(&self, screened: &Screened) -> bool {
        let places = &screened.report.places;
        let inside = |place: &String| self.within.iter().any(|outer| lies_in(place, outer));
        let recorded = screened.recorded;
        (self.within.is_empty() || places.iter().any(inside))
            && self
                .from
                .is_none_or(|from| recorded.is_some_and(|on| on >= from))
            && self
                .until
                .is_none_or(|until| recorded.is_some_and(|on| on < until))
    }
}

fn lies_in(place: &str, outer: &str) -> bool {
    place
        .strip_prefix(outer)
        .is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
}
