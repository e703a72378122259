//! A change that no case noticed in, a case that notices it out: a known case of the rule with one
//! reading put exactly at the limit, or just beyond.
//!
//! Every suggestion is read back as a file of cases and tried before it is made.

use std::cell::Cell;

use super::apply::{apply, every_node};
use super::cases::{CaseFile, Check, as_expected, read_cases, verdicts};
use super::change::Witness;
use super::mutant::{Mutant, Seat};
use super::readings::{Edit, Reading, Readings};
use crate::check::typed::{Axis, Constant, TableId};
use crate::finding::Verdict;
use crate::library::Opened;
use crate::program::code::{Binding, Clause, Program, Step};
use crate::record::facts::{Record, THE_SITE, ThingRef};
use crate::record::tree::{Entry, Node};
use crate::source::{Sources, Span};
use crate::vocabulary::{FactId, Type};

/// A case that notices a change.
pub(super) struct Suggested {
    /// Into which file.
    pub file: String,
    /// Of which rule.
    pub rule: String,
    /// The case.
    pub yaml: String,
    /// How the file begins, where it isn't there yet.
    pub begins: Option<String>,
    check: Check,
    record: Record,
}

impl Suggested {
    /// Whether it notices a change, too.
    pub fn notices(&self, opened: &Opened, mutant: &Mutant) -> bool {
        let mut program = self.check.program.clone();
        mutant.rules.contains(&self.rule)
            && apply(&mut program, mutant)
            && !self
                .check
                .expects(&verdicts(&program, opened, &self.record))
    }
}

/// Why no case could be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NoCase {
    /// A strictness that shows only between two readings of six decimals.
    TooFine,
    /// No known case expects anything of the rule.
    NoneYet,
    /// No known case is judged by what is changed.
    NotJudged,
    /// In words.
    Because(&'static str),
}

/// The most cases of a rule from which a new one is made.
const MOST_BASES: usize = 100;
/// The most cases of a rule whose readings are looked through for where a verdict turns.
const MOST_LOOKED_THROUGH: usize = 10;
/// The most cells of a row that are tried.
const MOST_CELLS: usize = 4;
/// The most records that are judged in search of a case.
const MOST_TRIES: usize = 12_000;

/// A case that notices a change, made from one that uses what is changed.
///
/// # Errors
///
/// Why none could be made.
pub(super) fn suggest(
    opened: &Opened,
    sources: &Sources,
    mutant: &Mutant,
    bases: &[Witness<'_>],
) -> Result<Suggested, NoCase> {
    if bases.is_empty() {
        return Err(NoCase::NoneYet);
    }
    let mut searches: Vec<Search<'_>> = bases
        .iter()
        .filter_map(|base| Search::new(opened, sources, mutant, *base))
        .collect();
    if searches.is_empty() {
        return Err(NoCase::NotJudged);
    }
    searches.sort_by_key(Search::rank);
    searches.truncate(MOST_BASES);
    let mut tries = MOST_TRIES;
    for search in &searches {
        for preset in search.keys() {
            if let Some(found) = search.direct(&preset, &mut tries) {
                return Ok(found);
            }
        }
    }
    searches.truncate(MOST_LOOKED_THROUGH);
    let turned = Cell::new(false);
    for search in &searches {
        for preset in search.keys() {
            if let Some(found) = search.turning(&preset, &mut tries, &turned) {
                return Ok(found);
            }
        }
    }
    for search in &searches {
        for preset in search.other_labels() {
            let found = search
                .direct(&preset, &mut tries)
                .or_else(|| search.turning(&preset, &mut tries, &turned));
            if let Some(found) = found {
                return Ok(found);
            }
        }
    }
    let is_strictness = matches!(mutant.seat, Seat::Comparison(_));
    if is_strictness && turned.get() {
        return Err(NoCase::TooFine);
    }
    Err(NoCase::Because(
        "no single reading of a known case makes the difference: write a case by hand",
    ))
}

/// A known case, judged by the rule as it is and as it is changed.
struct Search<'a> {
    opened: &'a Opened,
    sources: &'a Sources,
    mutant: &'a Mutant,
    base: Witness<'a>,
    changed: Program,
    readings: Readings<'a>,
}

