//! Findings for a person at a terminal: first what falls short, then what is due and missing, then
//! what can no longer be seen. Colours are never the only sign.

use anstyle::{AnsiColor, Style as Ansi};
use textwrap::{Options, WordSplitter, wrap};

use crate::finding::{
    Clause, ClauseStanding, Due, Finding, Obligation, Provenance, Report, STANDING, SignedBy,
    Subject, Verdict,
};
use crate::forms::{Coverage, SourceEntry, TopicEntry};
use crate::judge::{Explanation, Line};
use crate::source::is_hidden;

pub use super::words::way_words;

/// How a terminal is written to.
#[derive(Debug, Clone, Copy)]
pub struct Style {
    /// Whether colours are shown.
    pub colour: bool,
    /// How many columns prose is set in.
    pub width: usize,
}

/// The most lines of the record that are shown under a finding.
const MOST_QUOTED: usize = 3;
/// The most missing things that are named under a finding.
const MOST_MISSING: usize = 6;

pub(super) const SHORT: Ansi = AnsiColor::Red.on_default().bold();
pub(super) const OPEN: Ansi = AnsiColor::Yellow.on_default().bold();
pub(super) const QUIET: Ansi = Ansi::new().dimmed();
pub(super) const STRONG: Ansi = Ansi::new().bold();

/// A record's findings.
pub fn report(report: &Report, record: &str, style: Style) -> String {
    let mut page = Page {
        text: String::new(),
        style,
        record,
        name: &report.record,
    };
    page.head(report);
    let findings = report.findings.as_deref().unwrap_or_default();
    let is_later = |finding: &&Finding| finding.due == Due::Later;
    let of = |verdict: Verdict| move |finding: &&Finding| finding.verdict == verdict;
    let due: Vec<&Finding> = findings.iter().filter(|f| !is_later(f)).collect();

    let short: Vec<&Finding> = due
        .iter()
        .copied()
        .filter(|f| of(Verdict::FallsShort)(f))
        .collect();
    page.section("FALLS SHORT", SHORT, &short);
    let undecided =
        |finding: &&&Finding| matches!(finding.verdict, Verdict::NotRecorded | Verdict::TooClose);
    let now: Vec<&Finding> = due
        .iter()
        .copied()
        .filter(|f| undecided(&f) && f.due == Due::Now)
        .collect();
    page.gathered("NOT DECIDED, DUE NOW", &now);
    let past: Vec<&Finding> = due
        .iter()
        .copied()
        .filter(|f| undecided(&f) && f.due == Due::Past)
        .collect();
    page.gathered("CAN NO LONGER BE SEEN", &past);
    let asked: Vec<&Finding> = due
        .iter()
        .copied()
        .filter(|f| of(Verdict::Refer)(f))
        .collect();
    page.gathered("FOR THE AUTHORITY OR THE COMPETENT PERSON", &asked);

    let met = due.iter().filter(|f| of(Verdict::Meets)(f)).count();
    let idle = due.iter().filter(|f| of(Verdict::DoesNotApply)(f)).count();
    page.line(&format!("Due and met: {met}. Not applicable here: {idle}."));
    let later: Vec<&Finding> = findings.iter().filter(is_later).collect();
    page.later(&later);
    page.foot(report);
    page.text
}

pub(super) struct Page<'a> {
    pub(super) text: String,
    pub(super) style: Style,
    record: &'a str,
    name: &'a str,
}

