//! Records from the disk and from standard input, handed on in batches: folders walked in order,
//! files, streams with a record a line, tables with a record a row.

use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};

use groundrule::finding::ReportedError;
use groundrule::library::{Opened, Problem};
use groundrule::record::table::{self, Rows, TableError};
use groundrule::screen::{Content, SheetText, Submitted};
use groundrule::source::Sources;
use walkdir::{DirEntry, WalkDir};

use crate::input::{self, Failure, LARGEST_RECORD, STANDARD_INPUT};

/// The endings of files that are records, one a file.
pub const RECORD: [&str; 3] = ["yaml", "yml", "json"];
/// The endings of files with a record a line.
const STREAM: [&str; 2] = ["jsonl", "ndjson"];
/// The endings of tables.
pub const TABLE: [&str; 1] = ["csv"];
/// How many records a batch has at the most.
const BATCH: usize = 256;
/// How many bytes of text it has at the most, but for the last of its records.
const BATCH_BYTES: usize = 32 << 20;
/// How much of a stream is read ahead, so that a batch fills where more has come.
const AHEAD: usize = 1 << 20;

/// Whether a file's name ends like this.
pub fn has_ending<const N: usize>(path: &Path, endings: [&str; N]) -> bool {
    let ending = path.extension().map(|ending| ending.to_string_lossy());
    ending.is_some_and(|ending| endings.contains(&ending.to_lowercase().as_str()))
}

/// The mapping sheet of the call.
pub fn sheet(opened: &Opened, path: Option<&Path>) -> Result<Option<SheetText>, Failure> {
    let Some(path) = path else {
        return Ok(None);
    };
    let (name, text) = input::record(path)?;
    let mut sources = Sources::default();
    let id = sources.add(name, text);
    let sheet = table::read(&opened.library.vocabulary, &sources, id).map_err(|errors| {
        let problems = errors.into_iter().map(Problem::from).collect();
        input::rendered(&sources, problems)
    })?;
    let source = sources.get(id).clone();
    Ok(Some(SheetText { sheet, source }))
}

/// An error of the disk, as a result tells it.
pub fn unreadable(message: String) -> ReportedError {
    ReportedError {
        code: "record::unreadable".to_owned(),
        message,
        help: None,
        line: None,
        column: None,
        cell: None,
    }
}

fn of_table(error: &TableError) -> ReportedError {
    let diagnostic: &dyn miette::Diagnostic = error;
    ReportedError {
        code: diagnostic
            .code()
            .map_or_else(String::new, |code| code.to_string()),
        help: diagnostic.help().map(|help| help.to_string()),
        ..unreadable(error.to_string())
    }
}

/// Hands on the rows of a table until `take` says to stop; what is wrong with it is a result like
/// any.
pub fn rows(
    sheet: Option<&SheetText>,
    name: &str,
    text: impl Read,
    take: &mut dyn FnMut(Submitted) -> bool,
) {
    let mut give = |content: Content| {
        let name = name.to_owned();
        take(Submitted { name, content })
    };
    let Some(sheet) = sheet else {
        give(Content::Unreadable(ReportedError {
            code: "table::no_sheet".to_owned(),
            help: Some("name the sheet that says what its columns mean, `--sheet FILE`".to_owned()),
            ..unreadable("a table without a mapping sheet".to_owned())
        }));
        return;
    };
    match Rows::new(text, &sheet.sheet) {
        Ok(rows) => {
            for row in rows {
                let goes_on = give(match row {
                    Ok(row) => Content::Row(row),
                    Err(error) => Content::Unreadable(of_table(&error)),
                });
                if !goes_on {
                    return;
                }
            }
        }
        Err(errors) => {
            for error in &errors {
                give(Content::Unreadable(of_table(error)));
            }
        }
    }
}

/// What was passed over while folders were walked.
#[derive(Debug, Default, Clone, Copy)]
pub struct PassedOver {
    /// Hidden files and folders.
    pub hidden: usize,
    /// Files that are no records.
    pub foreign: usize,
    /// Links.
    pub links: usize,
    /// Tables for which there is no sheet.
    pub tables: usize,
}

/// Takes the next batch; false to stop.
pub type Take<'a> = &'a mut dyn FnMut(Vec<Submitted>) -> Result<bool, Failure>;