impl<'a> Search<'a> {
    /// None where the case isn't judged by what is changed.
    fn new(
        opened: &'a Opened,
        sources: &'a Sources,
        mutant: &'a Mutant,
        base: Witness<'a>,
    ) -> Option<Self> {
        let mut changed = base.check.program.clone();
        apply(&mut changed, mutant).then(|| Search {
            opened,
            sources,
            mutant,
            base,
            changed,
            readings: Readings::new(&opened.library.vocabulary, &base.case.record),
        })
    }

    /// Cases that stand beside what is changed first, then decided ones, then short ones.
    fn rank(&self) -> (bool, bool, usize) {
        let folder = |id| {
            let name = &self.sources.get(id).name;
            name.rsplit_once('/').map(|(folder, _)| folder)
        };
        let is_beside = folder(self.base.file.id) == folder(self.mutant.span.source);

        let decided = self
            .base
            .check
            .expected
            .iter()
            .all(|verdict| matches!(verdict, Verdict::Meets | Verdict::FallsShort));
        (!is_beside, !decided, self.readings.all.len())
    }

    /// The changes of readings that bring the row that is changed into play; first none at all.
    fn keys(&self) -> Vec<Vec<Edit>> {
        let mut presets = vec![Vec::new()];
        let (table, cells) = match &self.mutant.seat {
            Seat::Cells { table, cells, .. } => (*table, cells.clone()),
            Seat::Key { table, axis, bound } => (*table, self.cells_at(*table, *axis, *bound)),
            Seat::Limit { .. } | Seat::Literal(_) | Seat::Comparison(_) => return presets,
        };
        let known = &self.opened.library.tables[table.index()];
        for keys in self.lookups(table) {
            for cell in cells.iter().take(MOST_CELLS) {
                let edits = keys
                    .iter()
                    .zip(known.keys(*cell))
                    .zip(&known.axes)
                    .filter_map(|((fact, place), axis)| {
                        let (thing, fact) = (*fact)?;
                        let text = key_text(self.opened, axis, place)?;
                        self.readings.edit(thing, fact, &text)
                    })
                    .collect();
                presets.push(edits);
            }
        }
        presets
    }

    /// The cells on the nearer side of a bound.
    fn cells_at(&self, table: TableId, axis: usize, bound: usize) -> Vec<usize> {
        let known = &self.opened.library.tables[table.index()];
        let row = known.row_of(axis, bound);
        (0..known.cells.len())
            .filter(|cell| known.cells[*cell].span == row)
            .collect()
    }

    /// For each lookup of the table, the fact behind each key that is one.
    fn lookups(&self, table: TableId) -> Vec<Vec<Option<(ThingRef, FactId)>>> {
        let mut program = self.base.check.program.clone();
        let numbers: Vec<bool> = program
            .tables
            .iter()
            .map(|known| known.table == table)
            .collect();
        let mut found = Vec::new();
        for rule in &mut program.rules {
            let bound: Vec<_> = rule
                .head
                .iter()
                .filter_map(|clause| match clause {
                    Clause::Each(list) => Some(list.things),
                    Clause::When(_) => None,
                })
                .collect();
            every_node(rule, &mut |node| {
                if let Step::Lookup(number, keys) = &node.step
                    && numbers[*number]
                {
                    let facts = keys.iter().map(|key| match &key.step {
                        Step::Fact(Binding::Site, fact) => Some((THE_SITE, *fact)),
                        Step::Fact(Binding::Local(at), fact) => {
                            let kind = *bound.get(usize::from(*at))?;
                            Some((self.readings.first_of(kind)?, *fact))
                        }
                        _ => None,
                    });
                    found.push(facts.collect());
                }
            });
        }
        found
    }

    /// Every other label or truth of one reading.
    fn other_labels(&self) -> Vec<Vec<Edit>> {
        let vocabulary = &self.opened.library.vocabulary;
        self.readings
            .all
            .iter()
            .filter(|reading| matches!(reading.kind, Type::Label(_) | Type::YesNo))
            .flat_map(|reading| reading.texts(vocabulary, self.mutant))
            .map(|edit| vec![edit])
            .collect()
    }

