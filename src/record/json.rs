//! A text that is plain JSON in, the pieces of it that YAML would find out, a good deal sooner.
//!
//! JSON is YAML but for corners. Whatever stands in one, or is no JSON, or has a mistake to be
//! told, is left to the YAML parser: nothing here says what is wrong with a text.

use std::borrow::Cow;

use super::sink::{Collection, Sink};
use super::tree::{Style, span};
use super::yaml::{MOST_DEEP, MOST_VALUES};
use crate::source::{SourceId, Span, Spanned};
use crate::vocabulary::same;

/// YAML finds the colon of a longer key no more; well below its 1024 characters.
pub(super) const LONGEST_KEY: usize = 1000;

/// Puts the pieces of a text into a sink; none where it is not an object in plain JSON, or not wanted.
pub(super) fn scan_into<'t, S: Sink<'t>>(
    text: &'t str,
    source: SourceId,
    sink: &mut S,
) -> Option<()> {
    if !text.starts_with('{') {
        return None;
    }
    let mut scanner = Scanner::new(text, source, sink);
    scanner.object(1)?;
    scanner.blanks();
    (scanner.at == text.len()).then_some(())
}

pub(super) struct Scanner<'t, 's, S> {
    pub(super) text: &'t str,
    pub(super) bytes: &'t [u8],
    /// The byte that is next.
    pub(super) at: usize,
    pub(super) source: SourceId,
    values: usize,
    pub(super) sink: &'s mut S,
}

