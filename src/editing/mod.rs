//! What an editor shows of rule files: mistakes as they are typed, meanings, definitions, and what
//! may be written next. Texts and places in, words and places out; the protocol is spoken in `bin/`.

mod completion;
mod declarations;
mod expected;
mod meaning;
pub mod position;
mod scene;
mod workspace;

pub use completion::{Candidate, CandidateKind, completions};
pub use meaning::{Meaning, meaning};
pub use workspace::{Mistake, Target, Tree, Workspace};
