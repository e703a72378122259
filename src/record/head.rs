//! The head of a record: which lot, where, under which permits, how far the work has come.
//!
//! No rule reads it, so what is missing here is a mistake and never a verdict.

use smallvec::SmallVec;

use super::error::{Mistakes, RecordError};
use super::facts::{ClaimedVariance, Head, Permit, Plan};
use super::names;
use super::read::Parts;
use super::tolerances::{self, Tolerances};
use super::tree::{Entry, Node, NodeKind, trimmed};
use crate::quantity::{Dimension, Rational, date};
use crate::source::{Span, Spanned};
use crate::vocabulary::{HoldId, PermitId, Type, Vocabulary};

/// The keys of a head, in the order in which they are usually written.
pub const HEAD_KEYS: [&str; 10] = [
    "record",
    "lot",
    "place",
    "permits",
    "recorded",
    "stage",
    "tolerances",
    "datum",
    "plan",
    "variances",
];

/// The keys of `plan`.
pub const PLAN_KEYS: [&str; 2] = ["file", "tolerance"];

/// The keys of a permit.
pub const PERMIT_KEYS: [&str; 5] = ["number", "applied", "issued", "plan_approved", "expires"];

/// The keys of `recorded`.
pub const RECORDED_KEYS: [&str; 3] = ["by", "role", "date"];

/// The keys of a claimed variance.
pub const VARIANCE_KEYS: [&str; 7] = [
    "number",
    "rule",
    "subject",
    "authority",
    "date",
    "until",
    "because",
];

/// What stands in for parts of the head, from outside the record.
#[derive(Debug, Clone, Default)]
pub struct Overrides {
    /// In place of the record's places; nothing where empty.
    pub places: Vec<String>,
    /// In place of the dates of all permits, canonical in seconds; also of the recorded date
    /// where that is missing.
    pub on: Option<Rational>,
    /// In place of the stage.
    pub at: Option<HoldId>,
}

/// Whose head it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum HeadOf {
    Record,
    /// A fragment is of no lot, and its format is that of its file.
    Fragment,
}

/// Reads the head. There is none where a part of it is missing, which was then told; what
/// tolerances it gives is known in any case.
pub(super) fn read(
    vocabulary: &Vocabulary,
    parts: &Parts<'_>,
    overrides: &Overrides,
    mistakes: &mut Mistakes,
) -> (Option<Head>, Tolerances) {
    let mut reader = Reader {
        vocabulary,
        overrides,
        entries: &parts.head,
        at: parts.at,
        mistakes,
    };
    if parts.of == HeadOf::Fragment {
        // A record's has been sorted by its keys.
        reader.unknown_keys();
    }
    let head = reader.head(parts.of);
    (head, reader.tolerances())
}

/// The head of a record without a mistake; none of any other. Its tolerances are read apart.
pub(crate) fn plain_head(
    vocabulary: &Vocabulary,
    entries: &[Entry<'_>],
    overrides: &Overrides,
) -> Option<Head> {
    let mut mistakes = Mistakes::default();
    let at = entries.first()?.key.span;
    let entries: SmallVec<[&Entry<'_>; HEAD_KEYS.len()]> = entries.iter().collect();
    let mut reader = Reader {
        vocabulary,
        overrides,
        entries: &entries,
        at,
        mistakes: &mut mistakes,
    };
    let head = reader.head(HeadOf::Record);
    head.filter(|_| mistakes.is_empty())
}

/// What is written behind `tolerances`, without a mistake; none of anything else.
pub(crate) fn plain_tolerances(written: &Node) -> Option<Tolerances> {
    let mut mistakes = Mistakes::default();
    let tolerances = tolerances::read(written, &mut mistakes);
    (mistakes.is_empty() && !written.is_empty()).then_some(tolerances)
}

/// A text with something in it; a number or a date counts as the text that was written.
pub(super) fn text<'n>(
    key: &str,
    node: &'n Node,
    mistakes: &mut Mistakes,
) -> Option<Spanned<&'n str>> {
    let at = node.span;
    match &node.kind {
        NodeKind::Scalar(scalar) => {
            let text = trimmed(&scalar.text);
            if text.is_empty() {
                let key = key.into();
                mistakes.add(at, RecordError::EmptyText { key, at });
                return None;
            }
            Some(Spanned::new(text, at))
        }
        NodeKind::Sequence(_) | NodeKind::Mapping(_) => {
            let error = RecordError::Shape {
                found: node.called(),
                expected: format!("a text for `{key}`"),
                mend: format!("write `{key}: …` with one value"),
                at,
            };
            mistakes.add(at, error);
            None
        }
        NodeKind::Empty | NodeKind::Unreadable => None,
    }
}