impl Page<'_> {
    pub(super) fn line(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    pub(super) fn painted(&self, text: &str, ansi: Ansi) -> String {
        if self.style.colour {
            format!("{ansi}{text}{ansi:#}")
        } else {
            text.to_owned()
        }
    }

    /// A label and prose beside it, wrapped under itself.
    pub(super) fn labelled(&mut self, label: &str, prose: &str) {
        let first = format!("    {label:<9}");
        let rest = " ".repeat(first.chars().count());
        let options = Options::new(self.style.width)
            .initial_indent("")
            .subsequent_indent(&rest)
            .break_words(false)
            .word_splitter(WordSplitter::NoHyphenation);
        let all = format!("{first}{}", harmless(prose));
        for (at, line) in wrap(&all, options).iter().enumerate() {
            if at == 0 {
                let body = &line[first.len().min(line.len())..];
                let label = self.painted(&first, QUIET);
                self.line(&format!("{label}{body}"));
            } else {
                self.line(line);
            }
        }
    }

    fn head(&mut self, report: &Report) {
        let lot = report.lot.as_deref().unwrap_or("no lot");
        let title = self.painted(&format!("Lot {}", harmless(lot)), STRONG);
        self.line(&format!("{title}  {}", harmless(self.name)));
        self.line(&format!("  at {}", report.places.join(" and ")));
        if let Some(stage) = &report.stage {
            self.line(&format!("  stage {}", words(stage)));
        }
        for stood_in in &report.stood_in {
            self.line(&format!(
                "  from the command line, not from the record: {stood_in}"
            ));
        }
        self.line("");
    }

    pub(super) fn section_title(&mut self, title: &str, ansi: Ansi, count: usize) {
        let title = self.painted(&format!("{title} ({count})"), ansi);
        self.line(&title);
        self.line("");
    }

    fn section(&mut self, title: &str, ansi: Ansi, findings: &[&Finding]) {
        if findings.is_empty() {
            return;
        }
        self.section_title(title, ansi, findings.len());
        for finding in findings {
            self.finding(finding);
        }
    }

    /// What lacks the same readings stands together: one trip to the lot answers all of it.
    fn gathered(&mut self, title: &str, findings: &[&Finding]) {
        if findings.is_empty() {
            return;
        }
        self.section_title(title, OPEN, findings.len());
        let mut groups: Vec<Vec<&Finding>> = Vec::new();
        for finding in findings {
            match groups
                .iter_mut()
                .find(|group| asks_the_same(group[0], finding))
            {
                Some(group) => group.push(finding),
                None => groups.push(vec![finding]),
            }
        }
        for group in groups {
            self.group(&group);
        }
    }

    fn group(&mut self, group: &[&Finding]) {
        let Some(first) = group.first() else { return };
        if group.len() == 1 {
            self.finding(first);
            return;
        }
        self.missing(first);
        if let Some(question) = &first.question {
            self.labelled("question", question);
        }
        for finding in group {
            self.rule_line(finding);
            let subject = subject_words(&finding.subject);
            if !subject.is_empty() {
                self.labelled("where", &subject);
            }
            for clause in finding.clauses.iter().take(1) {
                self.labelled("clause", &clause_words(clause));
            }
        }
        let mut said: Vec<&str> = Vec::new();
        let hazards = group
            .iter()
            .filter_map(|finding| finding.hazard_caution.as_deref());
        for hazard in hazards {
            if !said.contains(&hazard) {
                said.push(hazard);
                self.labelled("hazard", hazard);
            }
        }
        for caution in group.iter().map(|finding| finding.caution.as_str()) {
            if !said.contains(&caution) {
                said.push(caution);
                self.labelled("caution", caution);
            }
        }
        self.line("");
    }

    fn rule_line(&mut self, finding: &Finding) {
        let asks = match finding.obligation {
            Obligation::Shall | Obligation::ShallRecord | Obligation::Refer => "",
            Obligation::Should => " (advised)",
            Obligation::Precaution => " (precaution)",
        };
        let whole = format!("  {}  {}{asks}", finding.rule, finding.title);
        let options = Options::new(self.style.width)
            .subsequent_indent("      ")
            .break_words(false)
            .word_splitter(WordSplitter::NoHyphenation);
        for (at, line) in wrap(&whole, options).iter().enumerate() {
            let name = format!("  {}", finding.rule);
            match line.strip_prefix(&name) {
                Some(rest) if at == 0 => {
                    let name = self.painted(&name, STRONG);
                    self.line(&format!("{name}{rest}"));
                }
                Some(_) | None => self.line(line),
            }
        }
    }

    fn finding(&mut self, finding: &Finding) {
        self.rule_line(finding);
        let subject = subject_words(&finding.subject);
        if !subject.is_empty() {
            self.labelled("where", &subject);
        }
        match finding.verdict {
            Verdict::FallsShort => self.short(finding),
            Verdict::NotRecorded | Verdict::TooClose => self.undecided(finding),
            Verdict::Refer => {
                if let Some(question) = &finding.question {
                    self.labelled("question", question);
                }
            }
            Verdict::Meets | Verdict::DoesNotApply => {}
        }
        for limit in &finding.limits {
            self.labelled("limit", &way_words(limit));
        }
        for clause in &finding.clauses {
            self.labelled("clause", &clause_words(clause));
        }
        if let Some(variance) = &finding.variance {
            let how = match (variance.granted, variance.valid) {
                (true, true) => "granted, and valid when this was recorded",
                (true, false) => "granted, but not valid when this was recorded",
                (false, _) => "claimed by the record only, which changes nothing",
            };
            self.labelled(
                "variance",
                &format!("{} of {}: {how}", variance.number, variance.authority),
            );
        }
        if finding.verdict == Verdict::FallsShort {
            self.labelled("remedy", &finding.remedy);
        }
        if let Some(caution) = &finding.hazard_caution {
            self.labelled("hazard", caution);
        }
        self.labelled("caution", &finding.caution);
        self.line("");
    }

    fn short(&mut self, finding: &Finding) {
        let verdict = match (&finding.measured, &finding.limit, &finding.margin) {
            (Some(measured), Some(limit), Some(margin)) => format!(
                "{measured} against {limit}: short by {}",
                margin.trim_start_matches(['-', '−'])
            ),
            (Some(measured), Some(limit), None) => format!("{measured} against {limit}"),
            (Some(measured), None, _) => measured.clone(),
            (None, _, _) => "what it asks is not so".to_owned(),
        };
        self.labelled("found", &verdict);
        self.decisions(finding);
        // What was measured is read first, what chose the limit after it.
        let mut quoted = Vec::new();
        for place in &finding.places {
            if !quoted.contains(&place.line) && quoted.len() < MOST_QUOTED {
                quoted.push(place.line);
                self.quote(place.line, place.column);
            }
        }
    }

    fn undecided(&mut self, finding: &Finding) {
        match finding.verdict {
            Verdict::TooClose => {
                let found = match (&finding.measured, &finding.limit) {
                    (Some(measured), Some(limit)) => {
                        format!("too close to call: {measured} against {limit}")
                    }
                    (Some(_) | None, _) => "too close to call".to_owned(),
                };
                self.labelled("found", &found);
            }
            Verdict::NotRecorded => self.missing(finding),
            Verdict::Meets | Verdict::FallsShort | Verdict::DoesNotApply | Verdict::Refer => {}
        }
        self.decisions(finding);
    }

    fn missing(&mut self, finding: &Finding) {
        for missing in finding.missing.iter().take(MOST_MISSING) {
            let at = if missing.path.is_empty() {
                String::new()
            } else {
                format!(" ({})", missing.path)
            };
            self.labelled("missing", &format!("{}{at}", missing.what));
        }
        if finding.missing.len() > MOST_MISSING {
            let more = finding.missing.len() - MOST_MISSING;
            self.labelled("", &format!("and {more} more"));
        }
    }

    /// The other of the two decisions, where it differs.
    fn decisions(&mut self, finding: &Finding) {
        if finding.banded != finding.as_read {
            self.labelled(
                "decided",
                &format!(
                    "with tolerances: {}; as read: {}",
                    finding.banded.words(),
                    finding.as_read.words()
                ),
            );
        }
    }

    /// The record's own line, with the place marked under it.
    fn quote(&mut self, line: usize, column: usize) {
        let Some(text) = self.record.lines().nth(line - 1).map(harmless) else {
            return;
        };
        let number = format!("{line:>6}");
        let before: String = text.chars().take(column - 1).collect();
        let room = self.style.width.saturating_sub(10).max(20);
        // A long line is cut so that its marked place is seen.
        let skipped = before
            .chars()
            .count()
            .saturating_sub(room.saturating_sub(20));
        let shown: String = text.chars().skip(skipped).take(room).collect();
        let lead = if skipped > 0 { "…" } else { " " };
        let bar = self.painted("|", QUIET);
        self.line(&format!("{number} {bar}{lead}{shown}"));
        let offset = before.chars().count() - skipped;
        let mark = self.painted("^", SHORT);
        self.line(&format!("       {bar} {}{mark}", " ".repeat(offset)));
    }

    fn later(&mut self, later: &[&Finding]) {
        if later.is_empty() {
            return;
        }
        let short: Vec<&&Finding> = later
            .iter()
            .filter(|finding| finding.verdict == Verdict::FallsShort)
            .collect();
        self.line(&format!(
            "Not yet due at this stage: {}{}.",
            later.len(),
            match short.len() {
                0 => String::new(),
                count => format!(", of which {count} would fall short as recorded now"),
            }
        ));
        for finding in short {
            let found = match (&finding.measured, &finding.limit) {
                (Some(measured), Some(limit)) => format!(": {measured} against {limit}"),
                (Some(_) | None, _) => String::new(),
            };
            self.line(&format!(
                "  {}  {}{found}, due at {}",
                finding.rule,
                subject_words(&finding.subject),
                words(&finding.hold)
            ));
        }
    }

    fn foot(&mut self, report: &Report) {
        let width = self.style.width;
        for notice in &report.notices {
            self.paragraph(&format!("Notice: {notice}."), width);
        }
        if !report.claimed_complete.is_empty() {
            let lists = report.claimed_complete.join(", ");
            self.paragraph(
                &format!("The record says that these are all: {lists}."),
                width,
            );
        }
        if !report.topics_not_in_force.is_empty() {
            let topics = report.topics_not_in_force.join(", ");
            self.paragraph(&format!("Not in force here then: {topics}."), width);
        }
        let counts = report.counts;
        self.paragraph(
            &format!(
                "All findings: {} meet, {} fall short, {} too close to call, {} not recorded, {} do not apply, {} refer.",
                counts.meets,
                counts.falls_short,
                counts.too_close,
                counts.not_recorded,
                counts.does_not_apply,
                counts.refer
            ),
            width,
        );
        self.paragraph(&report.standing, width);
        if let Some(signed) = &report.ruleset_signed_by {
            self.paragraph(&signed_words(signed), width);
        }
        self.line(&format!(
            "groundrule {}, ruleset {}, record {}",
            report.program,
            &report.ruleset_digest[..report.ruleset_digest.len().min(12)],
            &report.record_digest[..report.record_digest.len().min(12)]
        ));
        self.line("");
    }

    /// Prose; where it is indented, its further lines are a little more.
    pub(super) fn paragraph(&mut self, prose: &str, width: usize) {
        let indent = prose.len() - prose.trim_start().len();
        let further = match indent {
            0 => String::new(),
            _ => " ".repeat(indent + 2),
        };
        for line in wrap(
            prose,
            Options::new(width)
                .subsequent_indent(&further)
                .break_words(false)
                .word_splitter(WordSplitter::NoHyphenation),
        ) {
            self.line(&line);
        }
    }
}

