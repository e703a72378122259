//! What can be wrong between the declared survey functions and what this program can compute.

use miette::Diagnostic;
use thiserror::Error;

use crate::source::Span;

/// A survey function that can't be computed from this vocabulary.
#[derive(Debug, Clone, PartialEq, Eq, Error, Diagnostic)]
pub enum SurveyError {
    /// `survey least_fal (…) …`
    #[error("nothing here computes a survey function `{name}`")]
    #[diagnostic(code(survey::unknown_function))]
    UnknownFunction {
        /// Its name.
        name: String,
        /// Its place.
        #[label("declared here")]
        at: Span,
        /// How to mend it.
        #[help]
        help: String,
    },
    /// `survey least_fall (run: lateral, size: pipe_size) gives length "…"`
    #[error("`{name}` is computed as {wanted}")]
    #[diagnostic(code(survey::other_form), help("declare it so, or take it out"))]
    OtherForm {
        /// Its name.
        name: String,
        /// How it is computed.
        wanted: &'static str,
        /// Its place.
        #[label("declared otherwise")]
        at: Span,
    },
    /// `survey least_fall (run: station) gives slope "…"`
    #[error("`{name}` can't be computed of {thing}: it has no {lacks}")]
    #[diagnostic(
        code(survey::lacking_member),
        help("declare what is lacking, or take {thing} out of the function's parameters")
    )]
    LackingMember {
        /// The function.
        name: String,
        /// The thing it is declared for.
        thing: String,
        /// What the thing would need.
        lacks: &'static str,
        /// Where the function is declared.
        #[label("declared for {thing}")]
        at: Span,
    },
}