/// A day, canonical in seconds.
pub(super) fn day(key: &str, node: &Node, mistakes: &mut Mistakes) -> Option<Spanned<Rational>> {
    let written = text(key, node, mistakes)?;
    let at = written.span;
    let seconds = date::parse(written.value);
    if seconds.is_none() {
        let found = written.value.to_owned();
        mistakes.add(at, RecordError::Date { found, at });
    }
    Some(Spanned::new(seconds?, at))
}

struct Reader<'a> {
    vocabulary: &'a Vocabulary,
    overrides: &'a Overrides,
    entries: &'a [&'a Entry<'a>],
    /// Where the head begins.
    at: Span,
    mistakes: &'a mut Mistakes,
}

impl<'a> Reader<'a> {
    fn head(&mut self, of: HeadOf) -> Option<Head> {
        // Each part is read before any `?`, so that all mistakes of the head are told.
        let format = self.format(of);
        let lot = self.lot(of);
        let places = self.places(of);
        let permits = self.permits();
        let recorded = self.recorded();
        let stage = self.stage();
        let datum = self
            .entry("datum")
            .and_then(|node| self.text("datum", node));
        let plan = match self.entry("plan") {
            Some(node) => Some(self.plan(node)?),
            None => None,
        };
        let variances = self.variances();
        let (recorded_by, recorded_role, recorded_date) = recorded?;
        format?;
        Some(Head {
            lot: lot?,
            places: places?,
            permits: permits?,
            recorded_by,
            recorded_role,
            recorded_date,
            stage: stage?,
            datum,
            plan,
            variances: variances?,
        })
    }

    fn unknown_keys(&mut self) {
        for entry in self.entries {
            self.known(entry, &HEAD_KEYS, "the head");
        }
    }

    fn known(&mut self, entry: &Entry, keys: &[&str], owner: &str) -> bool {
        let key = &*entry.key.value;
        let is_known = keys.contains(&key);
        if !is_known {
            let error = RecordError::UnknownKey {
                key: key.into(),
                owner: owner.into(),
                mend: names::suggest(key, keys.iter().copied()),
                at: entry.key.span,
            };
            self.mistakes.add(entry.key.span, error);
        }
        is_known
    }

    /// What stands behind a key, if anything does.
    fn entry(&self, key: &str) -> Option<&'a Node<'a>> {
        let entry = self.entries.iter().find(|entry| entry.key.value == key)?;
        (!entry.value.is_empty()).then_some(&entry.value)
    }

    fn text(&mut self, key: &str, node: &Node) -> Option<Spanned<String>> {
        let text = text(key, node, self.mistakes)?;
        Some(Spanned::new(text.value.to_owned(), text.span))
    }

    fn missing(&mut self, key: &'static str, meaning: &'static str, example: impl Into<String>) {
        self.missing_at(self.at, key, meaning, example);
    }

    fn missing_at(
        &mut self,
        at: Span,
        key: &'static str,
        meaning: &'static str,
        example: impl Into<String>,
    ) {
        let error = RecordError::MissingHead {
            owner: "the head",
            key,
            meaning,
            example: example.into(),
            at,
        };
        self.mistakes.add(at, error);
    }

    fn format(&mut self, of: HeadOf) -> Option<()> {
        let Some(node) = self.entry("record") else {
            if of == HeadOf::Fragment {
                return Some(());
            }
            self.missing("record", "the format of the file", "record: 1");
            return None;
        };
        let found = text("record", node, self.mistakes)?;
        if found.value == "1" {
            return Some(());
        }
        let at = found.span;
        let found = found.value.to_owned();
        self.mistakes.add(at, RecordError::Format { found, at });
        None
    }

    fn lot(&mut self, of: HeadOf) -> Option<Spanned<String>> {
        match self.entry("lot") {
            Some(node) => self.text("lot", node),
            None if of == HeadOf::Fragment => Some(Spanned::new(String::new(), self.at)),
            None => {
                self.missing("lot", "which lot this is", "lot: VM-07");
                None
            }
        }
    }

