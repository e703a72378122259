//! What can be asked of the program.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

use crate::input::Failure;

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
    /// Screen an archive: folders, files, tables or a stream; the worst first
    #[command(after_help = AFTER)]
    Screen(Screen),
    /// Show the whole computation of one rule on one record
    #[command(after_help = AFTER)]
    Why(Why),
    /// List what has to be read or seen at a lot, by hold point and person; or a record to fill in
    Worksheet(Worksheet),
    /// List the rules in force at a place, and where each limit came from; without a place, the model
    Rules(Rules),
    /// List the documents behind the rules, and the rules that stand on each
    Sources(Listing),
}

/// `check RECORD…`
#[derive(Debug, Args)]
pub struct Check {
    /// Records (YAML or JSON), or tables (CSV) with `--sheet`; `-` reads a record from standard input
    #[arg(required = true, value_name = "RECORD")]
    pub records: Vec<PathBuf>,
    #[command(flatten)]
    pub tables: Tables,
    #[command(flatten)]
    pub common: Common,
}

/// `screen PATH…`
#[derive(Debug, Args)]
pub struct Screen {
    /// Folders, records (YAML or JSON), streams (a JSON record a line) or tables (CSV); `-` reads a
    /// stream from standard input
    #[arg(required = true, value_name = "PATH")]
    pub paths: Vec<PathBuf>,
    #[command(flatten)]
    pub tables: Tables,
    /// Go through folders and files that are links
    #[arg(long)]
    pub follow_links: bool,
    /// On how many threads; all there are where it is left out
    #[arg(long, value_name = "NUMBER")]
    pub threads: Option<usize>,
    /// Tell what is met by less than this share of its limit
    #[arg(long, value_name = "SHARE", default_value = "5%")]
    pub near: String,
    /// How many of each list the summary shows
    #[arg(long, value_name = "NUMBER", default_value_t = 10)]
    pub most: usize,
    #[command(flatten)]
    pub wanted: Wanted,
    #[command(flatten)]
    pub common: Common,
}

/// How tables are read.
#[derive(Debug, Args)]
pub struct Tables {
    /// The mapping sheet of tables: what each column means
    #[arg(long, value_name = "FILE")]
    pub sheet: Option<PathBuf>,
}

/// Which records and findings are wanted; each may be given more than once, and any suffices.
#[derive(Debug, Args)]
#[command(next_help_heading = "Only")]
pub struct Wanted {
    /// Findings with this verdict, such as falls_short
    #[arg(long, value_name = "VERDICT")]
    pub verdict: Vec<String>,
    /// Findings with this hazard
    #[arg(long, value_name = "HAZARD")]
    pub hazard: Vec<String>,
    /// Findings that can still be mended at this hold point
    #[arg(long, value_name = "HOLD")]
    pub hold: Vec<String>,
    /// Records of this place, or of a place inside it
    #[arg(long, value_name = "PLACE")]
    pub within: Vec<String>,
    /// Records of this date or after
    #[arg(long, value_name = "DATE")]
    pub from: Option<String>,
    /// Records before this date
    #[arg(long, value_name = "DATE")]
    pub until: Option<String>,
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

/// `worksheet PLACE…`
#[derive(Debug, Args)]
pub struct Worksheet {
    /// The place, or the places, as paths of jurisdictions/; the record's where they are left out
    #[arg(required_unless_present = "record", value_name = "PLACE")]
    pub places: Vec<String>,
    /// A record that is partly filled: what stands in it is filled in; `-` reads it from standard input
    #[arg(long, value_name = "RECORD")]
    pub record: Option<PathBuf>,
    /// The date of a permit, such as electrical=2026-03-19; may be given more than once
    #[arg(long, value_name = "KIND=DATE")]
    pub permit: Vec<String>,
    /// The date of all permits; today where neither this nor a record is given
    #[arg(long, value_name = "DATE")]
    pub on: Option<String>,
    /// Only up to this hold point
    #[arg(long, value_name = "HOLD")]
    pub at: Option<String>,
    #[command(flatten)]
    pub listing: Listing,
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
    /// A record to fill in
    Yaml,
    /// A table with a row a finding
    Csv,
    /// SARIF 2.1.0, for code hosts and editors
    Sarif,
    /// Findings on the map, where records have plans
    Geojson,
}

impl Form {
    /// That a command does not have it; `has` are those that it has.
    pub fn refused(self, has: &str) -> Failure {
        let name = self.to_possible_value();
        let name = name.map_or_else(String::new, |value| value.get_name().to_owned());
        let hint = match self {
            Form::Yaml => "it is `worksheet` that writes a record to fill in; ",
            Form::Csv | Form::Sarif | Form::Geojson => "it is `screen` that writes this; ",
            Form::Text | Form::Json => "",
        };
        Failure::Option {
            what: format!("--as {name}: this command has no such form"),
            mend: format!("{hint}here use {has}"),
        }
    }
}

/// The forms that every list has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TextOrJson {
    /// For a person
    Text,
    /// For a program
    Json,
}

impl Listing {
    /// The form, where a command has no other than these.
    pub fn text_or_json(&self) -> Result<TextOrJson, Failure> {
        match self.form {
            Form::Text => Ok(TextOrJson::Text),
            Form::Json => Ok(TextOrJson::Json),
            form @ (Form::Yaml | Form::Csv | Form::Sarif | Form::Geojson) => {
                Err(form.refused("`--as text` or `--as json`"))
            }
        }
    }
}