    /// Looks for one reading at the limit that makes the difference, beside some that are changed
    /// already.
    fn direct(&self, preset: &[Edit], tries: &mut usize) -> Option<Suggested> {
        let vocabulary = &self.opened.library.vocabulary;
        if let Some(found) = self.tried(preset.to_vec(), tries) {
            return Some(found);
        }
        for reading in self.free(preset) {
            for edit in reading.texts(vocabulary, self.mutant) {
                if let Some(found) = self.tried([preset, &[edit]].concat(), tries) {
                    return Some(found);
                }
            }
        }
        None
    }

    /// Looks for one reading where a verdict turns, beside some that are changed already.
    ///
    /// `turned` is set where one does, between two readings that are a step apart.
    fn turning(
        &self,
        preset: &[Edit],
        tries: &mut usize,
        turned: &Cell<bool>,
    ) -> Option<Suggested> {
        let vocabulary = &self.opened.library.vocabulary;
        let with = |edit: Edit| [preset, &[edit]].concat();
        for reading in self.free(preset) {
            let turning = reading.turning_points(vocabulary, &mut |edit| {
                *tries = tries.checked_sub(1)?;
                Some(self.both(&with(edit)))
            });
            turned.set(turned.get() || !turning.is_empty());
            for edit in turning {
                if let Some(found) = self.tried(with(edit), tries) {
                    return Some(found);
                }
            }
        }
        None
    }

    /// The readings that aren't changed already.
    fn free(&self, preset: &[Edit]) -> impl Iterator<Item = &Reading> {
        let taken: Vec<usize> = preset.iter().map(|edit| edit.slot).collect();
        let readings = self.readings.all.iter();
        readings.filter(move |reading| !taken.contains(&reading.slot))
    }

    /// The verdicts as it is and as it is changed.
    fn both(&self, edits: &[Edit]) -> (Vec<Verdict>, Vec<Verdict>) {
        let record = self.readings.edited(edits);
        (
            verdicts(&self.base.check.program, self.opened, &record),
            verdicts(&self.changed, self.opened, &record),
        )
    }

    fn tried(&self, edits: Vec<Edit>, tries: &mut usize) -> Option<Suggested> {
        *tries = tries.checked_sub(1)?;
        let (is, becomes) = self.both(&edits);
        // Where a table ends, what lies beyond is not decided: that is what a case can show.
        let is_key = matches!(self.mutant.seat, Seat::Key { .. });
        let differs = |(is, becomes): (&Verdict, &Verdict)| {
            is != becomes && (is_told(*is) || is_key && is_told(*becomes))
        };
        let noticed = match is.len() == becomes.len() {
            true => is.iter().zip(&becomes).any(differs),
            false => is.iter().all(|verdict| is_told(*verdict)),
        };
        if !noticed {
            return None;
        }
        self.written(&edits, &is)
    }

    /// The case as it is pasted, read back and tried.
    fn written(&self, edits: &[Edit], expected: &[Verdict]) -> Option<Suggested> {
        let file = self.base.file;
        let yaml = self.yaml(edits, expected)?;
        let name = self.sources.get(file.id).name.to_string();
        let mut sources = Sources::default();
        let id = sources.add(name.as_str(), self.file_of(&yaml));
        let read = read_cases(self.opened, &sources, id, &|_| true).ok()??;
        let [case] = <[_; 1]>::try_from(read.cases).ok()?;
        let [check] = <[_; 1]>::try_from(case.checks).ok()?;
        let found = check.verdicts(self.opened, &case.complete);
        let suggested = Suggested {
            file: name,
            rule: check.rule.clone(),
            yaml,
            begins: None,
            record: case.complete,
            check,
        };
        let holds = as_expected(&suggested.check.expected, &found);
        (holds && suggested.notices(self.opened, self.mutant)).then_some(suggested)
    }