    fn places(&mut self, of: HeadOf) -> Option<Vec<Spanned<String>>> {
        let written = self.entry("place").map(|node| self.place_texts(node));
        if !self.overrides.places.is_empty() {
            let at = self.at;
            let places = self.overrides.places.iter();
            return Some(
                places
                    .map(|place| Spanned::new(place.clone(), at))
                    .collect(),
            );
        }
        if written.is_none() && of == HeadOf::Fragment {
            return Some(Vec::new());
        }
        if written.is_none() {
            let example = "place: state/county/municipality";
            self.missing("place", "whose rules are in force", example);
        }
        written?
    }

    fn place_texts(&mut self, node: &Node) -> Option<Vec<Spanned<String>>> {
        let Some(elements) = node.elements() else {
            return Some(vec![self.text("place", node)?]);
        };
        if elements.is_empty() {
            let (key, at) = ("place".into(), node.span);
            self.mistakes.add(at, RecordError::EmptyText { key, at });
            return None;
        }
        let texts: Vec<_> = elements
            .iter()
            .map(|element| self.required_text("place", element))
            .collect();
        texts.into_iter().collect()
    }

    /// A text that must be there.
    fn required_text(&mut self, key: &str, node: &Node) -> Option<Spanned<String>> {
        if node.is_empty() {
            let (key, at) = (key.into(), node.span);
            self.mistakes.add(at, RecordError::EmptyText { key, at });
        }
        self.text(key, node)
    }

    // Permits.

    fn permits(&mut self) -> Option<Vec<Permit>> {
        let written = match self.entry("permits") {
            Some(node) if node.is_word("none") => Some(Vec::new()),
            Some(node) => Some(self.written_permits(node)),
            None => None,
        };
        match (written, self.overrides.on) {
            (written, Some(on)) => Some(self.dated(written.unwrap_or_default(), on)),
            (Some(written), None) => Some(written),
            (None, None) => {
                let kind = self.vocabulary.permits.first();
                let kind = kind.map_or("plumbing", |kind| kind.name.as_str());
                let example = format!("permits: {{ {kind}: {{ issued: 2026-03-02 }} }}");
                let meaning = "which permits the lot has, with their dates";
                self.missing("permits", meaning, example);
                None
            }
        }
    }

    /// A permit of every kind, with the date that was given in place of its own.
    fn dated(&self, written: Vec<Permit>, on: Rational) -> Vec<Permit> {
        let at = self.at;
        self.vocabulary
            .permit_ids()
            .map(|kind| {
                let own = written.iter().find(|permit| permit.kind == kind);
                Permit {
                    kind,
                    number: own.and_then(|permit| permit.number.clone()),
                    applied: Some(Spanned::new(on, at)),
                    issued: Some(Spanned::new(on, at)),
                    plan_approved: Some(Spanned::new(on, at)),
                    expires: own.and_then(|permit| permit.expires.clone()),
                    span: own.map_or(at, |permit| permit.span),
                }
            })
            .collect()
    }

    fn written_permits(&mut self, node: &Node) -> Vec<Permit> {
        let mend = "write a line for each kind, such as `plumbing: { issued: 2026-03-02 }`";
        let mut permits = Vec::new();
        for entry in self.mapping("permits", node, mend) {
            let key = &*entry.key.value;
            let kind = self.vocabulary.permit(key);
            match kind {
                Some(kind) => permits.push(self.permit(kind, entry)),
                None => self.unknown_permit(key, entry.key.span),
            }
        }
        permits
    }

    fn unknown_permit(&mut self, name: &str, at: Span) {
        let known = self.vocabulary.permits.iter();
        let error = RecordError::UnknownName {
            name: name.into(),
            what: "a kind of permit",
            mend: names::suggest(name, known.map(|kind| kind.name.as_str())),
            at,
        };
        self.mistakes.add(at, error);
    }

