//! The editions of a place's ruleset that others took the stead of: its file `editions`.
//!
//! One a line, `edition DIGEST until DATE by "WORDS"`; the digest is the ruleset's, as it was
//! published. Lines that begin with `#` are comments.

use super::error::RulesetError;
use super::written_lines;
use crate::quantity::{Rational, date};
use crate::source::{Located, SourceId, Sources, Span, is_hidden};

/// The most editions that a place may list.
const MOST_EDITIONS: usize = 1_000;

/// How many mistakes are told at once.
const MOST_TOLD: usize = 10;

/// An edition that another took the stead of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Superseded {
    /// Its digest.
    pub digest: String,
    /// From which date it is no longer the place's, canonical in seconds.
    pub until: Rational,
    /// What took its stead.
    pub by: String,
}

/// Reads a place's list of editions.
///
/// # Errors
///
/// Each line that is neither empty, nor a comment, nor an edition.
pub fn editions(
    sources: &Sources,
    id: SourceId,
) -> Result<Vec<Superseded>, Vec<Located<RulesetError>>> {
    let text = &sources.get(id).text;
    let (mut found, mut errors) = (Vec::new(), Vec::new());
    for (start, end, written) in written_lines(text) {
        if errors.len() == MOST_TOLD {
            break;
        }
        let read = if found.len() == MOST_EDITIONS {
            Err(format!("there are more than {MOST_EDITIONS}"))
        } else {
            edition(written)
        };
        match read {
            Ok(edition) => found.push(edition),
            Err(reason) => {
                let at = span(id, start, end);
                let error = RulesetError::Editions { reason, at };
                errors.push(Located { source: id, error });
            }
        }
    }
    if errors.is_empty() {
        Ok(found)
    } else {
        Err(errors)
    }
}

fn edition(line: &str) -> Result<Superseded, String> {
    let (head, words) = line.split_once(" by ").ok_or("`by` is missing")?;
    let parts: Vec<&str> = head.split_whitespace().collect();
    let ["edition", digest, "until", until] = parts[..] else {
        return Err("before `by`, `edition DIGEST until DATE` is expected".to_owned());
    };
    let is_digit = |byte: u8| byte.is_ascii_digit() || matches!(byte, b'a'..=b'f');
    if digest.len() != 64 || !digest.bytes().all(is_digit) {
        return Err("the digest is not 64 of the characters 0-9 and a-f".to_owned());
    }
    let until = date::parse(until).ok_or_else(|| format!("`{until}` is not a date"))?;
    let by = words
        .trim()
        .strip_prefix('"')
        .and_then(|rest| rest.strip_suffix('"'))
        .ok_or("what took its stead stands in quotes")?;
    if by.is_empty() || by.contains('"') || by.chars().any(is_hidden) {
        return Err("what took its stead is plain words in quotes".to_owned());
    }
    Ok(Superseded {
        digest: digest.to_owned(),
        until,
        by: by.to_owned(),
    })
}

pub(super) fn span(source: SourceId, start: usize, end: usize) -> Span {
    let at = |byte: usize| u32::try_from(byte).expect("texts are shorter than 4 GiB");
    Span {
        source,
        start: at(start),
        end: at(end),
    }
}