    /// The file's own head, and this case alone.
    fn file_of(&self, yaml: &str) -> String {
        let file: &CaseFile = self.base.file;
        let mut text = String::new();
        for entry in file.root.entries().unwrap_or_default() {
            if entry.key.value != "cases" {
                text.push_str(self.entry_text(entry));
                text.push('\n');
            }
        }
        text.push_str("cases:\n");
        text.push_str(yaml);
        text
    }

    fn entry_text(&self, entry: &Entry) -> &'a str {
        self.sources.slice(entry.key.span.to(entry.value.span))
    }

    fn node(&self) -> Option<&'a Node<'a>> {
        let cases = self.base.file.root.get("cases")?.elements()?;
        cases.get(self.base.case.at)
    }

    fn yaml(&self, edits: &[Edit], expected: &[Verdict]) -> Option<String> {
        let case = self.node()?;
        let column = self.sources.position(case.span).column - 1;
        let keys = " ".repeat(column);
        let dash = " ".repeat(column.checked_sub(2)?);
        let mut text = format!("{dash}- case: {}\n", self.title(edits));
        for key in ["head", "set", "record"] {
            let entries = case.entries().unwrap_or_default();
            if let Some(entry) = entries.iter().find(|entry| entry.key.value == key) {
                let span = entry.key.span.to(entry.value.span);
                text.push_str(&format!("{keys}{}\n", self.edited_text(span, edits)));
            }
        }
        let expectation = self.expectation()?;
        let words: Vec<&str> = expected.iter().map(|verdict| verdict.name()).collect();
        let words = match words.as_slice() {
            [one] => (*one).to_owned(),
            several => format!("[ {} ]", several.join(", ")),
        };
        text.push_str(&format!("{keys}expect: {{ {expectation}: {words} }}\n"));
        Some(text)
    }

    /// The rule as the base names it.
    fn expectation(&self) -> Option<&'a str> {
        let expect = self.node()?.get("expect")?;
        let entries = expect.entries()?;
        let found = entries
            .iter()
            .find(|entry| entry.key.span == self.base.check.span)?;
        Some(&found.key.value)
    }

    fn edited_text(&self, span: Span, edits: &[Edit]) -> String {
        let whole = self.sources.slice(span);
        let mut edits: Vec<&Edit> = edits
            .iter()
            .filter(|edit| span.start <= edit.at.start && edit.at.end <= span.end)
            .collect();
        edits.sort_by_key(|edit| edit.at.start);
        let mut text = String::new();
        let mut from = 0;
        for edit in edits {
            let start = (edit.at.start - span.start) as usize;
            text.push_str(&whole[from..start]);
            text.push_str(&edit.text);
            from = (edit.at.end - span.start) as usize;
        }
        text.push_str(&whole[from..]);
        text
    }

    fn title(&self, edits: &[Edit]) -> String {
        let readings: Vec<String> = edits
            .iter()
            .map(|edit| format!("{} {}", edit.name, edit.text))
            .collect();
        let rule = self.base.check.rule.rsplit('.').next().unwrap_or_default();
        let rule = rule.split('@').next().unwrap_or_default().replace('_', " ");
        // A colon or a sharp would end the text.
        let title = format!("{rule}, with {}", readings.join(" and "));
        title.replace(": ", " ").replace('#', "no. ")
    }
}

/// Whether a verdict says something.
fn is_told(verdict: Verdict) -> bool {
    match verdict {
        Verdict::Meets | Verdict::FallsShort | Verdict::DoesNotApply | Verdict::Refer => true,
        Verdict::TooClose | Verdict::NotRecorded => false,
    }
}

/// A key that falls in a place of an axis, as a record writes it.
fn key_text(opened: &Opened, axis: &Axis, place: usize) -> Option<String> {
    let written = |constant: &Constant| constant.written().to_owned();
    match axis {
        Axis::Scale { scale, .. } => {
            let place = u16::try_from(place).ok()?;
            Some(
                opened
                    .library
                    .vocabulary
                    .scale(*scale)
                    .label(place)
                    .to_owned(),
            )
        }
        Axis::UpTo { bounds, .. } => bounds.get(place).map(written),
        Axis::From { bounds, below, .. } => bounds
            .get(place.checked_sub(usize::from(*below))?)
            .map(written),
    }
}