    fn permit(&mut self, kind: PermitId, entry: &Entry) -> Permit {
        let mut permit = Permit {
            kind,
            number: None,
            applied: None,
            issued: None,
            plan_approved: None,
            expires: None,
            span: entry.key.span.to(entry.value.span),
        };
        let mend = "write `{ number: …, issued: 2026-03-02 }`";
        for part in self.mapping(&entry.key.value, &entry.value, mend) {
            let key = &*part.key.value;
            match key {
                "number" => permit.number = self.text(key, &part.value),
                "applied" => permit.applied = day(key, &part.value, self.mistakes),
                "issued" => permit.issued = day(key, &part.value, self.mistakes),
                "plan_approved" => permit.plan_approved = day(key, &part.value, self.mistakes),
                "expires" => permit.expires = day(key, &part.value, self.mistakes),
                _ => {
                    self.known(part, &PERMIT_KEYS, "a permit");
                }
            }
        }
        permit
    }

    fn mapping<'n>(&mut self, key: &str, node: &'n Node<'n>, mend: &str) -> &'n [Entry<'n>] {
        match &node.kind {
            NodeKind::Mapping(entries) => entries,
            NodeKind::Empty | NodeKind::Unreadable => &[],
            NodeKind::Scalar(_) | NodeKind::Sequence(_) => {
                let error = RecordError::Shape {
                    found: node.called(),
                    expected: format!("a mapping for `{key}`"),
                    mend: mend.into(),
                    at: node.span,
                };
                self.mistakes.add(node.span, error);
                &[]
            }
        }
    }

    // Who, when, how far.

