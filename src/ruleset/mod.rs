//! A place's rules as one file that others take: what stands in it, who signed it, and which
//! earlier editions it supersedes.
//!
//! The file holds the texts of `rules/`, of `shared/`, and of `jurisdictions/` for the place and
//! those around it. It is JSON, laid out line by line so that two editions can be compared:
//!
//! ```json
//! {
//!   "ruleset": 1,
//!   "place": "state/county/town",
//!   "texts": {
//!     "rules/vents.rules": [
//!       "topic vents \"Vents\" permit plumbing",
//!       ""
//!     ]
//!   }
//! }
//! ```
//!
//! The keys stand in this order, the texts in the order of their names. A text is the list of its
//! lines: joined by line feeds, they are the text again.

mod editions;
mod error;
mod file;
mod names;
#[cfg(feature = "program")]
mod signature;
#[cfg(feature = "program")]
mod signers;

/// The lines of a text that say something: each with its first byte and one past its last, without
/// the white space around it. `#` begins a line that says nothing.
fn written_lines(text: &str) -> impl Iterator<Item = (usize, usize, &str)> {
    let mut next = 0;
    text.split_inclusive('\n').filter_map(move |line| {
        let start = next;
        next += line.len();
        let written = line.trim();
        let says_something = !written.is_empty() && !written.starts_with('#');
        says_something.then(|| (start, start + line.trim_end().len(), written))
    })
}

pub use editions::{Superseded, editions};
pub use error::RulesetError;
pub use file::{MOST_BYTES, Ruleset, read, write};
pub use names::{around, text_around, texts_of};
#[cfg(feature = "program")]
pub use signature::{NAMESPACE, SignatureError, fingerprint, sign, verify};
#[cfg(feature = "program")]
pub use signers::{Signer, SignerError, signers};
