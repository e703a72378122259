//! What can be wrong with the text of a record, and how to mend it.
//!
//! Every mistake of a file is collected and told in the order of its place, so that one reading
//! shows all of them.

use miette::Diagnostic;
use thiserror::Error;

use crate::source::{Located, Sources, Span};

/// How many mistakes of one file are told; the rest are counted.
pub const MOST_TOLD: usize = 50;

/// How far along a line a place is shown: whoever draws a line below it counts columns in 16 bits.
const MOST_COLUMNS: usize = 60_000;

/// A mistake in the text of a record.
#[derive(Debug, Clone, PartialEq, Eq, Error, Diagnostic)]
pub enum RecordError {
    // The text as YAML.
    /// `wells: [ { id: W-1 }`
    #[error("this is not well-formed YAML: {what}")]
    #[diagnostic(code(record::malformed), help("{mend}"))]
    Malformed {
        /// What the parser found.
        what: &'static str,
        /// How it is usually mended.
        mend: &'static str,
        /// Where it noticed.
        #[label("noticed here")]
        at: Span,
    },

    /// `cover: &c 24 in`
    #[error("found an anchor, expected a plain value")]
    #[diagnostic(
        code(record::anchor),
        help("take the `&…` away: a record writes each value out where it belongs")
    )]
    Anchor {
        /// The anchor.
        #[label("this is an anchor")]
        at: Span,
    },

    /// `cover: *c`
    #[error("found an alias, expected a value")]
    #[diagnostic(
        code(record::alias),
        help("write the value out here; a text that begins with `*` stands in quotes")
    )]
    Alias {
        /// The alias.
        #[label("this is an alias")]
        at: Span,
    },

    /// `cover: !!str 24 in`
    #[error("found a tag, expected a plain value")]
    #[diagnostic(
        code(record::tag),
        help("take the `!…` away: the vocabulary says of what type a value is")
    )]
    Tag {
        /// The tag.
        #[label("this is a tag")]
        at: Span,
    },

    /// `<<: { cover: 24 in }`
    #[error("found a merge key, expected the name of a fact or a list")]
    #[diagnostic(
        code(record::merge_key),
        help("write the merged entries out here, each with its own value")
    )]
    MergeKey {
        /// The key.
        #[label("this is a merge key")]
        at: Span,
    },

    /// `--- {} --- {}`
    #[error("found a second document, expected one record a file")]
    #[diagnostic(
        code(record::several_documents),
        help("put each record in a file of its own")
    )]
    SeveralDocuments {
        /// Where the second begins.
        #[label("a second document begins here")]
        at: Span,
    },

    /// `? [ a, b ] : 1`
    #[error("found a {found} as a key, expected a name")]
    #[diagnostic(
        code(record::key_not_a_name),
        help("a key is one word before a colon, `cover: 24 in`; `- ` begins an entry of a list")
    )]
    KeyNotAName {
        /// List or mapping.
        found: &'static str,
        /// The key.
        #[label("this is not a name")]
        at: Span,
    },

    /// `{ cover: 24 in, cover: 30 in }`
    #[error("`{key}` is written twice in the same mapping")]
    #[diagnostic(
        code(record::duplicate_key),
        help("keep one; several readings of one fact are a list, `{key}: [ …, … ]`")
    )]
    DuplicateKey {
        /// The key.
        key: String,
        /// Where it stands first.
        #[label("first here")]
        first: Span,
        /// Where it stands again.
        #[label("and again here")]
        again: Span,
    },

    /// `[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[ ]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]`
    #[error("lists and mappings lie more than {most} deep in each other")]
    #[diagnostic(
        code(record::too_deep),
        help("no thing of a record lies that deep: look for a bracket that is not closed")
    )]
    TooDeep {
        /// The limit.
        most: usize,
        /// Where it is passed.
        #[label("too deep here")]
        at: Span,
    },

    /// A file of more than eight million bytes.
    #[error("the file has {bytes} bytes, expected {most} at the most")]
    #[diagnostic(
        code(record::too_large),
        help("a record is of one lot: put each lot in a file of its own")
    )]
    TooLarge {
        /// How many it has.
        bytes: usize,
        /// The limit.
        most: usize,
        /// Its first place.
        #[label("this file")]
        at: Span,
    },

    /// A file of more than half a million values.
    #[error("the file has more than {most} values")]
    #[diagnostic(
        code(record::too_many_values),
        help("a record is of one lot: put each lot in a file of its own")
    )]
    TooManyValues {
        /// The limit.
        most: usize,
        /// Where it is passed.
        #[label("one too many")]
        at: Span,
    },

    /// An empty file.
    #[error("found nothing, expected a record")]
    #[diagnostic(
        code(record::empty),
        help("a record begins with its head: `record: 1`, `lot: …`, `place: …`")
    )]
    Empty {
        /// Its only place.
        #[label("nothing is written here")]
        at: Span,
    },

    // The shape.
    /// `site: 24 in`
    #[error("found {found}, expected {expected}")]
    #[diagnostic(code(record::shape), help("{mend}"))]
    Shape {
        /// A value, a list, a mapping.
        found: &'static str,
        /// What belongs there.
        expected: String,
        /// How to write it.
        mend: String,
        /// What was found.
        #[label("this is {found}")]
        at: Span,
    },

    /// `covr: 24 in`
    #[error("{owner} has nothing called `{key}`")]
    #[diagnostic(code(record::unknown_key), help("{mend}"))]
    UnknownKey {
        /// The key as written.
        key: String,
        /// The thing or the part of the head.
        owner: String,
        /// The nearest name, or what there is.
        mend: String,
        /// The key.
        #[label("not known here")]
        at: Span,
    },

    /// `cover: 24 in` beside `lot`
    #[error("`{key}` does not belong to {owner}")]
    #[diagnostic(code(record::misplaced_key), help("{mend}"))]
    MisplacedKey {
        /// The key.
        key: String,
        /// Where it was written.
        owner: String,
        /// Where it belongs.
        mend: String,
        /// The key.
        #[label("not here")]
        at: Span,
    },

    /// `wells: []`
    #[error("an empty list does not say whether there is nothing of the kind")]
    #[diagnostic(
        code(record::empty_list),
        help("write `{key}: none` if there are none, or leave `{key}` out if nobody looked")
    )]
    EmptyList {
        /// The list.
        key: String,
        /// The brackets.
        #[label("empty")]
        at: Span,
    },

    /// `cover: []`
    #[error("found an empty list of readings for `{key}`")]
    #[diagnostic(
        code(record::no_readings),
        help("leave `{key}` out: what is not there is not recorded")
    )]
    NoReadings {
        /// The fact.
        key: String,
        /// The brackets.
        #[label("empty")]
        at: Span,
    },

    /// `wells: [ more, { id: W-1 } ]`
    #[error("`more` stands before the end of `{key}`")]
    #[diagnostic(
        code(record::more_not_last),
        help("move `more` to the end: it says that there are others after those written")
    )]
    MoreNotLast {
        /// The list.
        key: String,
        /// The word.
        #[label("not the last entry")]
        at: Span,
    },

    /// `wells: [ none ]`
    #[error("`none` stands among the entries of `{key}`")]
    #[diagnostic(
        code(record::none_in_list),
        help("write `{key}: none` if there are none, else take the word away")
    )]
    NoneInList {
        /// The list.
        key: String,
        /// The word.
        #[label("an entry of the list")]
        at: Span,
    },

    /// `[ { id: W-1 }, { id: W-1 } ]`
    #[error("two things have the id `{id}`")]
    #[diagnostic(
        code(record::duplicate_id),
        help("give one of them another: an id is unique in its record")
    )]
    DuplicateId {
        /// The id.
        id: String,
        /// The first thing.
        #[label("first here")]
        first: Span,
        /// The second.
        #[label("and again here")]
        again: Span,
    },

    /// `from: W-9`
    #[error("no thing of this record has the id `{id}`")]
    #[diagnostic(code(record::unknown_reference), help("{mend}"))]
    UnknownReference {
        /// The id.
        id: String,
        /// The nearest one.
        mend: String,
        /// The reference.
        #[label("points at nothing")]
        at: Span,
    },

    // The head.
    /// `lot: VM-07` without a `stage`
    #[error("{owner} lacks `{key}`, {meaning}")]
    #[diagnostic(code(record::missing_head), help("add `{example}`"))]
    MissingHead {
        /// The head, or a variance.
        owner: &'static str,
        /// The key.
        key: &'static str,
        /// What it says.
        meaning: &'static str,
        /// How it is written.
        example: String,
        /// Where the head begins, or the part that lacks it.
        #[label("`{key}` is missing here")]
        at: Span,
    },

    /// `record: 2`
    #[error("found format `{found}`, expected `1`")]
    #[diagnostic(
        code(record::format),
        help("write `record: 1`: this program reads records of format 1")
    )]
    Format {
        /// What was written.
        found: String,
        /// The value.
        #[label("not a format that is known")]
        at: Span,
    },

    /// `stage: befor_cover`
    #[error("`{name}` is not {what}")]
    #[diagnostic(code(record::unknown_name), help("{mend}"))]
    UnknownName {
        /// As written.
        name: String,
        /// A hold point, a kind of permit, a type that has tolerances, a way to read.
        what: &'static str,
        /// The nearest name and those there are.
        mend: String,
        /// The name.
        #[label("not known")]
        at: Span,
    },

    /// `tolerances: { others: 1/4 in }`
    #[error("`others` has no type of its own, so it can only be `exact`")]
    #[diagnostic(
        code(record::others),
        help("write `others: exact`, and a line for each type that is not exact")
    )]
    Others {
        /// The value.
        #[label("expected `exact`")]
        at: Span,
    },

    /// `tolerances: { slope: 1 % }` over a record of lengths
    #[error("the head gives no tolerance for {kind}")]
    #[diagnostic(
        code(record::tolerance_missing),
        help(
            "add `{kind}: {example}`, or `{kind}: exact`: to leave it out would make a reading look surer than it is"
        )
    )]
    ToleranceMissing {
        /// The type.
        kind: String,
        /// A tolerance of that type.
        example: String,
        /// The head's tolerances.
        #[label("nothing here covers {kind}")]
        at: Span,
        /// The first reading that needs it.
        #[label("this reading has none of its own")]
        reading: Span,
    },

    /// `24 in ± -1 in`
    #[error("a tolerance is not negative")]
    #[diagnostic(
        code(record::negative_tolerance),
        help("write how far the reading may be off to either side, or `exact` in the head")
    )]
    NegativeTolerance {
        /// The tolerance.
        #[label("less than nothing")]
        at: Span,
    },

    /// `at: 3 ft ± 1 in`
    #[error("a place along a run is exact, so it takes no tolerance")]
    #[diagnostic(
        code(record::chainage_tolerance),
        help("take the tolerance away: it belongs to what was read at that place")
    )]
    ChainageTolerance {
        /// The tolerance, or the reading with it.
        #[label("exact")]
        at: Span,
    },

    /// `rated_flow: 11 gpm ± 1 gpm`
    #[error("`{key}` is stated, not measured, so it takes no tolerance")]
    #[diagnostic(
        code(record::stated_tolerance),
        help("write the value as it is stated, without `±`")
    )]
    StatedTolerance {
        /// The fact.
        key: String,
        /// The value.
        #[label("stated")]
        at: Span,
    },

    /// An elevation in a record without a `datum`
    #[error("the head lacks `datum`, what the elevations are above")]
    #[diagnostic(
        code(record::datum_missing),
        help("add `datum: …` to the head, such as `datum: benchmark on the hydrant`")
    )]
    DatumMissing {
        /// Where the head begins.
        #[label("`datum` is missing here")]
        at: Span,
        /// The first elevation.
        #[label("this is an elevation")]
        reading: Span,
    },

    /// `plan: { file: ../lot_07.geojson, … }`
    #[error("`{found}` is not the name of a file beside the record")]
    #[diagnostic(
        code(record::plan_file),
        help(
            "write its name from the record's folder, `lot_07.geojson` or `plans/lot_07.geojson`: no `..`, no drive, no folder above"
        )
    )]
    PlanFile {
        /// As written.
        found: String,
        /// The name.
        #[label("leads elsewhere")]
        at: Span,
    },

    // The values.
    /// `cover: 24`
    #[error("`{key}` is {kind}, and {number} has no unit")]
    #[diagnostic(
        code(record::bare_number),
        help("write the unit it was read in, such as `{example}`: units are never guessed")
    )]
    BareNumber {
        /// The fact.
        key: String,
        /// Its type, with its article.
        kind: String,
        /// The number as written.
        number: String,
        /// It with a unit of that type.
        example: String,
        /// The number.
        #[label("which unit?")]
        at: Span,
    },

    /// `fall: 1:48`
    #[error(
        "`{found}` can be read in opposite senses: drains say fall first, trench walls say run first"
    )]
    #[diagnostic(
        code(record::slope_as_ratio),
        help("write a slope with its unit, such as `1/4 in/ft`, `20 mm/m` or `2 %`")
    )]
    SlopeAsRatio {
        /// As written.
        found: String,
        /// The value.
        #[label("which way round?")]
        at: Span,
    },

    /// `cover: 24 V`
    #[error("found {found}, expected {expected}")]
    #[diagnostic(
        code(record::dimension),
        help("`{key}` is written with a unit such as `{unit}`")
    )]
    Dimension {
        /// The fact, or the key of the head.
        key: String,
        /// What was written.
        found: String,
        /// What belongs there.
        expected: String,
        /// A unit of that type.
        unit: String,
        /// The value.
        #[label("this is {found}")]
        at: Span,
    },

    /// `cover: about two feet`
    #[error("`{key}` is {expected}, but {why}")]
    #[diagnostic(code(record::quantity), help("{mend}"))]
    Quantity {
        /// The fact, or the key of the head.
        key: String,
        /// The type, with its article.
        expected: String,
        /// What is wrong with what was written.
        why: String,
        /// What belongs at that place.
        awaited: &'static str,
        /// How to mend it.
        mend: String,
        /// The part that can't be read.
        #[label("expected {awaited}")]
        at: Span,
    },

    /// `wiring: pvc_45`
    #[error("`{found}` is not one of the labels of `{scale}`")]
    #[diagnostic(code(record::unknown_label), help("{mend}"))]
    UnknownLabel {
        /// As written.
        found: String,
        /// The choice or the size.
        scale: String,
        /// The nearest labels.
        mend: String,
        /// The value.
        #[label("not a label of `{scale}`")]
        at: Span,
    },

    /// `cleanout: true`
    #[error("found `{found}`, expected `yes` or `no`")]
    #[diagnostic(code(record::yes_or_no), help("write `{key}: yes` or `{key}: no`"))]
    YesOrNo {
        /// The fact.
        key: String,
        /// As written.
        found: String,
        /// The value.
        #[label("neither `yes` nor `no`")]
        at: Span,
    },

    /// `date: 2026-02-30`
    #[error("`{found}` is not a date")]
    #[diagnostic(
        code(record::date),
        help("write year, month and day of a day that exists, such as `2026-04-18`")
    )]
    Date {
        /// As written.
        found: String,
        /// The value.
        #[label("not a date")]
        at: Span,
    },

    /// `id: ""`
    #[error("`{key}` is an empty text")]
    #[diagnostic(
        code(record::empty_text),
        help("leave `{key}` out if there is nothing to say: what is not there is not recorded")
    )]
    EmptyText {
        /// The key.
        key: String,
        /// The quotes.
        #[label("empty")]
        at: Span,
    },

    /// `cover: { by: R. Ames }`
    #[error("the long form of `{key}` lacks `reads`, the value that was read")]
    #[diagnostic(
        code(record::reads_missing),
        help(
            "write `{key}: {{ reads: …, how: measured }}`, or leave `{key}` out if nothing was read"
        )
    )]
    ReadsMissing {
        /// The fact.
        key: String,
        /// The mapping.
        #[label("`reads` is missing here")]
        at: Span,
    },

    /// A mistake beyond the sixty thousandth column of a line.
    #[error("{message} (byte {column} of a line too long to show)")]
    #[diagnostic(
        code(record::long_line),
        help("{mend}; break the line to see the place")
    )]
    LongLine {
        /// What the mistake says.
        message: String,
        /// How it is mended.
        mend: String,
        /// How far along the line it stands.
        column: usize,
        /// Where the line begins.
        #[label("in this line")]
        at: Span,
    },

    /// More than fifty mistakes.
    #[error("and {count} more mistakes after these")]
    #[diagnostic(
        code(record::more_mistakes),
        help("mend those above first: one mistake often makes others")
    )]
    MoreMistakes {
        /// How many.
        count: usize,
        /// The first that is not told.
        #[label("the next one is here")]
        at: Span,
    },
}