    #[expect(
        clippy::type_complexity,
        reason = "three parts of the head, named by the caller"
    )]
    fn recorded(
        &mut self,
    ) -> Option<(
        Option<Spanned<String>>,
        Option<Spanned<String>>,
        Spanned<Rational>,
    )> {
        let (mut by, mut role, mut date) = (None, None, None);
        let node = self.entry("recorded");
        let mut has_date = false;
        if let Some(node) = node {
            for part in self.mapping("recorded", node, "write `{ by: …, date: 2026-04-18 }`") {
                let key = &*part.key.value;
                match key {
                    "by" => by = self.text(key, &part.value),
                    "role" => role = self.text(key, &part.value),
                    "date" => {
                        has_date = !part.value.is_empty();
                        date = day(key, &part.value, self.mistakes);
                    }
                    _ => {
                        self.known(part, &RECORDED_KEYS, "`recorded`");
                    }
                }
            }
        }
        if !has_date {
            match (self.overrides.on, node) {
                (Some(on), _) => date = Some(Spanned::new(on, self.at)),
                (None, Some(node)) => {
                    let meaning = "the day on which the readings were taken";
                    self.missing_at(node.span, "recorded.date", meaning, "date: 2026-04-18");
                }
                (None, None) => {
                    let example = "recorded: { by: …, role: …, date: 2026-04-18 }";
                    self.missing("recorded", "who recorded this, and when", example);
                }
            }
        }
        Some((by, role, date?))
    }

    fn stage(&mut self) -> Option<Spanned<HoldId>> {
        let written = self.entry("stage").map(|node| self.written_stage(node));
        if let Some(hold) = self.overrides.at {
            return Some(Spanned::new(hold, self.at));
        }
        if written.is_none() {
            let hold = self.vocabulary.holds.first();
            let hold = hold.map_or("before_cover", |hold| hold.name.as_str());
            let example = format!("stage: {hold}");
            self.missing("stage", "the hold point the work has come to", example);
        }
        written?
    }

    fn written_stage(&mut self, node: &Node) -> Option<Spanned<HoldId>> {
        let name = text("stage", node, self.mistakes)?;
        let at = name.span;
        let hold = self.vocabulary.hold(name.value);
        if hold.is_none() {
            let known = self.vocabulary.holds.iter();
            let error = RecordError::UnknownName {
                mend: names::suggest(name.value, known.map(|hold| hold.name.as_str())),
                name: name.value.to_owned(),
                what: "a hold point",
                at,
            };
            self.mistakes.add(at, error);
        }
        Some(Spanned::new(hold?, at))
    }

    fn tolerances(&mut self) -> Tolerances {
        match self.entry("tolerances") {
            Some(node) => tolerances::read(node, self.mistakes),
            None => {
                let example = "tolerances: { length: 1/4 in, others: exact }";
                let meaning = "how far a reading may be off";
                self.missing("tolerances", meaning, example);
                Tolerances::unreadable(None)
            }
        }
    }

    // The plan.

    fn plan(&mut self, node: &Node) -> Option<Plan> {
        let mend = "write `{ file: lot_07.geojson, tolerance: 0.3 ft }`";
        let entries = self.mapping("plan", node, mend);
        for entry in entries {
            self.known(entry, &PLAN_KEYS, "a plan");
        }
        let part = |key: &str| node.get(key).filter(|part| !part.is_empty());
        let file = match part("file") {
            Some(file) => self.plan_file(file),
            None => {
                let meaning = "the name of a GeoJSON file beside the record";
                self.missing_at(node.span, "plan.file", meaning, "file: lot_07.geojson");
                None
            }
        };
        let length = Type::Quantity(Dimension::LENGTH);
        let tolerance = match part("tolerance") {
            Some(tolerance) => tolerances::read_one("tolerance", length, tolerance, self.mistakes),
            None => {
                let meaning = "how far a northing or an easting may be off";
                self.missing_at(node.span, "plan.tolerance", meaning, "tolerance: 0.3 ft");
                None
            }
        };
        Some(Plan {
            file: file?,
            tolerance: tolerance?,
            source: None,
        })
    }

    fn plan_file(&mut self, node: &Node) -> Option<Spanned<String>> {
        let file = self.text("file", node)?;
        let is_below = file
            .value
            .split('/')
            .all(|part| !part.trim().is_empty() && part != "." && part != "..");
        if !is_below || file.value.contains(['\\', ':', '\0']) {
            let at = file.span;
            let found = file.value;
            self.mistakes.add(at, RecordError::PlanFile { found, at });
            return None;
        }
        Some(file)
    }

    // Variances.

    fn variances(&mut self) -> Option<Vec<ClaimedVariance>> {
        let Some(node) = self.entry("variances") else {
            return Some(Vec::new());
        };
        if node.is_word("none") {
            return Some(Vec::new());
        }
        let Some(elements) = node.elements() else {
            let error = RecordError::Shape {
                found: node.called(),
                expected: "a list for `variances`".into(),
                mend: "write a line `- { number: …, rule: …, … }` for each, or leave it out".into(),
                at: node.span,
            };
            self.mistakes.add(node.span, error);
            return None;
        };
        if elements.is_empty() {
            let (key, at) = ("variances".into(), node.span);
            self.mistakes.add(at, RecordError::EmptyList { key, at });
        }
        let variances: Vec<_> = elements.iter().map(|one| self.variance(one)).collect();
        variances.into_iter().collect()
    }

    fn variance(&mut self, node: &Node) -> Option<ClaimedVariance> {
        let mend = "write `{ number: …, rule: …, subject: …, authority: …, date: …, until: …, because: … }`";
        let entries = self.mapping("variances", node, mend);
        for entry in entries {
            self.known(entry, &VARIANCE_KEYS, "a variance");
        }
        let at = node.span;
        let number = self.part(node, "number", at);
        let rule = self.part(node, "rule", at);
        let subject = self.part(node, "subject", at);
        let authority = self.part(node, "authority", at);
        let because = self.part(node, "because", at);
        let date = self.part(node, "date", at).and_then(|date| self.date(date));
        let until = self.part(node, "until", at).and_then(|until| {
            if until.value == "no end" {
                return Some(None);
            }
            self.date(until).map(Some)
        });
        Some(ClaimedVariance {
            number: number?,
            rule: rule?,
            subject: subject?,
            authority: authority?,
            date: date?,
            until: until?,
            because: because?,
        })
    }

    /// A part that a variance must have.
    fn part(&mut self, node: &Node, key: &'static str, at: Span) -> Option<Spanned<String>> {
        node.entries()?;
        match node.get(key) {
            Some(value) if !value.is_empty() => self.text(key, value),
            Some(_) | None => {
                let example = match key {
                    "until" => "until: 2027-03-01` or `until: no end".into(),
                    key => format!("{key}: …"),
                };
                let error = RecordError::MissingHead {
                    owner: "this variance",
                    key,
                    meaning: "which each that is claimed must have",
                    example,
                    at,
                };
                self.mistakes.add(at, error);
                None
            }
        }
    }

    fn date(&mut self, written: Spanned<String>) -> Option<Spanned<Rational>> {
        let at = written.span;
        let seconds = date::parse(&written.value);
        if seconds.is_none() {
            let found = written.value;
            self.mistakes.add(at, RecordError::Date { found, at });
        }
        Some(Spanned::new(seconds?, at))
    }
}
