//! CSV text in, rows out, one at a time. The only file of the reading side that speaks `csv`.

use std::cell::Cell;
use std::io::Read;
use std::rc::Rc;
use std::sync::Arc;

use csv::{ByteRecord, Reader, ReaderBuilder};

use super::error::TableError;
use super::row::RowText;
use super::sheet::Sheet;
use crate::record::names;
use crate::record::yaml::MOST_BYTES;

/// What the errors of a row too long are known by.
const TOO_LONG: &str = "longer than a record";
/// What a spreadsheet may put before the text.
const BYTE_ORDER_MARK: &str = "\u{feff}";

/// The rows of a table, read as they are asked for.
pub struct Rows<R> {
    reader: Reader<Bounded<R>>,
    left: Rc<Cell<usize>>,
    columns: Arc<[String]>,
    number: usize,
    is_over: bool,
}

impl<R: Read> Rows<R> {
    /// Reads the header and holds it against the sheet.
    ///
    /// # Errors
    ///
    /// Everything that is wrong with the header.
    pub fn new(source: R, sheet: &Sheet) -> Result<Self, Vec<TableError>> {
        let left = Rc::new(Cell::new(MOST_BYTES));
        let bounded = Bounded {
            source,
            left: Rc::clone(&left),
        };
        let mut reader = ReaderBuilder::new()
            .delimiter(sheet.separator)
            .has_headers(false)
            .flexible(true)
            .from_reader(bounded);
        let mut header = ByteRecord::new();
        match reader.read_byte_record(&mut header) {
            Ok(true) => {}
            Ok(false) => return Err(vec![TableError::NoHeader]),
            Err(error) => return Err(vec![broken(&error, 1)]),
        }
        let columns = text(&header, 1).map_err(|error| vec![error])?;
        let columns: Vec<String> = columns
            .iter()
            .map(|name| name.trim_start_matches(BYTE_ORDER_MARK).trim().to_owned())
            .collect();
        let errors = held_against(&columns, sheet);
        if !errors.is_empty() {
            return Err(errors);
        }
        Ok(Rows {
            reader,
            left,
            columns: columns.into(),
            number: 1,
            is_over: false,
        })
    }

    fn row(&mut self) -> Option<Result<RowText, TableError>> {
        self.number += 1;
        let row = self.number;
        self.left.set(MOST_BYTES);
        let mut record = ByteRecord::new();
        match self.reader.read_byte_record(&mut record) {
            Ok(true) => {}
            Ok(false) => return None,
            Err(error) => {
                self.is_over = true;
                return Some(Err(broken(&error, row)));
            }
        }
        if record.len() != self.columns.len() {
            return Some(Err(TableError::CellCount {
                row,
                found: record.len(),
                expected: self.columns.len(),
            }));
        }
        let line = record.position().map_or(1, csv::Position::line);
        Some(text(&record, row).map(|cells| RowText {
            number: row,
            line: usize::try_from(line).unwrap_or(usize::MAX),
            columns: Arc::clone(&self.columns),
            cells,
        }))
    }
}

impl<R: Read> Iterator for Rows<R> {
    type Item = Result<RowText, TableError>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.is_over {
            return None;
        }
        self.row()
    }
}

fn text(record: &ByteRecord, row: usize) -> Result<Vec<String>, TableError> {
    let cells = record.iter().map(|cell| String::from_utf8(cell.to_vec()));
    let cells: Result<Vec<String>, _> = cells.collect();
    cells.map_err(|_| TableError::NotUtf8 { row })
}

fn broken(error: &csv::Error, row: usize) -> TableError {
    let reason = error.to_string();
    if reason.contains(TOO_LONG) {
        return TableError::TooLong { row };
    }
    TableError::Unreadable { row, reason }
}

fn held_against(columns: &[String], sheet: &Sheet) -> Vec<TableError> {
    let mut errors = Vec::new();
    for (at, column) in columns.iter().enumerate() {
        if columns[..at].contains(column) {
            let column = column.clone();
            errors.push(TableError::ColumnTwice { column });
        } else if !sheet.columns.contains_key(column) {
            errors.push(TableError::UnknownColumn {
                mend: unknown(column, sheet),
                column: column.clone(),
            });
        }
    }
    for column in sheet.columns.keys().filter(|name| !columns.contains(name)) {
        errors.push(TableError::MissingColumn {
            mend: names::suggest(column, columns.iter().map(String::as_str)),
            column: column.clone(),
        });
    }
    errors
}

fn unknown(column: &str, sheet: &Sheet) -> String {
    let pass_over = format!("a line `\"{column}\": ignored` in the sheet passes it over");
    match names::nearest(column, sheet.columns.keys().map(String::as_str)) {
        Some(near) => format!("did you mean \"{near}\"? Else {pass_over}"),
        None => pass_over,
    }
}

/// A source that gives no more than a row may have before the next row is asked for.
struct Bounded<R> {
    source: R,
    left: Rc<Cell<usize>>,
}

impl<R: Read> Read for Bounded<R> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        if self.left.get() == 0 {
            return Err(std::io::Error::other(TOO_LONG));
        }
        let most = buffer.len().min(self.left.get());
        let read = self.source.read(&mut buffer[..most])?;
        self.left.set(self.left.get() - read);
        Ok(read)
    }
}