/// Whether two findings lack the same readings, or put the same question.
fn asks_the_same(one: &Finding, other: &Finding) -> bool {
    let asks = !one.missing.is_empty() || one.question.is_some();
    asks && one.missing == other.missing && one.question == other.question
}

/// Who signed a ruleset.
pub fn signed_words(signed: &SignedBy) -> String {
    format!(
        "Ruleset signed by {}, key {}, by the list of signers {}.",
        signed.principal,
        signed.key,
        signed.signers.words()
    )
}

/// What is said of the ruleset under a listing; empty where it is the program's own.
pub fn provenance(provenance: &Provenance, style: Style) -> String {
    let mut page = Page::blank(style);
    for notice in &provenance.notices {
        page.paragraph(&format!("Notice: {notice}."), style.width);
    }
    if let Some(signed) = &provenance.signed_by {
        page.paragraph(&signed_words(signed), style.width);
    }
    page.text
}

/// A text of a record without the signs by which it could steer a terminal.
pub(super) fn harmless(text: &str) -> String {
    text.replace(is_hidden, "\u{fffd}")
}

/// A name of the rule language as words.
pub(super) fn words(name: &str) -> String {
    name.replace('_', " ")
}

pub(super) fn subject_words(subject: &[Subject]) -> String {
    let parts: Vec<String> = subject
        .iter()
        .map(|part| {
            let mut text = words(&part.thing);
            match &part.id {
                Some(id) => text.push_str(&format!(" {id}")),
                None => {
                    let number = part
                        .path
                        .rsplit_once('[')
                        .and_then(|(_, rest)| rest.trim_end_matches(']').parse::<usize>().ok());
                    if let Some(number) = number {
                        text.push_str(&format!(" no. {}", number + 1));
                    }
                }
            }
            match (&part.from, &part.to, &part.at) {
                (Some(from), Some(to), _) => text.push_str(&format!(" from {from} to {to}")),
                (_, _, Some(at)) => text.push_str(&format!(" at {at}")),
                _ => {}
            }
            text
        })
        .collect();
    parts.join(", ")
}

