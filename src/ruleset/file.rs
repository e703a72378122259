//! A ruleset as one file: written from its texts, and read back within bounds.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::fmt;

use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use serde_json::error::Category;

use super::editions::span;
use super::error::RulesetError;
use super::names::{around, mistake_of_name, mistake_of_place, place_of};
use crate::library::Texts;
use crate::source::{SourceId, Sources, Span, is_hidden};

/// The largest ruleset file, in bytes.
pub const MOST_BYTES: usize = 8 << 20;
/// The most texts it may hold.
const MOST_TEXTS: usize = 2_000;
/// How much of a name is shown.
const MOST_SHOWN: usize = 80;

/// What a ruleset file holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ruleset {
    /// The place it speaks for.
    pub place: String,
    /// Its texts.
    pub texts: Texts,
}

/// The file of a ruleset: the same bytes for the same place and texts.
pub fn write(ruleset: &Ruleset) -> String {
    let quoted = |text: &str| {
        serde_json::to_string(text).expect("every text can be written as a JSON string")
    };
    let texts: Vec<String> = ruleset
        .texts
        .0
        .iter()
        .map(|(name, text)| {
            let lines: Vec<String> = text
                .split('\n')
                .map(|line| format!("      {}", quoted(line)))
                .collect();
            format!("    {}: [\n{}\n    ]", quoted(name), lines.join(",\n"))
        })
        .collect();
    format!(
        "{{\n  \"ruleset\": 1,\n  \"place\": {},\n  \"texts\": {{\n{}\n  }}\n}}\n",
        quoted(&ruleset.place),
        texts.join(",\n")
    )
}

/// Reads a ruleset file: nothing in it can be called so that it lies outside a library.
///
/// # Errors
///
/// The first thing in it that is no part of a ruleset, and where.
pub fn read(sources: &Sources, id: SourceId) -> Result<Ruleset, RulesetError> {
    let text = &sources.get(id).text;
    if text.len() > MOST_BYTES {
        return Err(RulesetError::TooLarge {
            most_mib: MOST_BYTES >> 20,
        });
    }
    let mistake = RefCell::new(None);
    let mut reader = serde_json::Deserializer::from_str(text);
    let read = FileSeed { mistake: &mistake }
        .deserialize(&mut reader)
        .and_then(|ruleset| reader.end().map(|()| ruleset));
    read.map_err(|error| {
        let at = place(text, id, &error);
        match mistake.take() {
            Some(mistake) => mistake.at(at),
            None => RulesetError::Form {
                reason: reason(&error),
                at,
            },
        }
    })
}

/// What was noticed inside the reader of JSON, which knows no errors of ours.
enum Mistake {
    Version(u64),
    Place { place: String, why: String },
    Name { name: String, why: String },
    Twice(String),
    Elsewhere { name: String, place: String },
    TooMany,
}

impl Mistake {
    fn at(self, at: Span) -> RulesetError {
        match self {
            Mistake::Version(found) => RulesetError::Version { found, at },
            Mistake::Place { place, why } => RulesetError::Place { place, why, at },
            Mistake::Name { name, why } => RulesetError::Name { name, why, at },
            Mistake::Twice(name) => RulesetError::NameTwice { name, at },
            Mistake::Elsewhere { name, place } => RulesetError::Elsewhere { name, place, at },
            Mistake::TooMany => RulesetError::TooMany {
                most: MOST_TEXTS,
                at,
            },
        }
    }
}

/// A name that a stranger gave, made safe to show.
fn shown(name: &str) -> String {
    let mut shown: String = name
        .chars()
        .take(MOST_SHOWN)
        .map(|letter| {
            if is_hidden(letter) {
                '\u{FFFD}'
            } else {
                letter
            }
        })
        .collect();
    if name.chars().nth(MOST_SHOWN).is_some() {
        shown.push('…');
    }
    shown
}

