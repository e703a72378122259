//! A record as it was submitted in, the record with its plan out.

use std::sync::Arc;

use super::Screening;
use crate::finding::ReportedError;
use crate::library::Problem;
use crate::record::plan::{self, PlanError};
use crate::record::table::{self, RowText, Sheet};
use crate::record::{self, Record};
use crate::source::{Located, Source, SourceId, Sources};

/// The text of the plan that a record names, and the name it is called by; else why there is
/// none. Asked with the record's name and that of the plan.
pub type Plans<'a> = dyn Fn(&str, &str) -> Result<(String, String), String> + Sync + 'a;

/// A record to be read.
#[derive(Debug, Clone)]
pub struct Submitted {
    /// What it is called: its file.
    pub name: String,
    /// What there is of it.
    pub content: Content,
}

/// What there is of a record.
#[derive(Debug, Clone)]
pub enum Content {
    /// A file of its own.
    Whole(String),
    /// One line of a stream, and its number from 1.
    Line(String, usize),
    /// A row of a table.
    Row(RowText),
    /// Nothing that could be read.
    Unreadable(ReportedError),
}

/// A plan that a record names, and what there is of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanText {
    /// As the record names it.
    pub file: String,
    /// The name it is called by and its text, or why it can't be read.
    pub text: Result<(String, String), String>,
}

/// A mapping sheet and its text.
#[derive(Debug, Clone)]
pub struct SheetText {
    /// What its columns mean. Invariant: read from the first text of its sources.
    pub sheet: Sheet,
    /// Its text.
    pub source: Source,
}

impl Submitted {
    /// The line on which it begins, where its file holds several.
    pub fn line(&self) -> Option<usize> {
        match &self.content {
            Content::Whole(_) => None,
            Content::Line(_, line) => Some(*line),
            Content::Row(row) => Some(row.line),
            Content::Unreadable(error) => error.line,
        }
    }

    /// How many bytes of text it holds.
    pub fn length(&self) -> usize {
        match &self.content {
            Content::Whole(text) | Content::Line(text, _) => text.len(),
            Content::Row(row) => row.cells.iter().map(String::len).sum(),
            Content::Unreadable(_) => 0,
        }
    }

    /// Its text as far as it has one.
    pub fn text(&self) -> String {
        match &self.content {
            Content::Whole(text) | Content::Line(text, _) => text.clone(),
            Content::Row(row) => row.cells.join(","),
            Content::Unreadable(_) => String::new(),
        }
    }
}

impl Screening<'_> {
    /// Reads a record, and the plan that it names.
    ///
    /// # Errors
    ///
    /// All mistakes of the record, or of its plan.
    pub fn read(
        &self,
        sources: &mut Sources,
        submitted: &Submitted,
    ) -> Result<(SourceId, Record), Vec<Problem>> {
        let (id, record) = self.read_alone(sources, submitted)?;
        let plan = self.named_plan(&submitted.name, &record);
        Ok((id, self.with_plan(sources, record, plan.as_ref())?))
    }

    /// Reads a record, and not yet its plan.
    pub(super) fn read_alone(
        &self,
        sources: &mut Sources,
        submitted: &Submitted,
    ) -> Result<(SourceId, Record), Vec<Problem>> {
        let vocabulary = &self.opened.library.vocabulary;
        let name = submitted.name.as_str();
        let (id, read) = match &submitted.content {
            Content::Unreadable(_) => return Err(Vec::new()),
            Content::Whole(text) => {
                let id = sources.add(name, text.as_str());
                let read = record::read_with(vocabulary, sources, id, self.overrides);
                (id, read)
            }
            Content::Line(text, line) => {
                let id = sources.add_source(Source {
                    name: name.into(),
                    text: text.as_str().into(),
                    is_part: true,
                    first_line: *line,
                    row: None,
                });
                let read = record::read_with(vocabulary, sources, id, self.overrides);
                (id, read)
            }
            Content::Row(row) => {
                let Some(sheet) = self.sheet else {
                    return Err(Vec::new());
                };
                sources.add_source(sheet.source.clone());
                table::record(vocabulary, sources, name, row, &sheet.sheet, self.overrides)
            }
        };
        Ok((id, read.map_err(all)?))
    }

    /// The text of a plan that a record names.
    pub fn plan(&self, record: &str, file: &str) -> PlanText {
        PlanText {
            text: (self.plans)(record, file),
            file: file.to_owned(),
        }
    }

    pub(super) fn named_plan(&self, name: &str, record: &Record) -> Option<PlanText> {
        let named = record.head.plan.as_ref()?;
        Some(self.plan(name, &named.file.value))
    }

    /// The record with the places of the plan that it names.
    pub(super) fn with_plan(
        &self,
        sources: &mut Sources,
        record: Record,
        plan: Option<&PlanText>,
    ) -> Result<Record, Vec<Problem>> {
        let (Some(plan), Some(named)) = (plan, &record.head.plan) else {
            return Ok(record);
        };
        let (name, text) = plan.text.as_ref().map_err(|reason| {
            let at = named.file.span;
            let (file, reason) = (plan.file.clone(), reason.clone());
            let error = PlanError::Unreadable { file, reason, at };
            let source = at.source;
            vec![Problem::from(Located { source, error })]
        })?;
        let id = sources.add(name.as_str(), Arc::<str>::from(text.as_str()));
        plan::attach(&self.opened.library.vocabulary, record, sources, id).map_err(all)
    }
}

fn all<E: miette::Diagnostic + Send + Sync + 'static>(errors: Vec<Located<E>>) -> Vec<Problem> {
    errors.into_iter().map(Problem::from).collect()
}