/// A clause as it is cited.
pub fn clause_words(clause: &Clause) -> String {
    let standing = match clause.standing {
        ClauseStanding::Published => "",
        ClauseStanding::Practice => " [common practice]",
        ClauseStanding::Memory => " [stated from memory: read the text before relying on it]",
        ClauseStanding::Local => " [local]",
    };
    let edition = match clause.edition.as_str() {
        "" => String::new(),
        edition => format!(", {edition}"),
    };
    format!("{}{edition}, {}{standing}", clause.document, clause.section)
}

/// The whole computation of a rule on each of its subjects.
pub fn explanations(explanations: &[Explanation], style: Style) -> String {
    let mut text = String::new();
    for explanation in explanations {
        let mut page = Page::blank(style);
        page.explanation(explanation);
        text.push_str(&page.text);
    }
    text
}

impl Page<'_> {
    fn explanation(&mut self, explanation: &Explanation) {
        let finding = &explanation.finding;
        let rule = self.painted(&finding.rule, STRONG);
        self.line(&format!("{rule}  {}", finding.title));
        let subject = subject_words(&finding.subject);
        if !subject.is_empty() {
            self.labelled("where", &subject);
        }
        self.line("");
        for step in &explanation.steps {
            self.step(step);
        }
        self.line("");
        let verdict = self.painted(finding.verdict.words(), STRONG);
        let margin = match &finding.margin {
            Some(margin) => format!(", margin {margin}"),
            None => String::new(),
        };
        self.line(&format!(
            "    so it {verdict}{margin}",
            verdict = verdict_phrase(finding.verdict, &verdict)
        ));
        self.decisions(finding);
        self.missing(finding);
        if let Some(question) = &finding.question {
            self.labelled("question", question);
        }
        for clause in &finding.clauses {
            self.labelled("clause", &clause_words(clause));
        }
        if let Some(on) = &finding.in_force_on {
            let by = match &finding.permit {
                Some(permit) => format!("the {permit} permit's date, {on}"),
                None => format!("the recorded date, {on}"),
            };
            self.labelled("in force", &by);
        }
        self.labelled("remedy", &finding.remedy);
        self.labelled("caution", &finding.caution);
        self.line("");
    }

    fn step(&mut self, step: &Line) {
        let indent = " ".repeat(4 + 2 * step.depth);
        let value = if step.value.is_empty() {
            String::new()
        } else {
            format!(" = {}", step.value)
        };
        let options = Options::new(self.style.width)
            .initial_indent(&indent)
            .break_words(false)
            .word_splitter(WordSplitter::NoHyphenation);
        let under = format!("{indent}    ");
        let body = format!("{}{value}", step.step);
        for line in wrap(&body, options.subsequent_indent(&under)) {
            self.line(&line);
        }
        if let Some(from) = &step.from {
            let options = Options::new(self.style.width)
                .initial_indent(&under)
                .subsequent_indent(&under)
                .break_words(false)
                .word_splitter(WordSplitter::NoHyphenation);
            for line in wrap(from, options) {
                let line = self.painted(&line, QUIET);
                self.line(&line);
            }
        }
    }
}

