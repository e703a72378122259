//! What can be wrong with a text before anything in it is understood.

use miette::Diagnostic;
use thiserror::Error;

use crate::source::Span;

/// A text that does not follow the grammar, with what was found, what was expected and the mend.
#[derive(Debug, Clone, PartialEq, Eq, Error, Diagnostic)]
pub enum SyntaxError {
    /// A file of more than 4 MiB.
    #[error("this file has {size} bytes, expected at most {largest}")]
    #[diagnostic(
        code(language::too_large),
        help("split it into several files of the same folder")
    )]
    TooLarge {
        /// Its bytes.
        size: usize,
        /// The most that are read.
        largest: usize,
        /// Its beginning.
        #[label("the file begins here")]
        at: Span,
    },

    /// `((((…` sixty-five times
    #[error("found more than {deepest} levels inside each other")]
    #[diagnostic(
        code(language::too_deep),
        help("give a part of it a name with `define`, and use the name here")
    )]
    TooDeep {
        /// The most that are read.
        deepest: usize,
        /// What opens one level too many.
        #[label("level {} begins here", deepest + 1)]
        at: Span,
    },

    /// `title "Each cable`
    #[error("found the end of the line inside a text, expected its closing `\"`")]
    #[diagnostic(
        code(language::unclosed_text),
        help("close the text with `\"` on the line on which it begins")
    )]
    UnclosedText {
        /// From its opening quote to the end of the line.
        #[label("this text is not closed")]
        at: Span,
    },

    /// `title “Each cable”`
    #[error("found {found}, which the rule language does not use")]
    #[diagnostic(code(language::stray_character), help("{mend}"))]
    StrayCharacter {
        /// The character as a message can show it.
        found: String,
        /// What to write in its place.
        mend: String,
        /// Its place.
        #[label("this character")]
        at: Span,
    },

    /// `  rule cover {`
    #[error("found `{word}` away from the left margin, expected each item to begin there")]
    #[diagnostic(
        code(language::indented_item),
        help(
            "move `{word}` to the left margin; if it does stand inside an item, that item lacks its `}}`"
        )
    )]
    IndentedItem {
        /// The word that begins an item.
        word: String,
        /// Its place.
        #[label("this item is indented")]
        at: Span,
    },

    /// `title "…"` at the left margin
    #[error("found `{found}` at the left margin, expected an item")]
    #[diagnostic(
        code(language::not_indented),
        help("indent the line, so that it belongs to the item above it")
    )]
    NotIndented {
        /// What stands there.
        found: String,
        /// Its place.
        #[label("this line begins no item")]
        at: Span,
    },

    /// `rul cover {`
    #[error("found `{word}` at the left margin, expected an item")]
    #[diagnostic(code(language::unknown_item), help("{mend}"))]
    UnknownItem {
        /// The word.
        word: String,
        /// The nearest word, or all of them.
        mend: String,
        /// Its place.
        #[label("no item begins with `{word}`")]
        at: Span,
    },

    /// `remdy "…"`
    #[error("found `{word}`, expected a clause of a {item}")]
    #[diagnostic(code(language::unknown_clause), help("{mend}"))]
    UnknownClause {
        /// The word.
        word: String,
        /// What kind of item it stands in.
        item: &'static str,
        /// The nearest word, or all of them.
        mend: String,
        /// Its place.
        #[label("no clause of a {item} begins with `{word}`")]
        at: Span,
    },

    /// `span.cover >= 24 in`
    #[error("found `{found}`, expected a comparison in words")]
    #[diagnostic(
        code(language::comparison_in_symbols),
        help("write `{mend}` in place of `{found}`")
    )]
    ComparisonInSymbols {
        /// The symbol.
        found: String,
        /// The words for it.
        mend: &'static str,
        /// Its place.
        #[label("comparisons are written in words")]
        at: Span,
    },

    /// `span.cover is greater than 24 in`
    #[error("found `{found}`, expected `{mend}`")]
    #[diagnostic(
        code(language::comparison_in_other_words),
        help(
            "the comparisons are `is at least`, `is at most`, `is more than`, `is less than`, `is` and `is one of`"
        )
    )]
    ComparisonInOtherWords {
        /// The words found.
        found: String,
        /// The language's own.
        mend: &'static str,
        /// Their place.
        #[label("write `{mend}` here")]
        at: Span,
    },

    /// `span.location is not yard`, `a != b`
    #[error("found `{found}`, expected `not` before the whole comparison")]
    #[diagnostic(
        code(language::is_not),
        help("write `not (A is B)` in place of `A {found} B`")
    )]
    IsNot {
        /// `is not` or a symbol for it.
        found: String,
        /// Its place.
        #[label("a comparison is denied from the outside")]
        at: Span,
    },

    /// `a is 1 && b is 2`
    #[error("found `{found}`, expected `{mend}`")]
    #[diagnostic(
        code(language::logic_in_symbols),
        help("`and`, `or` and `not` are written as words")
    )]
    LogicInSymbols {
        /// The symbol.
        found: String,
        /// The word for it.
        mend: &'static str,
        /// Its place.
        #[label("write `{mend}` here")]
        at: Span,
    },

    /// `1 in is less than a is less than 2 in`
    #[error("found a second comparison, expected one of two sides only")]
    #[diagnostic(
        code(language::chained_comparison),
        help("write it as two, joined by `and`: `A is at least B and A is at most C`")
    )]
    ChainedComparison {
        /// The first comparison.
        #[label("the first comparison")]
        first: Span,
        /// The second comparison.
        #[label("this compares its result again")]
        at: Span,
    },

    /// `fall is at least 1:48`
    #[error("found the ratio `{found}`, expected a slope with its unit")]
    #[diagnostic(
        code(language::ratio),
        help(
            "write the slope with its unit, as in `1/4 in/ft` or `2 %`: drains and trench walls read a ratio in opposite senses"
        )
    )]
    Ratio {
        /// The ratio.
        found: String,
        /// Its place.
        #[label("a ratio can be read in two senses")]
        at: Span,
    },

    /// `rule cover {` without its `}`
    #[error("found the end of the item, expected the `}}` of this `{{`")]
    #[diagnostic(
        code(language::unclosed_brace),
        help("write `}}` after the last clause of the item; it may stand at the left margin")
    )]
    UnclosedBrace {
        /// The brace.
        #[label("this `{{` is not closed")]
        at: Span,
    },

    /// `when (a is b`
    #[error("found {found}, expected the `)` of this `(`")]
    #[diagnostic(
        code(language::unclosed_parenthesis),
        help("write `)` where the part in parentheses ends")
    )]
    UnclosedParenthesis {
        /// What stands where it could end.
        found: String,
        /// The parenthesis.
        #[label("this `(` is not closed")]
        open: Span,
        /// Where it could have ended.
        #[label("expected `)` here")]
        at: Span,
    },

    /// `if a is b else 2 in`
    #[error("found {found}, expected `{word}`")]
    #[diagnostic(code(language::missing_word), help("it is written {form}"))]
    MissingWord {
        /// What stands in its place.
        found: String,
        /// The word that is missing.
        word: &'static str,
        /// The whole form.
        form: &'static str,
        /// Where it should stand.
        #[label("expected `{word}` here")]
        at: Span,
    },

    /// `if a is b then 1 elif …`
    #[error("found `{found}`, expected `else`")]
    #[diagnostic(
        code(language::other_else),
        help("write `else if C then A else B` for a further condition; an `else` ends each `if`")
    )]
    OtherElse {
        /// The word.
        found: String,
        /// Its place.
        #[label("write `else if` here")]
        at: Span,
    },

    /// `rule Cover {`, `rule least-cover {`
    #[error("found `{found}`, expected a name in lower case with underscores")]
    #[diagnostic(code(language::name), help("write `{mend}` in place of `{found}`"))]
    BadName {
        /// What was written.
        found: String,
        /// A name near it.
        mend: String,
        /// Its place.
        #[label("this is not a name")]
        at: Span,
    },

    /// `rule when {`
    #[error("found `{word}`, expected a name")]
    #[diagnostic(
        code(language::reserved_word),
        help("`{word}` has a meaning of its own in the language: choose another name")
    )]
    ReservedWord {
        /// The word.
        word: String,
        /// Its place.
        #[label("this word cannot be a name")]
        at: Span,
    },

    /// `direct_burial yard : 24 in`
    #[error("found {found}, expected `,` between the keys of a row")]
    #[diagnostic(
        code(language::missing_comma),
        help("write `,` between two keys, and `or` between two labels of one key")
    )]
    MissingComma {
        /// What follows the key.
        found: String,
        /// Its place.
        #[label("expected `,` before this")]
        at: Span,
    },

    /// `cover is at least 24 in ± 1/4 in`
    #[error("found a tolerance, expected an exact quantity")]
    #[diagnostic(
        code(language::tolerance),
        help(
            "limits and constants are exact: leave out `{found}` and what follows it; a tolerance belongs to a reading, in the record"
        )
    )]
    Tolerance {
        /// How it was written.
        found: String,
        /// Its place.
        #[label("rules have no tolerance")]
        at: Span,
    },

    /// `a is 1 and every x in L has C`
    #[error("found `{word}` inside a larger expression, expected parentheses around it")]
    #[diagnostic(
        code(language::needs_parentheses),
        help("write `({form})`: without parentheses it would reach to the end of the clause")
    )]
    NeedsParentheses {
        /// `if`, `every`, `some` or `not`.
        word: String,
        /// The whole form.
        form: &'static str,
        /// Its place.
        #[label("this part needs parentheses")]
        at: Span,
    },

    /// Any other place at which the grammar cannot go on.
    #[error("found {found}, expected {expected}")]
    #[diagnostic(code(language::unexpected), help("{form}"))]
    Unexpected {
        /// What stands there.
        found: String,
        /// What could.
        expected: String,
        /// How the item or the clause is written.
        form: String,
        /// Its place.
        #[label("expected {expected}")]
        at: Span,
    },

    /// More than twenty mistakes in one file.
    #[error("{count} more mistakes of this file are not shown")]
    #[diagnostic(
        code(language::more_left_out),
        help("mend the ones above, then read the file again")
    )]
    MoreLeftOut {
        /// How many.
        count: usize,
    },
}
