//! Where the grammar stopped in, what the author most likely meant out.

use super::error::SyntaxError;
use super::layout::{DEEPEST, ItemText, Kind, Layout, Token, TokenKind, span};
use crate::source::Span;

/// Where the grammar could not go on, and what it would have taken.
#[derive(Debug)]
pub struct Failure {
    /// The byte of the file.
    pub at: usize,
    /// What could have stood there, in words.
    pub expected: String,
    /// The same, one by one.
    pub wanted: Vec<String>,
    /// Whether the caller has left no stack for it.
    pub out_of_stack: bool,
}

/// The clauses that stand between an item's braces; none where anything but a fixed word does.
pub fn clause_words(kind: Kind) -> &'static [&'static str] {
    match kind {
        Kind::Rule | Kind::Add | Kind::Replace => &[
            "title",
            "each",
            "when",
            "shall",
            "should",
            "refer",
            "precaution",
            "cite",
            "hold",
            "remedy",
            "hazard",
        ],
        Kind::Source => &[
            "title",
            "publisher",
            "edition",
            "kind",
            "binding",
            "address",
        ],
        Kind::Place => &["authority", "date", "decision"],
        Kind::Variance => &[
            "rule",
            "lot",
            "subject",
            "authority",
            "date",
            "until",
            "because",
        ],
        Kind::Holds
        | Kind::Permits
        | Kind::Hazards
        | Kind::People
        | Kind::Choice
        | Kind::Size
        | Kind::Thing
        | Kind::Extend
        | Kind::List
        | Kind::Survey
        | Kind::Topic
        | Kind::Limit
        | Kind::Table
        | Kind::Define
        | Kind::Adopt
        | Kind::Amend
        | Kind::Set
        | Kind::Strike
        | Kind::Restrict => &[],
    }
}

/// What stands at the margin and begins no item.
pub fn of_outsider(layout: &Layout<'_>, token: Token) -> SyntaxError {
    let word = layout.word(token).to_string();
    let at = layout.span(token);
    let clauses = [
        Kind::Rule,
        Kind::Source,
        Kind::Place,
        Kind::Variance,
        Kind::Adopt,
    ];
    let continues = [
        "and", "or", "then", "else", "has", "where", "for", "from", "is", "in", "tighten",
    ];
    let of_clause = clauses
        .iter()
        .any(|kind| clause_words(*kind).contains(&word.as_str()));
    if token.kind != TokenKind::Word || of_clause || continues.contains(&word.as_str()) {
        return SyntaxError::NotIndented { found: word, at };
    }
    let mend = suggestion(&word, Kind::WORDS);
    SyntaxError::UnknownItem { word, mend, at }
}

/// The nearest word, where one is near; all of them otherwise.
fn suggestion(word: &str, words: &[&str]) -> String {
    let lower = word.to_lowercase();
    let nearest = words
        .iter()
        .max_by(|a, b| strsim::jaro_winkler(&lower, a).total_cmp(&strsim::jaro_winkler(&lower, b)));
    match nearest {
        Some(nearest) if strsim::jaro_winkler(&lower, nearest) > 0.8 => {
            format!("write `{nearest}` if that is meant")
        }
        _ => format!("the words that may stand here are {}", listed(words)),
    }
}

fn listed(words: &[&str]) -> String {
    let quoted: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
    quoted.join(", ")
}

/// The mistake behind a failure.
pub fn of_failure(layout: &Layout<'_>, item: &ItemText, failure: &Failure) -> SyntaxError {
    let tokens = &layout.tokens[item.tokens.clone()];
    let index = tokens
        .iter()
        .position(|token| token.end > failure.at)
        .unwrap_or(tokens.len());
    if failure.out_of_stack {
        return SyntaxError::TooDeep {
            deepest: DEEPEST,
            at: span(layout.source, item.start, item.end),
        };
    }
    let scene = Scene {
        layout,
        item,
        tokens,
        index,
        failure,
    };
    scene
        .symbol()
        .or_else(|| scene.structure())
        .or_else(|| scene.comparison())
        .or_else(|| scene.missing_word())
        .or_else(|| scene.name())
        .or_else(|| scene.missing_mark())
        .unwrap_or_else(|| scene.unexpected())
}

/// The words around the place at which the grammar stopped.
struct Scene<'a> {
    layout: &'a Layout<'a>,
    item: &'a ItemText,
    tokens: &'a [Token],
    index: usize,
    failure: &'a Failure,
}

