//! Rules that read well but can't mean anything.

use miette::Diagnostic;
use thiserror::Error;

use crate::quantity::QuantityError;
use crate::source::Span;

/// A mistake in a rule file that its grammar doesn't see.
#[derive(Debug, Clone, Error, Diagnostic)]
pub enum CheckError {
    /// `shall span.covr is at least 24 in`
    #[error("{thing} has no fact `{name}`")]
    #[diagnostic(code(check::unknown_fact))]
    UnknownFact {
        /// The thing.
        thing: String,
        /// What was written.
        name: String,
        /// Where.
        #[label("not recorded of any {thing}")]
        at: Span,
        /// The mend.
        #[help]
        help: String,
    },
    /// `shall handl_height is at most 2 m`
    #[error("`{name}` is not known here")]
    #[diagnostic(code(check::unknown_name))]
    UnknownName {
        /// What was written.
        name: String,
        /// Where.
        #[label("expected {expected}")]
        at: Span,
        /// What could stand here.
        expected: String,
        /// The mend.
        #[help]
        help: String,
    },
    /// `when span.location is garden`
    #[error("`{label}` is no label of {scale}")]
    #[diagnostic(code(check::unknown_label))]
    UnknownLabel {
        /// What was written.
        label: String,
        /// The choice or size.
        scale: String,
        /// Where.
        #[label("not one of {scale}")]
        at: Span,
        /// The mend.
        #[help]
        help: String,
    },
    /// `shall span.cover is at least 24 inn`
    #[error("{error}")]
    #[diagnostic(code(check::quantity))]
    Quantity {
        /// What is wrong with it.
        error: QuantityError,
        /// Where.
        #[label("{found}")]
        at: Span,
        /// What was found.
        found: String,
        /// The mend.
        #[help]
        help: String,
    },
    /// `span.cover in feets`
    #[error("`{name}` is not a unit known here")]
    #[diagnostic(code(check::unknown_unit))]
    UnknownUnit {
        /// What was written.
        name: String,
        /// Where.
        #[label("expected a unit")]
        at: Span,
        /// The mend.
        #[help]
        help: String,
    },
    /// `shall span.cover is at least 3 psi`
    #[error("can't {verb} {left} and {right}")]
    #[diagnostic(code(check::dimension_mismatch))]
    DimensionMismatch {
        /// `compare`, `add`, `subtract`.
        verb: &'static str,
        /// The type of the left side.
        left: String,
        /// Where it stands.
        #[label("this is {left}")]
        left_at: Span,
        /// The type of the right side.
        right: String,
        /// Where it stands.
        #[label("this is {right}")]
        right_at: Span,
        /// The mend.
        #[help]
        help: String,
    },
    /// `shall a.invert + b.invert is at least …`
    #[error("two {kind}s can't be added")]
    #[diagnostic(
        code(check::sum_of_points),
        help("the difference of two {kind}s is {difference}; add that to one of them")
    )]
    SumOfPoints {
        /// Which points.
        kind: String,
        /// What their difference is.
        difference: String,
        /// The left one.
        #[label("{kind}")]
        left_at: Span,
        /// The right one.
        #[label("{kind}")]
        right_at: Span,
    },
    /// `shall span.cover` where a condition is due, or a label where a length is.
    #[error("expected {expected}, found {found}")]
    #[diagnostic(code(check::expected))]
    Expected {
        /// What is due.
        expected: String,
        /// What stands there.
        found: String,
        /// Where.
        #[label("this is {found}")]
        at: Span,
        /// The mend.
        #[help]
        help: String,
    },
    /// `limit fall : slope = 0.02`
    #[error("a slope is written with its unit")]
    #[diagnostic(
        code(check::bare_slope),
        help(
            "write `1/4 in/ft`, `20 mm/m` or `2 %`; a ratio such as 1:48 is read in opposite senses by different trades"
        )
    )]
    BareSlope {
        /// Where.
        #[label("a bare number")]
        at: Span,
    },
    /// `limit cover : length = 24`
    #[error("{expected} needs its unit")]
    #[diagnostic(
        code(check::bare_number),
        help("write `{written} {unit}`, if that is what is meant")
    )]
    BareNumber {
        /// What is due.
        expected: String,
        /// As written.
        written: String,
        /// A unit of that dimension.
        unit: String,
        /// Where.
        #[label("a bare number")]
        at: Span,
    },
    /// `minimum_fall(a, b)` of a table with one key
    #[error("`{name}` takes {expected} value{}, found {found}", if *.expected == 1 { "" } else { "s" })]
    #[diagnostic(
        code(check::argument_count),
        help("one for each of its parameters, in this order: {parameters}")
    )]
    ArgumentCount {
        /// What is called.
        name: String,
        /// How many it takes.
        expected: usize,
        /// How many it is given.
        found: usize,
        /// Its parameters.
        parameters: String,
        /// Where.
        #[label("{found} given")]
        at: Span,
    },
    /// `a ^ 1/2` of a length
    #[error("{base} can't be raised to {exponent}")]
    #[diagnostic(
        code(check::power),
        help(
            "a quantity can be raised to a whole number, or its root taken; other powers are of plain numbers: write `(x in ft) ^ 1.85`"
        )
    )]
    Power {
        /// The type of what is raised.
        base: String,
        /// To what.
        exponent: String,
        /// Where.
        #[label("{base}")]
        at: Span,
    },
    /// Two limits of one name
    #[error("`{name}` is declared twice")]
    #[diagnostic(code(check::declared_twice), help("rename one of them{elsewhere}"))]
    DeclaredTwice {
        /// The name.
        name: String,
        /// The later one.
        #[label("declared again here")]
        at: Span,
        /// The earlier one, where it stands in the same file.
        #[label("first declared here")]
        first: Option<Span>,
        /// Where the earlier one stands otherwise.
        elsewhere: String,
    },
    /// `rule cover { … }` in a file without a topic
    #[error("{item} outside a topic")]
    #[diagnostic(
        code(check::no_topic),
        help("begin the file with `topic NAME \"what it is about\" permit KIND`")
    )]
    NoTopic {
        /// What stands there.
        item: &'static str,
        /// Where.
        #[label("belongs to no topic")]
        at: Span,
    },
    /// `topic a … topic b …` in one file
    #[error("a second topic in one file")]
    #[diagnostic(code(check::second_topic), help("give it a file of its own"))]
    SecondTopic {
        /// The second.
        #[label("the second")]
        at: Span,
        /// The first.
        #[label("the first")]
        first: Span,
    },
    /// `rule cover { shall … }` without a title
    #[error("rule `{rule}` has no {clause}")]
    #[diagnostic(code(check::clause_missing), help("add a line such as `{example}`"))]
    ClauseMissing {
        /// The rule.
        rule: String,
        /// What it lacks.
        clause: &'static str,
        /// How it is written.
        example: &'static str,
        /// Where the rule stands.
        #[label("this rule")]
        at: Span,
    },
    /// `hold a hold b` in one rule
    #[error("a rule has one {clause}, and this one has two")]
    #[diagnostic(code(check::clause_twice), help("{help}"))]
    ClauseTwice {
        /// Which clause.
        clause: &'static str,
        /// The second.
        #[label("the second")]
        at: Span,
        /// The first.
        #[label("the first")]
        first: Span,
        /// The mend.
        help: &'static str,
    },
    /// `each` behind the obligation
    #[error("`each` and `when` stand before what they lead to")]
    #[diagnostic(
        code(check::head_after_obligation),
        help("move this line above the `shall`, `should`, `refer` or `precaution`")
    )]
    HeadAfterObligation {
        /// The late clause.
        #[label("too late here")]
        at: Span,
    },
    /// A limit, table or source without `cite`
    #[error("{what} `{name}` has no citation")]
    #[diagnostic(
        code(check::no_citation),
        help("add `cite SOURCE \"section\"`; a value of the trade cites `common_practice`")
    )]
    NoCitation {
        /// A rule, a limit, a table.
        what: &'static str,
        /// Its name.
        name: String,
        /// Where.
        #[label("where does this come from?")]
        at: Span,
    },
    /// A limit that no rule reads
    #[error("{what} `{name}` is never used")]
    #[diagnostic(code(check::never_used), help("use it in a rule, or take it out"))]
    NeverUsed {
        /// A limit, a table, a define.
        what: &'static str,
        /// Its name.
        name: String,
        /// Where.
        #[label("no rule reads this")]
        at: Span,
    },
    /// `define a () gives number = a()`
    #[error("`{name}` is defined by itself")]
    #[diagnostic(code(check::defined_by_itself), help("the way round: {chain}"))]
    DefinedByItself {
        /// Its name.
        name: String,
        /// Through what.
        chain: String,
        /// Where.
        #[label("comes back to itself")]
        at: Span,
    },
    /// `define d65 (…) gives number = d64(…)`, and so on down to `d0`
    #[error("`{name}` has more than {most} formulas behind each other")]
    #[diagnostic(
        code(check::too_many_calls),
        help("write some of them out, so that fewer stand behind each other")
    )]
    TooManyCalls {
        /// Its name.
        name: String,
        /// How many there may be.
        most: usize,
        /// Where.
        #[label("too far from what it is made of")]
        at: Span,
    },
    /// Twenty tables of a hundred thousand cells
    #[error(
        "with `{table}`, the tables of this library, and what is amended in them, have more than {most} values"
    )]
    #[diagnostic(
        code(check::too_many_cells),
        help("give it fewer keys, or keys with fewer labels")
    )]
    TooManyCells {
        /// The table.
        table: String,
        /// How many there may be.
        most: usize,
        /// Where.
        #[label("one too many")]
        at: Span,
    },
    /// `table t (size: pipe_size) … { 3 in : … }` and nothing for 4 in
    #[error("table `{table}` has no row for {missing}")]
    #[diagnostic(
        code(check::table_gap),
        help("each combination stands in exactly one row; a row may say `no value`")
    )]
    TableGap {
        /// The table.
        table: String,
        /// The first combinations that are missing.
        missing: String,
        /// Where.
        #[label("not complete")]
        at: Span,
    },
    /// Two rows for 4 in
    #[error("table `{table}` has two rows for {both}")]
    #[diagnostic(
        code(check::table_overlap),
        help("each combination stands in exactly one row")
    )]
    TableOverlap {
        /// The table.
        table: String,
        /// The combination.
        both: String,
        /// The later row.
        #[label("again here")]
        at: Span,
        /// The earlier row.
        #[label("already here")]
        first: Span,
    },
    /// `up to 4 in` where the key is a choice
    #[error("{found} can't be a key of {kind}")]
    #[diagnostic(code(check::key_form), help("{help}"))]
    KeyForm {
        /// What stands there.
        found: String,
        /// The type of the key.
        kind: String,
        /// Where.
        #[label("as a key of {kind}")]
        at: Span,
        /// The mend.
        help: &'static str,
    },
    /// `6 in to 3 in`
    #[error("a range runs from the smaller to the larger")]
    #[diagnostic(code(check::key_reversed), help("turn it round"))]
    KeyReversed {
        /// Where.
        #[label("runs backwards")]
        at: Span,
    },
    /// `when` with a limit that the place sets
    #[error("limit `{name}` is set by the place, so it can't decide whether a rule applies")]
    #[diagnostic(
        code(check::unset_in_when),
        help("give it a value in the model, or move the comparison to the obligation")
    )]
    UnsetInWhen {
        /// The limit.
        name: String,
        /// Where.
        #[label("may have no value here")]
        at: Span,
    },
    /// `shall f + 1 % is at least fall_of_4_in` where the limit has equivalents
    #[error(
        "limit `{name}` has equivalents, so it stands alone on one side of a comparison in `shall` or `should`, under no `not`"
    )]
    #[diagnostic(
        code(check::equivalents_not_alone),
        help("compare with the limit itself, or give it one value")
    )]
    EquivalentsNotAlone {
        /// The limit.
        name: String,
        /// Where.
        #[label("doesn't stand alone")]
        at: Span,
    },
    /// A rule of more than ten thousand steps
    #[error("rule `{rule}` takes {nodes} steps with its defines written out; the most is {most}")]
    #[diagnostic(code(check::too_costly), help("split it, or simplify what it defines"))]
    TooCostly {
        /// The rule.
        rule: String,
        /// How many.
        nodes: usize,
        /// How many it may have.
        most: usize,
        /// Where.
        #[label("too much")]
        at: Span,
    },
    /// A thousand rules of thousands of steps
    #[error(
        "with `{rule}`, the rules of this library take more than {most} steps, their defines written out"
    )]
    #[diagnostic(
        code(check::too_costly_together),
        help("simplify the defines that most rules use")
    )]
    TooCostlyTogether {
        /// The rule.
        rule: String,
        /// How many they may take.
        most: usize,
        /// Where.
        #[label("one too many")]
        at: Span,
    },
    /// Four `each` within each other
    #[error("rule `{rule}` goes through {depth} lists within each other; the most is {most}")]
    #[diagnostic(code(check::too_nested), help("split it into rules of their own"))]
    TooNested {
        /// The rule.
        rule: String,
        /// How many.
        depth: usize,
        /// How many it may have.
        most: usize,
        /// Where.
        #[label("too deep")]
        at: Span,
    },
    /// `shall` in a topic of `permit none`
    #[error("a topic of `permit none` holds precautions only")]
    #[diagnostic(
        code(check::not_a_precaution),
        help("move rule `{rule}` to a topic whose permit selects it")
    )]
    NotAPrecaution {
        /// The rule.
        rule: String,
        /// Its obligation.
        #[label("not a precaution")]
        at: Span,
    },
    /// A source without a title
    #[error("source `{name}` has no {clause}")]
    #[diagnostic(code(check::source_clause), help("{help}"))]
    SourceClause {
        /// The source.
        name: String,
        /// What is missing or wrong.
        clause: &'static str,
        /// The mend.
        help: String,
        /// Where.
        #[label("this source")]
        at: Span,
    },
    /// `adopt cable_burial` outside `jurisdictions/`
    #[error("`{statement}` belongs in a place")]
    #[diagnostic(
        code(check::statement_outside_place),
        help(
            "a place is a folder of `jurisdictions/` with a file that holds `place \"…\" {{ … }}`; write it there"
        )
    )]
    StatementOutsidePlace {
        /// What stands there.
        statement: &'static str,
        /// Where.
        #[label("not in a place")]
        at: Span,
    },
    /// A second `place` in one folder
    #[error("two places in the folder `{folder}`")]
    #[diagnostic(
        code(check::second_place),
        help("a place is a folder; give this one a folder of its own")
    )]
    SecondPlace {
        /// The folder.
        folder: String,
        /// The second.
        #[label("the second")]
        at: Span,
    },
    /// `adopt cable_burial` without `from`
    #[error("this statement has no `{clause}`")]
    #[diagnostic(code(check::statement_clause), help("{help}"))]
    StatementClause {
        /// What it lacks.
        clause: &'static str,
        /// The mend.
        help: &'static str,
        /// Where.
        #[label("lacks `{clause}`")]
        at: Span,
    },
    /// `from 2025-02-30`
    #[error("`{written}` is not a date")]
    #[diagnostic(
        code(check::date),
        help("dates are written as year-month-day: `2026-03-19`")
    )]
    Date {
        /// As written.
        written: String,
        /// Where.
        #[label("no such day")]
        at: Span,
    },
    /// `from 2026-01-01 until 2025-01-01`
    #[error("this ends before it begins")]
    #[diagnostic(
        code(check::until_before_from),
        help("`until` is the first date on which it no longer holds, so it lies after `from`")
    )]
    UntilBeforeFrom {
        /// Where.
        #[label("not after `from`")]
        at: Span,
    },
    /// Two amendments of one limit in one place from one date
    #[error("two statements of this place on {target} begin on the same date")]
    #[diagnostic(
        code(check::tie),
        help("which of them holds can't be told; take one out or date it otherwise{elsewhere}")
    )]
    Tie {
        /// What both are about.
        target: String,
        /// The later one in the text.
        #[label("and this one")]
        at: Span,
        /// The other, where it stands in the same file.
        #[label("this one")]
        first: Option<Span>,
        /// Where the other stands otherwise.
        elsewhere: String,
    },
    /// `set` of a limit that has a value
    #[error("limit `{name}` has a value already")]
    #[diagnostic(
        code(check::set_of_valued),
        help("change it with `amend {name} : {value} becomes …`")
    )]
    SetOfValued {
        /// The limit.
        name: String,
        /// Its value.
        value: String,
        /// Where.
        #[label("not left open")]
        at: Span,
    },
    /// `strike rule` of a precaution
    #[error("`{rule}` is a precaution, and no place can strike or replace one")]
    #[diagnostic(
        code(check::precaution_struck),
        help("worker safety is the safety regulation's; add a stricter precaution instead")
    )]
    PrecautionStruck {
        /// The rule.
        rule: String,
        /// Where.
        #[label("a precaution")]
        at: Span,
    },
    /// Anything else that a place says of what is not there.
    #[error("{message}")]
    #[diagnostic(code(check::place))]
    Place {
        /// What is wrong.
        message: String,
        /// Where.
        #[label("{label}")]
        at: Span,
        /// The label.
        label: String,
        /// The mend.
        #[help]
        help: String,
    },
}