/// `so it …`
fn verdict_phrase(verdict: Verdict, painted: &str) -> String {
    match verdict {
        Verdict::Meets | Verdict::FallsShort => painted.to_owned(),
        Verdict::TooClose | Verdict::NotRecorded => format!("is {painted}"),
        Verdict::DoesNotApply => painted.to_owned(),
        Verdict::Refer => format!("is one to {painted}"),
    }
}

/// The rules in force, by topic.
pub fn rules(topics: &[TopicEntry], style: Style) -> String {
    let mut page = Page::blank(style);
    for topic in topics {
        let name = page.painted(&topic.topic, STRONG);
        let permit = match &topic.permit {
            Some(permit) => format!("by the {} permit", words(permit)),
            None => "by the recorded date".to_owned(),
        };
        page.line(&format!("{name}  {} ({permit})", topic.title));
        page.line("");
        for rule in &topic.rules {
            page.paragraph(&format!("  {}  {}", rule.rule, rule.title), style.width);
            let asks = format!("{}, to be mended by {}", rule.obligation, words(&rule.hold));
            page.labelled("asks", &asks);
            for limit in &rule.limits {
                page.labelled("limit", &way_words(limit));
            }
            for clause in &rule.clauses {
                page.labelled("clause", &clause_words(clause));
            }
        }
        page.line("");
    }
    page.paragraph(STANDING, style.width);
    page.text
}