impl Scene<'_> {
    /// The word so many places from where the grammar stopped.
    fn word(&self, away: isize) -> &str {
        self.token(away).map_or("", |token| self.layout.word(token))
    }

    fn token(&self, away: isize) -> Option<Token> {
        let index = self.index.checked_add_signed(away)?;
        self.tokens.get(index).copied()
    }

    /// From one token to another, both counted from where the grammar stopped.
    fn span(&self, first: isize, last: isize) -> Span {
        match (self.token(first), self.token(last)) {
            (Some(first), Some(last)) => self.layout.span(first).to(self.layout.span(last)),
            _ => self.end(),
        }
    }

    /// Just after the last word.
    fn end(&self) -> Span {
        span(self.layout.source, self.item.end, self.item.end)
    }

    fn found(&self) -> String {
        match self.token(0) {
            Some(token) if token.kind == TokenKind::Text => "a text".to_string(),
            Some(token) => format!("`{}`", self.layout.word(token)),
            None if self.is_clause() => "the end of the clause".to_string(),
            None => "the end of the item".to_string(),
        }
    }

    /// Whether a clause was read by itself, and not its whole item.
    fn is_clause(&self) -> bool {
        let first = self.tokens.first();
        first.is_some_and(|first| self.layout.word(*first) != self.item.kind.word())
    }

    /// How the clause is written, or else the item.
    fn form(&self) -> &'static str {
        let first = self
            .tokens
            .first()
            .map_or("", |first| self.layout.word(*first));
        match self.item.kind {
            Kind::Rule | Kind::Add | Kind::Replace => clause_form(first),
            _ => None,
        }
        .unwrap_or(form(self.item.kind))
    }

    fn wants(&self, what: &str) -> bool {
        self.failure.wanted.iter().any(|wanted| wanted == what)
    }

    fn symbol(&self) -> Option<SyntaxError> {
        let found = self.word(0).to_string();
        let at = self.span(0, 0);
        let comparison = |mend| SyntaxError::ComparisonInSymbols {
            found: found.clone(),
            mend,
            at,
        };
        let logic = |mend| SyntaxError::LogicInSymbols {
            found: found.clone(),
            mend,
            at,
        };
        let error = match found.as_str() {
            ">=" | "=>" | "≥" => comparison("is at least"),
            "<=" | "=<" | "≤" => comparison("is at most"),
            ">" => comparison("is more than"),
            "<" => comparison("is less than"),
            "==" => comparison("is"),
            "=" if self.wants("a comparison such as `is at least`") => comparison("is"),
            "!=" | "<>" | "≠" => SyntaxError::IsNot { found, at },
            "&&" | "&" => logic("and"),
            "||" | "|" => logic("or"),
            "!" => logic("not"),
            "±" | "+/-" => SyntaxError::Tolerance { found, at },
            ":" if self.is_ratio() => SyntaxError::Ratio {
                found: format!("{}:{}", self.word(-1), self.word(1)),
                at: self.span(-1, 1),
            },
            _ => return None,
        };
        Some(error)
    }

    fn is_ratio(&self) -> bool {
        let number = |away| {
            self.token(away)
                .is_some_and(|token| token.kind == TokenKind::Number)
        };
        number(-1) && number(1)
    }

    /// Items and clauses that begin where they cannot, and braces left open.
    fn structure(&self) -> Option<SyntaxError> {
        let Some(token) = self.token(0) else {
            return self.unclosed_brace();
        };
        let word = self.word(0);
        if !token.begins_line || token.kind != TokenKind::Word {
            return None;
        }
        let clauses = clause_words(self.item.kind);
        if clauses.contains(&word) {
            return None;
        }
        if Kind::of(word).is_some() {
            return Some(SyntaxError::IndentedItem {
                word: word.to_string(),
                at: self.span(0, 0),
            });
        }
        let inside = self.wants("`}`") || self.index == 0;
        if clauses.is_empty() || !inside {
            return None;
        }
        Some(SyntaxError::UnknownClause {
            word: word.to_string(),
            item: noun(self.item.kind),
            mend: suggestion(word, clauses),
            at: self.span(0, 0),
        })
    }

    fn unclosed_brace(&self) -> Option<SyntaxError> {
        let open = self
            .tokens
            .iter()
            .find(|token| self.layout.word(**token) == "{")?;
        let closed = self
            .tokens
            .iter()
            .any(|token| self.layout.word(*token) == "}");
        (!closed).then(|| SyntaxError::UnclosedBrace {
            at: self.layout.span(*open),
        })
    }

    fn comparison(&self) -> Option<SyntaxError> {
        let (before, word, after) = (self.word(-1), self.word(0), self.word(1));
        if before == "is" && word == "not" {
            return Some(SyntaxError::IsNot {
                found: "is not".to_string(),
                at: self.span(-1, 0),
            });
        }
        // `is larger than`: `larger` was read as a name, and the grammar stopped at `than`.
        for (first, last) in [(-1, 1), (-2, 0), (-1, 0), (0, 1), (0, 0)] {
            if let Some(mend) = self.other_words(first, last) {
                return Some(mend);
            }
        }
        if word == "is" && !after.is_empty() {
            let first = self.earlier_comparison()?;
            return Some(SyntaxError::ChainedComparison {
                first,
                at: self.span(0, 0),
            });
        }
        None
    }

    fn other_words(&self, first: isize, last: isize) -> Option<SyntaxError> {
        let words: Vec<&str> = (first..=last).map(|away| self.word(away)).collect();
        let found = words.join(" ");
        let mend = match found.as_str() {
            "is greater than" | "is larger than" | "is bigger than" | "is higher than"
            | "is over" | "is above" | "exceeds" | "more than" | "greater than" => "is more than",
            "is smaller than" | "is lower than" | "is fewer than" | "is under" | "is below"
            | "less than" => "is less than",
            "is equal to" | "is same as" | "equals" => "is",
            "at least" => "is at least",
            "at most" => "is at most",
            "is in" => "is one of",
            _ => return None,
        };
        Some(SyntaxError::ComparisonInOtherWords {
            found,
            mend,
            at: self.span(first, last),
        })
    }

    /// The comparison to the left in the same part of an expression.
    fn earlier_comparison(&self) -> Option<Span> {
        for token in self.tokens[..self.index].iter().rev() {
            match self.layout.word(*token) {
                "is" => return Some(self.layout.span(*token)),
                "and" | "or" | "not" | "(" | "then" | "else" | "has" | "where" => return None,
                _ => {}
            }
        }
        None
    }

    fn missing_word(&self) -> Option<SyntaxError> {
        let found = self.word(0);
        if matches!(found, "elif" | "elsif" | "elseif" | "otherwise") {
            return Some(SyntaxError::OtherElse {
                found: found.to_string(),
                at: self.span(0, 0),
            });
        }
        let every = "`every x in L has C`, or `some x in L has C`";
        let forms = [
            ("then", "`if C then A else B`"),
            ("else", "`if C then A else B`: the `else` is required"),
            ("has", every),
            ("for", "`least of E for x in L`"),
        ];
        let (word, form) =
            if self.wants("`where`") && matches!(found, "has" | "with" | "if" | "such" | "when") {
                ("where", "`count of x in L where C`")
            } else {
                *forms
                    .iter()
                    .find(|(word, _)| self.wants(&format!("`{word}`")) && self.opens(word))?
            };
        Some(SyntaxError::MissingWord {
            found: self.found(),
            word,
            form,
            at: self.span(0, 0),
        })
    }

    /// Whether the word that asks for this one stands before it. (A fact may have a `then` too.)
    fn opens(&self, word: &str) -> bool {
        let openers: &[&str] = match word {
            "then" | "else" => &["if"],
            "has" => &["every", "some"],
            _ => &["least", "greatest", "total"],
        };
        self.tokens[..self.index]
            .iter()
            .any(|token| openers.contains(&self.layout.word(*token)))
    }

    fn name(&self) -> Option<SyntaxError> {
        let token = self.token(0)?;
        let word = self.word(0);
        // `least-cover`: the grammar has taken `least` and stops at the hyphen.
        if matches!(word, "-" | "−") && self.hyphenated() {
            let found = format!("{}{}{}", self.word(-1), word, self.word(1));
            let mend = found.replace(['-', '−'], "_").to_lowercase();
            return Some(SyntaxError::BadName {
                found,
                mend,
                at: self.span(-1, 1),
            });
        }
        let here = self.wants("a name")
            || self.wants("an expression")
            || self.wants("a quantity or a label");
        if token.kind != TokenKind::Word || !here {
            return None;
        }
        if let Some(form) = needs_parentheses(word) {
            let inside = self.index > 0 && !clause_words(self.item.kind).contains(&self.word(-1));
            return inside.then(|| SyntaxError::NeedsParentheses {
                word: word.to_string(),
                form,
                at: self.span(0, 0),
            });
        }
        let mend = lower_name(word);
        if mend != word {
            return Some(SyntaxError::BadName {
                found: word.to_string(),
                mend,
                at: self.span(0, 0),
            });
        }
        let only_name = !self.wants("an expression") && !self.wants("a quantity");
        (only_name && self.wants("a name") && RESERVED.contains(&word)).then(|| {
            SyntaxError::ReservedWord {
                word: word.to_string(),
                at: self.span(0, 0),
            }
        })
    }

    fn hyphenated(&self) -> bool {
        let (Some(before), Some(hyphen), Some(after)) =
            (self.token(-1), self.token(0), self.token(1))
        else {
            return false;
        };
        before.kind == TokenKind::Word
            && after.kind == TokenKind::Word
            && before.end == hyphen.start
            && hyphen.end == after.start
    }

    fn missing_mark(&self) -> Option<SyntaxError> {
        let token = self.token(0);
        if self.item.kind == Kind::Table && self.wants("`,`") && self.wants("`:`") {
            let starts_key =
                token.is_some_and(|token| token.kind != TokenKind::Mark && !token.begins_line);
            if starts_key {
                return Some(SyntaxError::MissingComma {
                    found: self.found(),
                    at: self.span(0, 0),
                });
            }
        }
        if self.wants("`)`") {
            let open = self.open_parenthesis()?;
            return Some(SyntaxError::UnclosedParenthesis {
                found: self.found(),
                open,
                at: self.span(0, 0),
            });
        }
        None
    }

    fn open_parenthesis(&self) -> Option<Span> {
        let ends = token_ends_group(self.word(0), self.token(0));
        let mut closed = 0;
        for token in self.tokens[..self.index].iter().rev() {
            match self.layout.word(*token) {
                ")" => closed += 1,
                "(" if closed == 0 => return ends.then(|| self.layout.span(*token)),
                "(" => closed -= 1,
                _ => {}
            }
        }
        None
    }

    fn unexpected(&self) -> SyntaxError {
        SyntaxError::Unexpected {
            found: self.found(),
            expected: self.failure.expected.clone(),
            form: self.form().to_string(),
            at: self.span(0, 0),
        }
    }
}

