//! What can be asked of the program.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

/// Said below every help text.
const AFTER: &str = "\
Exit status, of what is due at the record's stage, advice (`should`) apart:
  0  all in order
  1  something falls short
  2  the input or the call could not be read, or no rule is in force
  3  nothing falls short, but something is undecided: not recorded, too close to call,
     for the authority, or short under a valid variance
Of several records the gravest counts: 2, 1, 3, 0.

It screens; it approves nothing. Verify every finding with the local authority.";

/// Said below the help text of `prove`.
const AFTER_PROVE: &str = "\
What is proved:
  every case comes out as expected, and each rule has those that its form allows;
  every limit, row and key of a table, literal and comparison, changed by 1 % or turned from
  strict to not, is noticed by a case, unless no complete record could show it;
  no rule's outcome is settled before anything is recorded;
  no amendment is stale or without force.
Told besides: limits left to the place, which way each amendment goes, gaps and overlaps in time.

Exit status:
  0  proved
  1  something fails or is unproved
  2  the library, its cases or the call could not be read

A proof says that the rules do what their cases say. Whether that is the law, say those who answer
for it: verify with the local authority.";

/// Checks a recorded pressure-sewer installation against the rules in force where it was built.
#[derive(Debug, Parser)]
#[command(name = "groundrule", version, about, after_help = AFTER, arg_required_else_help = true)]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Judge records: what falls short, what is missing, each with its clause
    #[command(after_help = AFTER)]
    Check(Check),
    /// Show the whole computation of one rule on one record
    #[command(after_help = AFTER)]
    Why(Why),
    /// List the rules in force at a place, and where each limit came from; without a place, the model
    Rules(Rules),
    /// Prove a ruleset: run its cases, change its limits to see whether a case notices, look through its places
    #[command(after_help = AFTER_PROVE)]
    Prove(Prove),
    /// List the documents behind the rules, and the rules that stand on each
    Sources(Listing),
}

/// `check RECORD…`
#[derive(Debug, Args)]
pub struct Check {
    /// Records (YAML or JSON); `-` reads one from standard input
    #[arg(required = true, value_name = "RECORD")]
    pub records: Vec<PathBuf>,
    #[command(flatten)]
    pub common: Common,
}

/// `why RECORD RULE`
#[derive(Debug, Args)]
pub struct Why {
    /// The record; `-` reads it from standard input
    #[arg(value_name = "RECORD")]
    pub record: PathBuf,
    /// The rule, as a finding names it: `topic.rule`
    #[arg(value_name = "RULE")]
    pub rule: String,
    #[command(flatten)]
    pub common: Common,
}

/// `rules [PLACE]`
#[derive(Debug, Args)]
pub struct Rules {
    /// The place, as a path of jurisdictions/; the model where it is left out
    #[arg(value_name = "PLACE")]
    pub place: Option<String>,
    /// For permits of this date: year-month-day; today where it is left out
    #[arg(long, value_name = "DATE")]
    pub on: Option<String>,
    /// Instead: which facts the rules ask for, by topic and hold point
    #[arg(long, conflicts_with_all = ["place", "on"])]
    pub facts: bool,
    #[command(flatten)]
    pub listing: Listing,
}

/// `prove [PLACE]`
#[derive(Debug, Args)]
pub struct Prove {
    /// What this place writes itself, as a path of jurisdictions/; the model and every place where it is left out
    #[arg(value_name = "PLACE")]
    pub place: Option<String>,
    /// One topic, and what places change in it
    #[arg(long, value_name = "NAME", conflicts_with = "place")]
    pub topic: Option<String>,
    /// What places have in force on this date: year-month-day; today where it is left out
    #[arg(long, value_name = "DATE")]
    pub on: Option<String>,
    #[command(flatten)]
    pub listing: Listing,
}

/// Which library is asked, in what form it answers, and where to.
#[derive(Debug, Args)]
pub struct Listing {
    /// The form of the output
    #[arg(long = "as", value_name = "FORM", value_enum, default_value_t = Form::Text)]
    pub form: Form,
    /// Where to write it; written whole or not at all
    #[arg(long, value_name = "FILE")]
    pub to: Option<PathBuf>,
    /// Another library than the one inside the program: a folder with rules/, jurisdictions/ and shared/
    #[arg(long, value_name = "FOLDER")]
    pub library: Option<PathBuf>,
}

/// What means the same wherever records are judged.
#[derive(Debug, Args)]
pub struct Common {
    #[command(flatten)]
    pub listing: Listing,
    /// In place of the record's place; may be given more than once
    #[arg(long, value_name = "PLACE")]
    pub place: Vec<String>,
    /// In place of the record's permit dates: year-month-day
    #[arg(long, value_name = "DATE")]
    pub on: Option<String>,
    /// In place of the record's stage: a hold point
    #[arg(long, value_name = "HOLD")]
    pub at: Option<String>,
}

/// The forms of the output.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Form {
    /// For a person
    Text,
    /// One JSON document a record, a line each
    Json,
}