/// Where the reader of JSON stopped.
fn place(text: &str, id: SourceId, error: &serde_json::Error) -> Span {
    let before: usize = text
        .split_inclusive('\n')
        .take(error.line().saturating_sub(1))
        .map(str::len)
        .sum();
    let column = error.column().saturating_sub(1);
    let mut start = (before + column).min(text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    let length = text[start..].chars().next().map_or(0, char::len_utf8);
    span(id, start, start + length)
}

/// What the reader of JSON says, without the line and column that the label shows.
fn reason(error: &serde_json::Error) -> String {
    let said = error.to_string();
    let said = match said.rfind(" at line ") {
        Some(end) => &said[..end],
        None => &said,
    };
    match error.classify() {
        Category::Eof => "it ends too soon".to_owned(),
        Category::Syntax => format!("it is no JSON ({said})"),
        Category::Data | Category::Io => said.to_owned(),
    }
}

struct FileSeed<'a> {
    mistake: &'a RefCell<Option<Mistake>>,
}

impl<'de> DeserializeSeed<'de> for FileSeed<'_> {
    type Value = Ruleset;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<Ruleset, D::Error> {
        reader.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for FileSeed<'_> {
    type Value = Ruleset;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a ruleset")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Ruleset, A::Error> {
        key(&mut map, "ruleset")?;
        let version: u64 = map.next_value()?;
        if version != 1 {
            return Err(noticed(self.mistake, Mistake::Version(version)));
        }
        key(&mut map, "place")?;
        let place: String = map.next_value()?;
        if let Some(why) = mistake_of_place(&place) {
            let place = shown(&place);
            return Err(noticed(self.mistake, Mistake::Place { place, why }));
        }
        key(&mut map, "texts")?;
        let texts = map.next_value_seed(TextsSeed {
            place: &place,
            mistake: self.mistake,
        })?;
        match map.next_key::<String>()? {
            None => Ok(Ruleset { place, texts }),
            Some(more) => Err(A::Error::custom(format!(
                "nothing is expected after `texts`, found `{}`",
                shown(&more)
            ))),
        }
    }
}

fn noticed<E: Error>(kept: &RefCell<Option<Mistake>>, mistake: Mistake) -> E {
    kept.replace(Some(mistake));
    E::custom("a mistake")
}

fn key<'de, A: MapAccess<'de>>(map: &mut A, wanted: &str) -> Result<(), A::Error> {
    match map.next_key::<String>()? {
        Some(found) if found == wanted => Ok(()),
        Some(found) => Err(A::Error::custom(format!(
            "the key `{wanted}` is expected, found `{}`",
            shown(&found)
        ))),
        None => Err(A::Error::custom(format!("the key `{wanted}` is missing"))),
    }
}

struct TextsSeed<'a> {
    place: &'a str,
    mistake: &'a RefCell<Option<Mistake>>,
}

impl<'de> DeserializeSeed<'de> for TextsSeed<'_> {
    type Value = Texts;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<Texts, D::Error> {
        reader.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for TextsSeed<'_> {
    type Value = Texts;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("texts by name")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Texts, A::Error> {
        let mut texts = BTreeMap::new();
        while let Some(name) = map.next_key::<String>()? {
            if let Some(mistake) = self.mistake_of(&name, &texts) {
                return Err(noticed(self.mistake, mistake));
            }
            texts.insert(name, map.next_value_seed(Lines)?);
        }
        Ok(Texts(texts))
    }
}

impl TextsSeed<'_> {
    fn mistake_of(&self, name: &str, known: &BTreeMap<String, String>) -> Option<Mistake> {
        if let Some(why) = mistake_of_name(name) {
            let name = shown(name);
            return Some(Mistake::Name { name, why });
        }
        let folder = place_of(name);
        if folder.is_some_and(|folder| !around(self.place).any(|known| known == folder)) {
            return Some(Mistake::Elsewhere {
                name: shown(name),
                place: self.place.to_owned(),
            });
        }
        if known.contains_key(name) {
            return Some(Mistake::Twice(shown(name)));
        }
        (known.len() == MOST_TEXTS).then_some(Mistake::TooMany)
    }
}

/// Lines go into one text as they come, so that many short ones take no more room than they are.
struct Lines;

impl<'de> DeserializeSeed<'de> for Lines {
    type Value = String;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<String, D::Error> {
        reader.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for Lines {
    type Value = String;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a text as the list of its lines")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut lines: A) -> Result<String, A::Error> {
        let mut text = String::new();
        let mut first = true;
        while let Some(line) = lines.next_element::<String>()? {
            if !first {
                text.push('\n');
            }
            first = false;
            if line.contains('\n') {
                return Err(A::Error::custom("a line that holds a line break"));
            }
            text.push_str(&line);
        }
        Ok(text)
    }
}