/// Whether a group cannot go on over this word: a clause begins, or the item ends.
fn token_ends_group(word: &str, token: Option<Token>) -> bool {
    match token {
        None => true,
        Some(token) => {
            token.begins_line || matches!(word, "}" | "{" | ":" | "then" | "else" | "cite")
        }
    }
}

fn needs_parentheses(word: &str) -> Option<&'static str> {
    match word {
        "if" => Some("if C then A else B"),
        "every" => Some("every x in L has C"),
        "some" => Some("some x in L has C"),
        "not" => Some("not C"),
        _ => None,
    }
}

/// The words of `reserved` in the grammar.
const RESERVED: &[&str] = &[
    "and",
    "or",
    "not",
    "if",
    "then",
    "else",
    "every",
    "some",
    "is",
    "has",
    "where",
    "for",
    "of",
    "in",
    "title",
    "each",
    "when",
    "shall",
    "should",
    "refer",
    "precaution",
    "cite",
    "hold",
    "remedy",
    "hazard",
    "from",
    "until",
    "because",
    "becomes",
];

/// A name near a word: `leastCover` and `LeastCover` become `least_cover`.
fn lower_name(word: &str) -> String {
    let mut name = String::new();
    let mut after_lower = false;
    for letter in word.chars() {
        if letter.is_uppercase() && after_lower {
            name.push('_');
        }
        after_lower = letter.is_lowercase() || letter.is_ascii_digit();
        if letter.is_ascii() {
            name.push(letter.to_ascii_lowercase());
        } else {
            name.push('_');
        }
    }
    name.trim_start_matches('_').to_string()
}