impl<'t, 's, S: Sink<'t>> Scanner<'t, 's, S> {
    pub(super) fn new(text: &'t str, source: SourceId, sink: &'s mut S) -> Self {
        Scanner {
            text,
            bytes: text.as_bytes(),
            at: 0,
            source,
            values: 0,
            sink,
        }
    }

    pub(super) fn peek(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }

    pub(super) fn take(&mut self, byte: u8) -> Option<()> {
        if self.peek() != Some(byte) {
            return None;
        }
        self.at += 1;
        Some(())
    }

    pub(super) fn spaces(&mut self) {
        while self.peek() == Some(b' ') {
            self.at += 1;
        }
    }

    fn blanks(&mut self) {
        while let Some(b' ' | b'\n') = self.peek() {
            self.at += 1;
        }
    }

    pub(super) fn span(&self, start: usize) -> Span {
        span(self.source, start, self.at)
    }

    pub(super) fn count(&mut self) -> Option<()> {
        self.values += 1;
        (self.values <= MOST_VALUES).then_some(())
    }

    #[inline(always)]
    fn value(&mut self, depth: usize) -> Option<()> {
        match self.peek()? {
            b'"' => match self.ordinary_string() {
                Some(text) => self.quoted(text),
                None => self.uncommon_value(),
            },
            b'{' => self.object(depth),
            b'[' => self.list(depth),
            _ => self.plain(),
        }
    }

    /// A text in quotes as a value.
    #[inline(always)]
    pub(super) fn quoted(&mut self, text: Spanned<Cow<'t, str>>) -> Option<()> {
        self.count()?;
        self.sink.text(text, Style::Quoted)
    }

    #[inline(never)]
    fn object(&mut self, depth: usize) -> Option<()> {
        let start = self.open(depth, Collection::Mapping)?;
        if self.peek() != Some(b'}') {
            loop {
                self.entry(depth)?;
                if !self.more()? {
                    break;
                }
            }
        }
        self.take(b'}')?;
        self.sink.end(self.span(start))
    }

    #[inline(always)]
    fn entry(&mut self, depth: usize) -> Option<()> {
        match self.likely_key() {
            Some(past) => {
                self.at = past;
                self.count()?;
                self.sink.likely_key_came()
            }
            None => match self.ordinary_string() {
                Some(key) => self.key(key),
                None => self.uncommon_key(),
            },
        }?;
        self.take(b':')?;
        self.spaces();
        self.value(depth + 1)
    }

    /// Where the key that is likely to come ends, if it comes.
    #[inline(always)]
    fn likely_key(&self) -> Option<usize> {
        let likely = self.sink.likely_key()?.as_bytes();
        let start = self.at + 1;
        let end = start + likely.len();
        let comes = self.peek() == Some(b'"')
            && self.bytes.get(end) == Some(&b'"')
            && same(self.bytes.get(start..end)?, likely);
        comes.then_some(end + 1)
    }

    /// Hands a key on.
    #[inline(always)]
    pub(super) fn key(&mut self, key: Spanned<Cow<'t, str>>) -> Option<()> {
        if (key.span.end - key.span.start) as usize > LONGEST_KEY {
            return None;
        }
        self.count()?;
        self.sink.key(key)
    }

    #[inline(never)]
    fn list(&mut self, depth: usize) -> Option<()> {
        let start = self.open(depth, Collection::List)?;
        if self.peek() != Some(b']') {
            loop {
                self.value(depth + 1)?;
                if !self.more()? {
                    break;
                }
            }
        }
        self.take(b']')?;
        self.sink.end(self.span(start))
    }

    /// Takes the bracket that begins a collection, and says where it stood.
    fn open(&mut self, depth: usize, collection: Collection) -> Option<usize> {
        let start = self.begin(depth, collection)?;
        self.at += 1;
        self.blanks();
        Some(start)
    }

    /// Counts a collection, and says where it begins.
    pub(super) fn begin(&mut self, depth: usize, collection: Collection) -> Option<usize> {
        if depth > MOST_DEEP {
            return None;
        }
        self.count()?;
        self.sink.begin(collection)?;
        Some(self.at)
    }

    /// Whether a comma follows, and so another value.
    fn more(&mut self) -> Option<bool> {
        self.blanks();
        match self.peek()? {
            b',' => {
                self.at += 1;
                self.blanks();
                Some(true)
            }
            _ => Some(false),
        }
    }

    /// A number, or one of JSON's three words.
    #[inline(never)]
    fn plain(&mut self) -> Option<()> {
        let start = self.at;
        let rest = &self.bytes[start..];
        let length = rest.iter().position(|byte| !is_of_plain(*byte))?;
        let text = &self.text[start..start + length];
        self.at += length;
        self.count()?;
        if !(matches!(text, "null" | "true" | "false") || is_number(text.as_bytes())) {
            return None;
        }
        let text = Spanned::new(Cow::Borrowed(text), self.span(start));
        self.sink.text(text, Style::Plain)
    }

    /// A text and its place, with the quotes.
    pub(super) fn string(&mut self) -> Option<Spanned<Cow<'t, str>>> {
        match self.ordinary_string() {
            Some(text) => Some(text),
            None => self.uncommon(),
        }
    }

    /// One of ordinary signs alone; none where there are others, and nothing is passed over.
    // It is apart from the others, so that it never leaves the processor's registers.
    #[inline(always)]
    fn ordinary_string(&mut self) -> Option<Spanned<Cow<'t, str>>> {
        let start = self.at;
        self.take(b'"')?;
        self.ordinary();
        if self.peek() != Some(b'"') {
            self.at = start;
            return None;
        }
        let text = Cow::Borrowed(&self.text[start + 1..self.at]);
        self.at += 1;
        Some(Spanned::new(text, self.span(start)))
    }

    #[cold]
    #[inline(never)]
    fn uncommon_value(&mut self) -> Option<()> {
        let text = self.uncommon()?;
        self.quoted(text)
    }

    #[cold]
    #[inline(never)]
    fn uncommon_key(&mut self) -> Option<()> {
        let key = self.uncommon()?;
        self.key(key)
    }

    /// One with escapes, or signs beyond ASCII.
    #[cold]
    #[inline(never)]
    fn uncommon(&mut self) -> Option<Spanned<Cow<'t, str>>> {
        self.take(b'"')?;
        let start = self.at;
        self.ordinary();
        let mut text = Cow::Borrowed("");
        let mut kept = start;
        loop {
            match self.peek()? {
                b'"' => break,
                b'\\' => {
                    text.to_mut().push_str(&self.text[kept..self.at]);
                    let sign = self.escape()?;
                    text.to_mut().push(sign);
                    kept = self.at;
                }
                _ => self.beyond_ascii()?,
            }
            self.ordinary();
        }
        let rest = &self.text[kept..self.at];
        match &mut text {
            Cow::Borrowed(whole) => *whole = rest,
            Cow::Owned(whole) => whole.push_str(rest),
        }
        self.at += 1;
        Some(Spanned::new(text, self.span(start - 1)))
    }

    /// Passes over the bytes that stand for themselves, eight at a time while there are so many.
    #[inline(always)]
    fn ordinary(&mut self) {
        while let Some(eight) = self.bytes[self.at..].first_chunk::<8>() {
            let others = others(u64::from_le_bytes(*eight));
            if others != 0 {
                self.at += others.trailing_zeros() as usize / 8;
                return;
            }
            self.at += 8;
        }
        while let Some(b' '..=b'~') = self.peek()
            && !matches!(self.peek(), Some(b'"' | b'\\'))
        {
            self.at += 1;
        }
    }

    /// A sign that is no ASCII; none for those that YAML takes for something else.
    fn beyond_ascii(&mut self) -> Option<()> {
        let sign = self.text[self.at..].chars().next()?;
        if !is_of_text(sign) || sign.is_ascii() {
            return None;
        }
        self.at += sign.len_utf8();
        Some(())
    }

    /// What a backslash and the signs after it stand for. Halves of a pair are left to YAML.
    fn escape(&mut self) -> Option<char> {
        let sign = match *self.bytes.get(self.at + 1)? {
            sign @ (b'"' | b'\\' | b'/') => char::from(sign),
            b'n' => '\n',
            b't' => '\t',
            b'u' => {
                let digits = self.bytes.get(self.at + 2..self.at + 6)?;
                let number = digits.iter().try_fold(0, |number, digit| {
                    Some(number * 16 + char::from(*digit).to_digit(16)?)
                })?;
                self.at += 4;
                char::from_u32(number).filter(|sign| is_of_text(*sign))?
            }
            _ => return None,
        };
        self.at += 2;
        Some(sign)
    }
}

