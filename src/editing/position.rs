//! Places as editors count them: lines and units within a line, both from 0.

use std::ops::Range;

/// What a character of a line counts as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    /// As many as it has bytes.
    Utf8,
    /// One, or two beyond the basic plane.
    Utf16,
}

/// A line and a unit within it, both from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Position {
    /// The line.
    pub line: u32,
    /// The unit within it.
    pub unit: u32,
}

/// Where the lines of a text begin.
#[derive(Debug, Clone)]
pub struct Lines<'a> {
    text: &'a str,
    starts: Vec<usize>,
}

impl<'a> Lines<'a> {
    /// Finds the lines: they end in a line feed, a carriage return, or both.
    pub fn of(text: &'a str) -> Lines<'a> {
        let bytes = text.as_bytes();
        let ends = bytes.iter().enumerate().filter(|(at, byte)| {
            **byte == b'\n' || **byte == b'\r' && bytes.get(at + 1) != Some(&b'\n')
        });
        let starts = std::iter::once(0)
            .chain(ends.map(|(at, _)| at + 1))
            .collect();
        Lines { text, starts }
    }

    /// The position of a byte; inside of a character, that of the character.
    pub fn position(&self, byte: usize, encoding: Encoding) -> Position {
        let byte = self.text.floor_char_boundary(byte);
        let line = self.starts.partition_point(|start| *start <= byte) - 1;
        let before = &self.text[self.starts[line]..byte];
        Position {
            line: count(line),
            unit: count(match encoding {
                Encoding::Utf8 => before.len(),
                Encoding::Utf16 => before.encode_utf16().count(),
            }),
        }
    }

    /// The byte of a position; beyond the end of a line its end, beyond the text the text's.
    pub fn byte(&self, position: Position, encoding: Encoding) -> usize {
        let Some(line) = usize::try_from(position.line).ok() else {
            return self.text.len();
        };
        let Some(&start) = self.starts.get(line) else {
            return self.text.len();
        };
        let end = self
            .starts
            .get(line + 1)
            .copied()
            .unwrap_or(self.text.len());
        let words = self.text[start..end].trim_end_matches(['\n', '\r']);
        let wanted = u64::from(position.unit);
        let mut units = 0;
        for (at, character) in words.char_indices() {
            units += match encoding {
                Encoding::Utf8 => character.len_utf8() as u64,
                Encoding::Utf16 => character.len_utf16() as u64,
            };
            if units > wanted {
                return start + at;
            }
        }
        start + words.len()
    }

    /// From the first position to the last of some bytes.
    pub fn range(&self, bytes: Range<usize>, encoding: Encoding) -> (Position, Position) {
        (
            self.position(bytes.start, encoding),
            self.position(bytes.end, encoding),
        )
    }
}

fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn both(text: &str, byte: usize, encoding: Encoding) -> (u32, u32) {
        let lines = Lines::of(text);
        let position = lines.position(byte, encoding);
        assert_eq!(lines.byte(position, encoding), byte);
        (position.line, position.unit)
    }

    // The example of the protocol's own text: `a𐐀b` has 4 units of UTF-16, and `b` is at 3.
    #[test]
    fn characters_beyond_the_basic_plane_count_twice_in_utf_16() {
        let text = "x\na𐐀b";
        assert_eq!(both(text, 7, Encoding::Utf16), (1, 3));
        assert_eq!(both(text, 7, Encoding::Utf8), (1, 5));
        assert_eq!(both("é×y", 4, Encoding::Utf16), (0, 2));
    }

    #[test]
    fn each_end_of_a_line_ends_one() {
        assert_eq!(both("a\r\nb\rc\nd", 3, Encoding::Utf16), (1, 0));
        assert_eq!(both("a\r\nb\rc\nd", 5, Encoding::Utf16), (2, 0));
        assert_eq!(both("a\r\nb\rc\nd", 7, Encoding::Utf16), (3, 0));
    }

    #[test]
    fn a_position_beyond_the_end_is_the_end() {
        let lines = Lines::of("ab\ncd");
        let at = |line, unit| lines.byte(Position { line, unit }, Encoding::Utf16);
        assert_eq!(at(0, 9), 2);
        assert_eq!(at(1, u32::MAX), 5);
        assert_eq!(at(u32::MAX, 0), 5);
    }

    #[test]
    fn the_middle_of_a_character_is_the_character() {
        let lines = Lines::of("a𐐀b");
        let position = Position { line: 0, unit: 2 };
        assert_eq!(lines.byte(position, Encoding::Utf16), 1);
    }
}