fn noun(kind: Kind) -> &'static str {
    match kind {
        Kind::Add | Kind::Replace => "rule",
        other => other.word(),
    }
}

/// How a clause of a rule is written.
fn clause_form(word: &str) -> Option<&'static str> {
    let form = match word {
        "title" => "it is written `title \"…\"`",
        "each" => "it is written `each NAME in LIST`",
        "when" => "it is written `when CONDITION`",
        "shall" => "it is written `shall CONDITION` or `shall record FACT`",
        "should" => "it is written `should CONDITION`",
        "refer" => "it is written `refer \"…\"`",
        "precaution" => "it is written `precaution CONDITION`",
        "cite" => {
            "it is written `cite SOURCE \"section\"`, with `from memory` where it was not read"
        }
        "hold" => "it is written `hold NAME`",
        "remedy" => "it is written `remedy \"…\"`",
        "hazard" => "it is written `hazard NAME`",
        _ => return None,
    };
    Some(form)
}

/// How an item is written.
fn form(kind: Kind) -> &'static str {
    match kind {
        Kind::Holds => "it is written `holds { NAME \"…\" … }`",
        Kind::Permits => "it is written `permits { NAME \"…\" … }`",
        Kind::Hazards => "it is written `hazards { NAME \"…\" … }`",
        Kind::People => "it is written `people { NAME \"…\" … }`",
        Kind::Choice => "it is written `choice NAME \"…\" { LABEL \"…\" … }`",
        Kind::Size => "it is written `size NAME \"…\" { 4 in or DN 100 … }`, a place a line",
        Kind::Thing => {
            "a thing is written `thing NAME \"…\" { … }`, its facts `NAME : TYPE measured \"…\" by \"…\" until HOLD then \"…\" between A and B for PERSON`"
        }
        Kind::Extend => {
            "it is written `extend THING { … }`, its facts `NAME : TYPE measured \"…\" by \"…\" until HOLD then \"…\" between A and B for PERSON`"
        }
        Kind::List => "it is written `list NAME of THING \"…\"`",
        Kind::Survey => "it is written `survey NAME (PARAMETER: THING) gives TYPE \"…\"`",
        Kind::Source => {
            "a source is written `source NAME { title \"…\" publisher \"…\" edition \"…\" kind published binding \"…\" }`"
        }
        Kind::Topic => "it is written `topic NAME \"…\" permit KIND`",
        Kind::Limit => {
            "it is written `limit NAME : TYPE = VALUE \"…\" tighten only cite SOURCE \"…\"`; the text and the narrowing may be left out"
        }
        Kind::Table => {
            "a table is written `table NAME (PARAMETER: TYPE) gives TYPE cite SOURCE \"…\" { … }`, its rows `KEY, KEY : VALUE`"
        }
        Kind::Define => {
            "it is written `define NAME (PARAMETER: TYPE) gives TYPE = EXPRESSION cite SOURCE \"…\"`"
        }
        Kind::Rule => {
            "a rule is written `rule NAME { … }`; `title`, `each`, `when`, `shall`, `cite`, `hold` and `remedy` are its clauses"
        }
        Kind::Place => {
            "a place is written `place \"…\" { authority KIND \"…\" \"…\" date KIND issued decision TOPIC as_read }`"
        }
        Kind::Adopt => "it is written `adopt TOPIC from DATE cite SOURCE \"…\" because \"…\"`",
        Kind::Amend => {
            "it is written `amend TOPIC.LIMIT : A becomes B from DATE cite SOURCE \"…\" because \"…\"`"
        }
        Kind::Set => {
            "it is written `set TOPIC.LIMIT = A from DATE cite SOURCE \"…\" because \"…\"`"
        }
        Kind::Strike => {
            "it is written `strike topic TOPIC` or `strike rule TOPIC.RULE`, then `from DATE cite SOURCE \"…\" because \"…\"`"
        }
        Kind::Restrict => {
            "it is written `restrict TOPIC.LIMIT to tighten only` or `restrict rule TOPIC.RULE to fixed`, then `from DATE cite SOURCE \"…\" because \"…\"`"
        }
        Kind::Add => {
            "it is written `add rule NAME in TOPIC from DATE cite SOURCE \"…\" because \"…\" { … }`"
        }
        Kind::Replace => {
            "it is written `replace rule TOPIC.RULE from DATE cite SOURCE \"…\" because \"…\" { … }`"
        }
        Kind::Variance => {
            "a variance is written `variance \"…\" { rule TOPIC.RULE lot \"…\" subject \"…\" authority \"…\" date DATE until DATE because \"…\" }`"
        }
    }
}
