//! What can be wrong with a vocabulary that reads well.

use miette::Diagnostic;
use thiserror::Error;

use crate::source::Span;

/// A vocabulary that reads well but can't be used.
#[derive(Debug, Clone, PartialEq, Error, Diagnostic)]
pub enum VocabularyError {
    /// No `holds { … }` in any file.
    #[error("no file declares the hold points")]
    #[diagnostic(
        code(vocabulary::no_holds),
        help(
            "declare them once, in the order of the work: holds {{ before_cover \"Before the trench is closed\" … }}"
        )
    )]
    NoHolds,
    /// No `permits { … }` in any file.
    #[error("no file declares the kinds of permit")]
    #[diagnostic(
        code(vocabulary::no_permits),
        help("declare them once: permits {{ plumbing \"Plumbing permit\" … }}")
    )]
    NoPermits,
    /// `thing well "…" { … }` and `thing well "…" { … }`
    #[error("{what} `{name}` is declared twice")]
    #[diagnostic(
        code(vocabulary::declared_twice),
        help("give one of them another name, or delete it")
    )]
    DeclaredTwice {
        /// What it is.
        what: &'static str,
        /// Its name.
        name: String,
        /// The second place.
        #[label("and again here")]
        again: Span,
        /// The first place.
        #[label("declared here")]
        first: Span,
    },
    /// The same with each in a file of its own; said once in either file.
    #[error("{what} `{name}` is declared twice, in two files")]
    #[diagnostic(
        code(vocabulary::declared_in_two_files),
        help("give one of them another name, or delete it")
    )]
    DeclaredInTwoFiles {
        /// What it is.
        what: &'static str,
        /// Its name.
        name: String,
        /// The place in this file.
        #[label("one of the two")]
        at: Span,
    },
    /// `thing lateral "…" run { length : length … }`
    #[error("`{thing}` has a `{member}` already, as every {form} has")]
    #[diagnostic(
        code(vocabulary::implied_member),
        help("delete this line, or give the fact another name")
    )]
    ImpliedMember {
        /// The thing.
        thing: String,
        /// Its member.
        member: &'static str,
        /// `run`, `stretch` or `point`.
        form: &'static str,
        /// Where it is declared once more.
        #[label("declared once more here")]
        at: Span,
    },
    /// `cover : lenght …`
    #[error("there is no type `{name}`")]
    #[diagnostic(code(vocabulary::unknown_type))]
    UnknownType {
        /// The name.
        name: String,
        /// Its place.
        #[label("not a type, a choice or a size")]
        at: Span,
        /// How to mend it.
        #[help]
        help: String,
    },
    /// `frost : well …`, where `well` is a thing
    #[error("a fact can't be a thing, and `{name}` is one")]
    #[diagnostic(
        code(vocabulary::thing_as_fact),
        help(
            "write a list, `list … of {name} \"…\"`; or a `reference`, the `id` of one that stands elsewhere"
        )
    )]
    ThingAsFact {
        /// The thing.
        name: String,
        /// Its place.
        #[label("this is a thing")]
        at: Span,
    },
    /// `extend sight { … }`, `list wells of wel "…"`
    #[error("there is no thing `{name}`")]
    #[diagnostic(code(vocabulary::unknown_thing))]
    UnknownThing {
        /// The name.
        name: String,
        /// Its place.
        #[label("not a thing")]
        at: Span,
        /// How to mend it.
        #[help]
        help: String,
    },
    /// `until before_covre`
    #[error("there is no hold point `{name}`")]
    #[diagnostic(code(vocabulary::unknown_hold))]
    UnknownHold {
        /// The name.
        name: String,
        /// Its place.
        #[label("not a hold point")]
        at: Span,
        /// How to mend it.
        #[help]
        help: String,
    },
    /// `thing panel "…" for electrican { … }`
    #[error("there is no person `{name}`")]
    #[diagnostic(code(vocabulary::unknown_person))]
    UnknownPerson {
        /// The name.
        name: String,
        /// Its place.
        #[label("not one of the people")]
        at: Span,
        /// How to mend it.
        #[help]
        help: String,
    },
    /// `size pipe_size "…" { 2 in 2 in or DN 50 }`
    #[error("`{label}` stands twice in `{scale}`")]
    #[diagnostic(
        code(vocabulary::label_twice),
        help("a label has one place: delete one of the two")
    )]
    LabelTwice {
        /// The label.
        label: String,
        /// The choice or size.
        scale: String,
        /// The second place.
        #[label("and again here")]
        again: Span,
        /// The first place.
        #[label("stands here")]
        first: Span,
    },
    /// `thing length "…" { … }`, `id : text …`, `list permits of permit "…"`
    #[error("`{name}` can't be the name of {what}: {reason}")]
    #[diagnostic(code(vocabulary::reserved_name), help("choose another name"))]
    ReservedName {
        /// The name.
        name: String,
        /// What it would name.
        what: &'static str,
        /// Why it is taken.
        reason: &'static str,
        /// Its place.
        #[label("taken")]
        at: Span,
    },
    /// `thing site "…" { … }`
    #[error("the thing `site` is there without being declared")]
    #[diagnostic(
        code(vocabulary::site_declared),
        help(
            "add facts to it with `extend site {{ … }}`, lists with `list … of … \"…\"` at the left margin"
        )
    )]
    SiteDeclared {
        /// Its place.
        #[label("declared here")]
        at: Span,
    },
    /// `thing visit "…" { list visits of visit "…" }`
    #[error("`{thing}` would contain itself: {way}")]
    #[diagnostic(
        code(vocabulary::contains_itself),
        help("take this list out, or name the other thing by a `reference`, which is its `id`")
    )]
    ContainsItself {
        /// The thing.
        thing: String,
        /// The way round, `a contains b, which contains a`.
        way: String,
        /// The list that closes the circle.
        #[label("this list closes the circle")]
        at: Span,
    },
    /// `between 0 psi and 20 ft`, `gap fifty`
    #[error("`{text}` can't be read: {reason}")]
    #[diagnostic(code(vocabulary::unreadable_quantity))]
    UnreadableQuantity {
        /// As written.
        text: String,
        /// What is wrong with it.
        reason: String,
        /// Its place.
        #[label("not a quantity")]
        at: Span,
        /// How to mend it.
        #[help]
        help: String,
    },
    /// `cover : length … between 0 psi and 20 psi`
    #[error("`{text}` is {found}, and {wanted} is expected")]
    #[diagnostic(code(vocabulary::wrong_dimension))]
    WrongDimension {
        /// As written.
        text: String,
        /// What it is.
        found: String,
        /// What was expected.
        wanted: String,
        /// Its place.
        #[label("this is {found}")]
        at: Span,
        /// How to mend it.
        #[help]
        help: String,
    },
    /// `lined : yes_no … between 0 and 1`
    #[error("a fact of type {kind} has no range")]
    #[diagnostic(
        code(vocabulary::no_range),
        help(
            "delete `between`: only quantities, plain numbers, slopes and chainages have a range"
        )
    )]
    NoRange {
        /// The type.
        kind: String,
        /// The range.
        #[label("this range")]
        at: Span,
    },
    /// `between 20 ft and 0 in`
    #[error("a range from {from} to {to} holds nothing")]
    #[diagnostic(
        code(vocabulary::reversed_range),
        help("write the lesser end first: between {to} and {from}")
    )]
    ReversedRange {
        /// The first end.
        from: String,
        /// The second.
        to: String,
        /// Both.
        #[label("the second end is the lesser")]
        at: Span,
    },
    /// `thing lateral "…" run gap 0 ft { … }`
    #[error("a gap of {text} leaves no room between shots")]
    #[diagnostic(
        code(vocabulary::gap_not_positive),
        help("write a length above zero, or leave `gap` out where no gap is too wide")
    )]
    GapNotPositive {
        /// As written.
        text: String,
        /// Its place.
        #[label("not above zero")]
        at: Span,
    },
    /// `cover : length measured "…" then "pothole"`
    #[error("`then` says what replaces the fact afterwards, but no `until` says after what")]
    #[diagnostic(
        code(vocabulary::then_without_until),
        help(
            "write `until HOLD` before it: the last hold point at which the fact can still be seen"
        )
    )]
    ThenWithoutUntil {
        /// What `then` says.
        #[label("after which hold point?")]
        at: Span,
    },
    /// `survey cover (run: lateral or length) gives length "…"`
    #[error("`{parameter}` takes several things or one type, not both")]
    #[diagnostic(
        code(vocabulary::mixed_parameter),
        help("join only names of things with `or`")
    )]
    MixedParameter {
        /// The parameter.
        parameter: String,
        /// The type among the things.
        #[label("this is a type")]
        at: Span,
    },
    /// More than 65,535 of one kind.
    #[error("too many {what}: at most 65,535 can be kept apart")]
    #[diagnostic(code(vocabulary::too_many), help("leave out what no rule needs"))]
    TooMany {
        /// Of what.
        what: &'static str,
    },
}

/// What to say of an unknown name: the nearest that there is, or where to look.
pub(super) fn nearest_or<'a>(
    name: &str,
    known: impl Iterator<Item = &'a str>,
    otherwise: &str,
) -> String {
    match nearest(name, known) {
        Some(near) => format!("did you mean `{near}`?"),
        None => otherwise.into(),
    }
}

/// The name most like `name`, if any is like it at all; of equally near ones the first.
fn nearest<'a>(name: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    // Two slips in a word of six or so; fewer in a shorter one.
    let furthest = (name.chars().count() / 3).clamp(1, 3);
    known
        .map(|candidate| (strsim::osa_distance(name, candidate), candidate))
        .filter(|(distance, _)| *distance <= furthest)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}
