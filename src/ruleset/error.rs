//! What keeps a text from being read as a published ruleset.

use miette::Diagnostic;
use thiserror::Error;

use crate::source::Span;

/// A ruleset file that can't be used, and where.
#[derive(Debug, Clone, PartialEq, Eq, Error, Diagnostic)]
pub enum RulesetError {
    /// `{ "rules": … }`, or no JSON at all
    #[error("this is not a ruleset: {reason}")]
    #[diagnostic(
        code(ruleset::form),
        help(
            "a ruleset is what `groundrule publish` writes: {{ \"ruleset\": 1, \"place\": \"…\", \"texts\": {{ \"rules/….rules\": [ \"a line\", … ], … }} }}, its keys in this order; fetch it again from whoever publishes it"
        )
    )]
    Form {
        /// What was found and expected.
        reason: String,
        /// Where.
        #[label("here")]
        at: Span,
    },
    /// `"ruleset": 2`
    #[error("this is a ruleset of form {found}; this program reads form 1")]
    #[diagnostic(
        code(ruleset::version),
        help("use a later version of the program, or an edition of the ruleset in form 1")
    )]
    Version {
        /// The number given.
        found: u64,
        /// Where.
        #[label("form {found}")]
        at: Span,
    },
    /// `"place": "../elsewhere"`
    #[error("`{place}` is not the name of a place: {why}")]
    #[diagnostic(
        code(ruleset::place),
        help("a place is named by its path in `jurisdictions/`: state/county/town")
    )]
    Place {
        /// The name, made safe to show.
        place: String,
        /// What is wrong with it.
        why: String,
        /// Where.
        #[label("this place")]
        at: Span,
    },
    /// `"rules/../../etc/passwd": […]`
    #[error("a text may not be called `{name}`: {why}")]
    #[diagnostic(
        code(ruleset::name),
        help(
            "texts are called as they lie in a library: `rules/vents.rules`, `jurisdictions/state/town/place.rules`; don't use a ruleset with such a name, and tell whoever publishes it"
        )
    )]
    Name {
        /// The name, made safe to show.
        name: String,
        /// What is wrong with it.
        why: String,
        /// Where.
        #[label("this name")]
        at: Span,
    },
    /// Two texts of one name
    #[error("two texts are called `{name}`")]
    #[diagnostic(
        code(ruleset::name_twice),
        help("each text has a name of its own; fetch the ruleset again from whoever publishes it")
    )]
    NameTwice {
        /// The name.
        name: String,
        /// Where it stands again.
        #[label("again here")]
        at: Span,
    },
    /// A text of a town beside the place
    #[error("`{name}` belongs neither to {place} nor to a place around it")]
    #[diagnostic(
        code(ruleset::elsewhere),
        help("a ruleset speaks for one place: publish the other place by itself")
    )]
    Elsewhere {
        /// The name.
        name: String,
        /// The ruleset's place.
        place: String,
        /// Where.
        #[label("another place's text")]
        at: Span,
    },
    /// More texts than a ruleset can have
    #[error("this ruleset has more than {most} texts")]
    #[diagnostic(
        code(ruleset::too_many),
        help("a ruleset holds one place's rules; take a smaller one")
    )]
    TooMany {
        /// How many it may have.
        most: usize,
        /// Where the first too many stands.
        #[label("one too many")]
        at: Span,
    },
    /// More bytes than a ruleset can have
    #[error("this ruleset is larger than {most_mib} MiB")]
    #[diagnostic(
        code(ruleset::too_large),
        help("a ruleset holds one place's rules; take a smaller one")
    )]
    TooLarge {
        /// How large it may be.
        most_mib: usize,
    },
    /// A line of `editions` that says nothing
    #[error("this line names no superseded edition: {reason}")]
    #[diagnostic(
        code(ruleset::editions),
        help(
            "write: edition DIGEST until 2026-07-01 by \"what took its stead\", with the digest of 64 characters that was published; `#` begins a comment"
        )
    )]
    Editions {
        /// What was found.
        reason: String,
        /// Where.
        #[label("this line")]
        at: Span,
    },
}