/// The eight bytes that are no ordinary ones of a text, by their highest bits. What stands above
/// the lowest such bit says nothing.
#[inline(always)]
fn others(eight: u64) -> u64 {
    const ONES: u64 = u64::from_ne_bytes([1; 8]);
    const HIGHEST: u64 = ONES << 7;
    const BACKSLASHES: u64 = ONES * b'\\' as u64;
    // With its second bit turned, a quote comes right behind all controls.
    let turned = eight ^ (ONES << 1);
    let control_or_quote = turned.wrapping_sub(ONES * 0x21) & !turned;
    let apart = eight ^ BACKSLASHES;
    let backslash = apart.wrapping_sub(ONES) & !apart;
    // What is no ASCII has the highest bit, and so has the byte behind the last of ASCII, DEL.
    (control_or_quote | backslash | eight | eight.wrapping_add(ONES)) & HIGHEST
}

/// A sign that YAML takes for itself in a text: no control, break, mark or other that is not seen.
pub(super) fn is_of_text(sign: char) -> bool {
    matches!(sign, ' '..='~' | '\u{A0}'..='\u{2027}' | '\u{202A}'..='\u{FEFE}' | '\u{FF00}'..='\u{FFFD}')
        || sign > '\u{FFFF}'
}

fn is_of_plain(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'+' | b'.')
}

/// Whether a text is a number as JSON writes them.
fn is_number(text: &[u8]) -> bool {
    let digits = |text: &[u8]| text.iter().take_while(|byte| byte.is_ascii_digit()).count();
    let text = text.strip_prefix(b"-").unwrap_or(text);
    let whole = digits(text);
    if whole == 0 || (whole > 1 && text[0] == b'0') {
        return false;
    }
    let mut rest = &text[whole..];
    if let Some(part) = rest.strip_prefix(b".") {
        let length = digits(part);
        if length == 0 {
            return false;
        }
        rest = &part[length..];
    }
    if let [b'e' | b'E', exponent @ ..] = rest {
        let exponent = match exponent {
            [b'+' | b'-', digits @ ..] => digits,
            digits => digits,
        };
        return !exponent.is_empty() && digits(exponent) == exponent.len();
    }
    rest.is_empty()
}

#[cfg(test)]
mod tests {
    use super::others;

    #[test]
    fn each_byte_is_ordinary_or_not_wherever_it_stands() {
        for byte in 0..=u8::MAX {
            let is_ordinary = matches!(byte, b' '..=b'~') && !matches!(byte, b'"' | b'\\');
            for at in 0..8 {
                let mut eight = *b"!#[]a~ ^";
                eight[at] = byte;
                let found = others(u64::from_le_bytes(eight));
                let first = (found != 0).then(|| found.trailing_zeros() as usize / 8);
                let expected = (!is_ordinary).then_some(at);
                assert_eq!(first, expected, "{byte:#04x} at {at}");
            }
        }
    }
}
