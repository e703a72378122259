//! A place's list of signers: whose keys sign its ruleset, and when.
//!
//! It is in the form of OpenSSH's allowed signers (ssh-keygen(1), ALLOWED SIGNERS), so that
//! `ssh-keygen -Y verify` reads it too. A time without `Z` is taken as UTC.

use super::written_lines;
use miette::Diagnostic;
use ssh_key::PublicKey;
use ssh_key::authorized_keys::ConfigOptsIter;
use thiserror::Error;

use super::editions::span;
use crate::quantity::{Rational, date};
use crate::source::{Located, SourceId, Sources, Span, is_hidden};

/// The largest list of signers, in bytes.
const MOST_BYTES: usize = 256 << 10;

/// How many mistakes are told at once.
const MOST_TOLD: usize = 10;

/// A line of a list of signers that can't be used.
#[derive(Debug, Clone, Error, Diagnostic)]
pub enum SignerError {
    /// `clerk@town ssh-ed25519 notakey`
    #[error("this line names no signer: {reason}")]
    #[diagnostic(
        code(ruleset::signers),
        help(
            "write: NAME namespaces=\"groundrule\",valid-after=\"20260101\",valid-before=\"20280101\" KEY, with the key as in its `.pub` file; `#` begins a comment"
        )
    )]
    Line {
        /// What was found.
        reason: String,
        /// Where.
        #[label("this line")]
        at: Span,
    },
    /// A list of a million keys
    #[error("this list of signers is larger than {most_kib} KiB")]
    #[diagnostic(
        code(ruleset::signers_too_large),
        help("name a list of the signers of this place")
    )]
    TooLarge {
        /// How large it may be.
        most_kib: usize,
    },
}

/// A key, whose it is, and when it signs.
#[derive(Debug, Clone)]
pub struct Signer {
    /// Whose, as the list says.
    pub principal: String,
    /// The key.
    pub key: PublicKey,
    /// What it may sign; anything where the list doesn't say.
    pub namespaces: Option<Vec<String>>,
    /// From when, canonical in seconds.
    pub valid_after: Option<Rational>,
    /// Until when, that moment excluded.
    pub valid_before: Option<Rational>,
}

impl Signer {
    /// Whether the key may sign for a namespace.
    pub fn signs(&self, namespace: &str) -> bool {
        self.namespaces
            .as_ref()
            .is_none_or(|known| known.iter().any(|known| known == namespace))
    }

    /// Whether the key signs on a date.
    pub fn is_valid_on(&self, on: Rational) -> bool {
        self.valid_after.is_none_or(|after| after <= on)
            && self.valid_before.is_none_or(|before| on < before)
    }

    /// When it signs, in words.
    pub fn period(&self) -> String {
        match (self.valid_after, self.valid_before) {
            (None, None) => "without end".to_owned(),
            (Some(after), None) => format!("from {}", date::show(after)),
            (None, Some(before)) => format!("until {}", date::show(before)),
            (Some(after), Some(before)) => {
                format!("from {} until {}", date::show(after), date::show(before))
            }
        }
    }
}

/// Reads a list of signers.
///
/// # Errors
///
/// Each line that is neither empty, nor a comment, nor a signer.
pub fn signers(sources: &Sources, id: SourceId) -> Result<Vec<Signer>, Vec<Located<SignerError>>> {
    let text = &sources.get(id).text;
    if text.len() > MOST_BYTES {
        let error = SignerError::TooLarge {
            most_kib: MOST_BYTES >> 10,
        };
        return Err(vec![Located { source: id, error }]);
    }
    let (mut found, mut errors) = (Vec::new(), Vec::new());
    for (start, end, written) in written_lines(text) {
        if errors.len() == MOST_TOLD {
            break;
        }
        match signer(written) {
            Ok(signer) => found.push(signer),
            Err(reason) => {
                let at = span(id, start, end);
                let error = SignerError::Line { reason, at };
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

fn signer(line: &str) -> Result<Signer, String> {
    if line
        .chars()
        .any(|letter| letter != '\t' && is_hidden(letter))
    {
        return Err("it holds a character that isn't seen".to_owned());
    }
    let (principal, rest) = first_field(line).ok_or("it has a name and no key")?;
    let principal = principal.trim_matches('"');
    if principal.is_empty() {
        return Err("the name is empty".to_owned());
    }
    let (options, key) = match PublicKey::from_openssh(rest) {
        Ok(key) => ("", key),
        Err(_) => {
            let (options, key) = first_field(rest).ok_or("the key is missing")?;
            let key = PublicKey::from_openssh(key)
                .map_err(|error| format!("the key can't be read ({error})"))?;
            (options, key)
        }
    };
    let mut signer = Signer {
        principal: principal.to_owned(),
        key,
        namespaces: None,
        valid_after: None,
        valid_before: None,
    };
    let options = ConfigOptsIter::new(options)
        .map_err(|_| "its options can't be read: they are parted by commas, without spaces")?;
    for option in options {
        set(&mut signer, option)?;
    }
    Ok(signer)
}

fn set(signer: &mut Signer, option: &str) -> Result<(), String> {
    let (name, value) = option.split_once('=').unwrap_or((option, ""));
    let value = value.trim_matches('"');
    match name.to_ascii_lowercase().as_str() {
        "namespaces" => {
            signer.namespaces = Some(value.split(',').map(str::to_owned).collect());
        }
        "valid-after" => signer.valid_after = Some(moment(value)?),
        "valid-before" => signer.valid_before = Some(moment(value)?),
        "cert-authority" => {
            return Err("certificates are not read here: list the signing key itself".to_owned());
        }
        _ => return Err(format!("`{name}` is no option of a signer")),
    }
    Ok(())
}

/// What stands before the first space outside quotes, and what stands behind it.
fn first_field(text: &str) -> Option<(&str, &str)> {
    let mut quoted = false;
    let end = text.find(|letter: char| {
        quoted ^= letter == '"';
        letter.is_ascii_whitespace() && !quoted
    })?;
    Some((&text[..end], text[end..].trim_start()))
}

/// `20260101`, `202601011200` or `20260101120000`, perhaps with `Z`.
fn moment(text: &str) -> Result<Rational, String> {
    let wrong = || format!("`{text}` is not a time: write 20260101 for a day");
    let digits = text.strip_suffix('Z').unwrap_or(text);
    let is_time =
        digits.bytes().all(|byte| byte.is_ascii_digit()) && matches!(digits.len(), 8 | 12 | 14);
    if !is_time {
        return Err(wrong());
    }
    let day = format!("{}-{}-{}", &digits[..4], &digits[4..6], &digits[6..8]);
    let day = date::parse(&day).ok_or_else(wrong)?;
    let part = |at: usize, below: i64| match digits.get(at..at + 2) {
        None => Ok(0),
        Some(two) => two
            .parse()
            .ok()
            .filter(|number| *number < below)
            .ok_or_else(wrong),
    };
    let seconds = part(8, 24)? * 3600 + part(10, 60)? * 60 + part(12, 61)?;
    day.checked_add(Rational::from_integer(seconds))
        .ok_or_else(wrong)
}