/// The documents behind the rules.
pub fn sources(entries: &[SourceEntry], style: Style) -> String {
    let mut page = Page::blank(style);
    for entry in entries {
        let name = page.painted(&entry.source, STRONG);
        page.line(&format!("{name}  {}", entry.title));
        page.labelled(
            "by",
            &format!("{}, {} ({})", entry.publisher, entry.edition, entry.kind),
        );
        if let Some(binding) = &entry.binding {
            page.labelled("binding", binding);
        }
        if let Some(address) = &entry.address {
            page.labelled("address", address);
        }
        if entry.rules.is_empty() {
            page.labelled("rules", "none");
        }
        for rule in &entry.rules {
            page.labelled(
                "rule",
                &format!("{}: {}", rule.rule, rule.sections.join("; ")),
            );
        }
        page.line("");
    }
    page.text
}

/// Which facts the rules ask for, by topic and hold point.
pub fn coverage(entries: &[Coverage], style: Style) -> String {
    let mut page = Page::blank(style);
    let mut topic = "";
    for entry in entries {
        if entry.topic != topic {
            topic = &entry.topic;
            let name = page.painted(topic, STRONG);
            page.line(&name);
        }
        let rules = entry.rules.len();
        page.line(&format!("  {} ({rules} rules)", words(&entry.hold)));
        page.labelled("facts", &entry.facts.join(", "));
    }
    page.text
}

impl Page<'_> {
    /// A page that quotes no record.
    pub(super) fn blank(style: Style) -> Self {
        Page {
            text: String::new(),
            style,
            record: "",
            name: "",
        }
    }
}