/// The mistakes of one file as they are found.
#[derive(Debug, Default)]
pub struct Mistakes {
    found: Vec<(Span, RecordError)>,
}

impl Mistakes {
    /// Keeps a mistake and where it stands.
    pub fn add(&mut self, at: Span, error: RecordError) {
        self.found.push((at, error));
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.found.is_empty()
    }

    /// The mistakes in the order of their places, no more than are told.
    pub fn told(mut self, sources: &Sources) -> Vec<Located<RecordError>> {
        self.found.sort_by_key(|(at, _)| *at);
        let left = self.found.len().saturating_sub(MOST_TOLD);
        let next = self.found.get(MOST_TOLD).map(|(at, _)| *at);
        self.found.truncate(MOST_TOLD);
        if let Some(at) = next {
            let more = RecordError::MoreMistakes { count: left, at };
            self.found.push((at, more));
        }
        self.found
            .into_iter()
            .map(|(at, error)| Located {
                source: at.source,
                error: shown(error, at, sources),
            })
            .collect()
    }
}

/// The mistake itself, unless it stands too far along its line.
fn shown(error: RecordError, at: Span, sources: &Sources) -> RecordError {
    long_line(&error, at, sources).unwrap_or(error)
}

/// What is told of a mistake that stands too far along its line to be shown there.
pub(super) fn long_line(
    error: &dyn Diagnostic,
    at: Span,
    sources: &Sources,
) -> Option<RecordError> {
    let text = &*sources.get(at.source).text;
    let column = |offset: usize| {
        let before = &text[..offset.min(text.len())];
        offset - before.rfind('\n').map_or(0, |newline| newline + 1)
    };
    let ends = |label: miette::LabeledSpan| column(label.offset() + label.len());
    let farthest = error.labels().into_iter().flatten().map(ends).max();
    if farthest.is_none_or(|farthest| farthest <= MOST_COLUMNS) {
        return None;
    }
    let column = column(at.start as usize);
    let start = at.start - u32::try_from(column).unwrap_or(at.start);
    Some(RecordError::LongLine {
        message: error.to_string(),
        mend: error.help().map_or(String::new(), |help| help.to_string()),
        column: column + 1,
        at: Span {
            start,
            end: start,
            ..at
        },
    })
}
