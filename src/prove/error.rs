//! Case files that can't be understood.

use miette::Diagnostic;
use thiserror::Error;

use crate::source::Span;

/// A mistake in a file of cases.
#[derive(Debug, Clone, Error, Diagnostic)]
pub enum CaseError {
    /// A file without `cases:`
    #[error("a file of cases has no `{key}`")]
    #[diagnostic(code(cases::missing_key), help("{help}"))]
    MissingKey {
        /// What it lacks.
        key: &'static str,
        /// The mend.
        help: &'static str,
        /// Where.
        #[label("lacks `{key}`")]
        at: Span,
    },
    /// `expekt: …`
    #[error("`{key}` is no key of {of}")]
    #[diagnostic(code(cases::unknown_key), help("{help}"))]
    UnknownKey {
        /// What was written.
        key: String,
        /// A case, or the file.
        of: &'static str,
        /// The mend.
        help: String,
        /// Where.
        #[label("not a key of {of}")]
        at: Span,
    },
    /// `topic: nothing`
    #[error("no {what} `{name}` in this library")]
    #[diagnostic(code(cases::unknown_name), help("{help}"))]
    UnknownName {
        /// A topic, a place, a rule, a limit.
        what: &'static str,
        /// What was written.
        name: String,
        /// The mend.
        help: String,
        /// Where.
        #[label("not known")]
        at: Span,
    },
    /// `expect: { cover: passes }`
    #[error("`{found}` is no verdict")]
    #[diagnostic(
        code(cases::verdict),
        help(
            "a verdict is meets, falls_short, too_close, not_recorded, does_not_apply or refer; several subjects take a list in their order"
        )
    )]
    Verdict {
        /// What was written.
        found: String,
        /// Where.
        #[label("not a verdict")]
        at: Span,
    },
    /// `set: { depth: deep }`
    #[error("`{found}` can't be the value of {limit}")]
    #[diagnostic(code(cases::value), help("write {expected}, as in a rule file"))]
    Value {
        /// What was written.
        found: String,
        /// The limit.
        limit: String,
        /// What is due.
        expected: String,
        /// Where.
        #[label("not {expected}")]
        at: Span,
    },
}