/// Collects records and hands them on.
pub struct Submission<'a> {
    /// How tables are read.
    pub sheet: Option<&'a SheetText>,
    /// The file of the sheet, which is no record.
    pub sheet_file: Option<PathBuf>,
    /// The file that results are kept in, which is no part of what is screened.
    pub kept_file: Option<PathBuf>,
    /// Whether links are followed.
    pub follow_links: bool,
    /// What was passed over so far.
    pub passed_over: PassedOver,
    /// How many records were handed on.
    pub count: usize,
    batch: Vec<Submitted>,
    bytes: usize,
    is_over: bool,
    failure: Option<Failure>,
}

impl<'a> Submission<'a> {
    /// Nothing yet.
    pub fn new(
        sheet: Option<&'a SheetText>,
        sheet_file: Option<&Path>,
        follow_links: bool,
    ) -> Self {
        Submission {
            sheet,
            sheet_file: sheet_file.and_then(|file| file.canonicalize().ok()),
            kept_file: None,
            follow_links,
            passed_over: PassedOver::default(),
            count: 0,
            batch: Vec::new(),
            bytes: 0,
            is_over: false,
            failure: None,
        }
    }

    /// Hands on everything that some paths hold, in their order.
    pub fn paths(&mut self, paths: &[PathBuf], take: Take<'_>) -> Result<(), Failure> {
        for path in paths {
            if path.as_os_str() == "-" {
                let input = BufReader::with_capacity(AHEAD, std::io::stdin());
                self.stream(STANDARD_INPUT, input, take);
            } else if path.is_dir() {
                self.folder(path, take);
            } else {
                self.file(path, take);
            }
            if self.is_over {
                break;
            }
        }
        self.hand_on(take);
        match self.failure.take() {
            Some(failure) => Err(failure),
            None => Ok(()),
        }
    }

    fn push(&mut self, record: Submitted, take: Take<'_>) {
        if self.is_over {
            return;
        }
        self.count += 1;
        self.bytes += record.length();
        self.batch.push(record);
        if self.batch.len() == BATCH || self.bytes >= BATCH_BYTES {
            self.hand_on(take);
        }
    }

    fn hand_on(&mut self, take: Take<'_>) {
        if self.batch.is_empty() || self.is_over {
            return;
        }
        self.bytes = 0;
        match take(std::mem::take(&mut self.batch)) {
            Ok(goes_on) => self.is_over = !goes_on,
            Err(failure) => {
                self.is_over = true;
                self.failure = Some(failure);
            }
        }
    }

    fn folder(&mut self, folder: &Path, take: Take<'_>) {
        let walk = WalkDir::new(folder)
            .follow_links(self.follow_links)
            .sort_by_file_name();
        let mut entries = walk.into_iter();
        while let Some(entry) = entries.next() {
            if self.is_over {
                return;
            }
            match entry {
                Ok(entry) if entry.depth() > 0 && is_hidden(&entry) => {
                    self.passed_over.hidden += 1;
                    if entry.file_type().is_dir() {
                        entries.skip_current_dir();
                    }
                }
                Ok(entry) => self.entry(&entry, take),
                Err(error) => {
                    let path = error.path().unwrap_or(folder).to_owned();
                    self.unreadable(&path, error.to_string(), take);
                }
            }
        }
    }

    fn entry(&mut self, entry: &DirEntry, take: Take<'_>) {
        let path = entry.path();
        let kind = entry.file_type();
        if kind.is_dir() {
            return;
        }
        if self.is_kept(path) {
            return;
        }
        if kind.is_symlink() {
            self.passed_over.links += 1;
        } else if !kind.is_file() || self.is_the_sheet(path) {
            self.passed_over.foreign += 1;
        } else if has_ending(path, TABLE) && self.sheet.is_none() {
            self.passed_over.tables += 1;
        } else if has_ending(path, RECORD) || has_ending(path, STREAM) || has_ending(path, TABLE) {
            self.file(path, take);
        } else {
            self.passed_over.foreign += 1;
        }
    }

    /// Whether a file is the one that results are kept in, or its journal.
    fn is_kept(&self, path: &Path) -> bool {
        let Some(kept) = &self.kept_file else {
            return false;
        };
        let name = |path: &Path| {
            path.file_name()
                .map(|name| name.to_string_lossy().into_owned())
        };
        let (Some(own), Some(name)) = (name(kept), name(path)) else {
            return false;
        };
        let is_named = name == own || name.strip_suffix("-journal") == Some(own.as_str());
        let folder = |path: &Path| path.parent().and_then(|folder| folder.canonicalize().ok());
        is_named && folder(path) == folder(kept)
    }

    fn is_the_sheet(&self, path: &Path) -> bool {
        let Some(sheet) = &self.sheet_file else {
            return false;
        };
        sheet.file_name() == path.file_name()
            && path.canonicalize().is_ok_and(|path| path == *sheet)
    }

    fn file(&mut self, path: &Path, take: Take<'_>) {
        let name = path.to_string_lossy().replace('\\', "/");
        let is_table = has_ending(path, TABLE);
        if !is_table && !has_ending(path, STREAM) {
            return match input::record(path) {
                Ok((name, text)) => {
                    let content = Content::Whole(text);
                    self.push(Submitted { name, content }, take);
                }
                Err(failure) => self.unreadable(path, failure.to_string(), take),
            };
        }
        match std::fs::File::open(path) {
            Ok(file) if is_table => {
                let sheet = self.sheet;
                rows(sheet, &name, file, &mut |row| {
                    self.push(row, take);
                    !self.is_over
                });
            }
            Ok(file) => self.stream(&name, BufReader::with_capacity(AHEAD, file), take),
            Err(error) => {
                let file = path.to_owned();
                let reason = error.to_string();
                let failure = Failure::Unreadable { file, reason };
                self.unreadable(path, failure.to_string(), take);
            }
        }
    }

    fn unreadable(&mut self, path: &Path, message: String, take: Take<'_>) {
        let name = path.to_string_lossy().replace('\\', "/");
        let content = Content::Unreadable(unreadable(message));
        self.push(Submitted { name, content }, take);
    }

    /// A record a line. What has come so far is judged before more is waited for, so that whoever
    /// writes a line and waits gets its answer.
    fn stream(&mut self, name: &str, mut lines: BufReader<impl Read>, take: Take<'_>) {
        let mut number = 0;
        loop {
            if !lines.buffer().contains(&b'\n') {
                self.hand_on(take);
            }
            if self.is_over {
                return;
            }
            number += 1;
            let content = match line(&mut lines) {
                Ok(None) => return,
                Ok(Some(Line::Text(text))) => Content::Line(text, number),
                Ok(Some(Line::Unreadable(reason))) => {
                    let mut error = unreadable(format!("can't read the line: {reason}"));
                    error.line = Some(number);
                    Content::Unreadable(error)
                }
                Err(error) => {
                    let mut told = unreadable(format!("can't read on: {error}"));
                    told.line = Some(number);
                    let name = name.to_owned();
                    let content = Content::Unreadable(told);
                    return self.push(Submitted { name, content }, take);
                }
            };
            let name = name.to_owned();
            self.push(Submitted { name, content }, take);
        }
    }
}

/// A line of a stream.
enum Line {
    Text(String),
    Unreadable(String),
}

/// The next line; none at the end. Of a line that is too long no more is kept than a record has.
fn line(lines: &mut impl BufRead) -> std::io::Result<Option<Line>> {
    let mut bytes = Vec::new();
    let read = lines
        .by_ref()
        .take(LARGEST_RECORD + 1)
        .read_until(b'\n', &mut bytes)?;
    if read == 0 {
        return Ok(None);
    }
    if bytes.last() == Some(&b'\n') {
        bytes.pop();
    } else if bytes.len() as u64 > LARGEST_RECORD {
        lines.skip_until(b'\n')?;
        let reason = "it is larger than a record can be (8 MiB)".to_owned();
        return Ok(Some(Line::Unreadable(reason)));
    }
    Ok(Some(match String::from_utf8(bytes) {
        Ok(text) => Line::Text(text),
        Err(error) => {
            let at = error.utf8_error().valid_up_to();
            Line::Unreadable(format!("it is not UTF-8 text (byte {at})"))
        }
    }))
}

fn is_hidden(entry: &DirEntry) -> bool {
    entry.file_name().to_string_lossy().starts_with('.')
}
