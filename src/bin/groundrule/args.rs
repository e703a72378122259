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
/// Said below the help of `publish`.
const PUBLISH: &str = "\
Writes into DIR, all of it or nothing:
  index.html   the rules as a page
  ruleset      the rules as one file, for `--library DIR/ruleset`
  ruleset.sig  its signature, with --key; `ssh-keygen -Y verify -f signers -I NAME -n groundrule
               -s ruleset.sig < ruleset` verifies it
  signers      whose keys sign, where the place keeps jurisdictions/PLACE/signers
  digests.txt  SHA-256 digests to print in the minutes; `sha256sum -c digests.txt` checks them

Exit status: 0 published, 2 nothing was written.";

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
    /// Lay down a new place in a library of its own, ready to edit
    Start(Start),
    /// Tell what differs between two places, dates or rulesets, or between two records of a lot
    Compare(Compare),
    /// Prove a ruleset: run its cases, change its limits to see whether a case notices, look through its places
    #[command(after_help = AFTER_PROVE)]
    Prove(Prove),
    /// List the documents behind the rules, and the rules that stand on each
    Sources(Listing),
    /// Put out a place's rules: a page, the ruleset as one file, its signature, the digests
    Publish(Publish),
    /// Lay out rule files: every word and comment stays, the white space is put in order
    #[command(after_help = AFTER_TIDY)]
    Tidy(Tidy),
    /// Serve an editor that shows rule files: mistakes, meanings, definitions, completion, layout
    #[command(after_help = AFTER_SERVER)]
    LanguageServer(LanguageServer),
}

/// Said below the help of `tidy`.
const AFTER_TIDY: &str = "\
Exit status:
  0  every file is tidy, or now is
  1  with --list: some file is not tidy
  2  a file or the call could not be read; a file with mistakes is left as it is";

/// Said below the help of `language-server`.
const AFTER_SERVER: &str = "\
It speaks the Language Server Protocol on standard input and output; an editor starts it.
Exit status: 0 after the editor has asked it to shut down, 1 where it ends without, 2 where the
library or the call could not be read.";

/// `tidy FILE|FOLDER…`
#[derive(Debug, Args)]
pub struct Tidy {
    /// Rule files, and folders whose rule files (*.rules) are meant; `-` reads one from standard
    /// input and writes it to standard output
    #[arg(required = true, value_name = "FILE|FOLDER")]
    pub paths: Vec<PathBuf>,
    /// Change nothing: list the files that are not tidy
    #[arg(long)]
    pub list: bool,
}

/// `language-server`
#[derive(Debug, Args)]
pub struct LanguageServer {
    /// The library that the files belong to: a folder with rules/, jurisdictions/ and shared/; the
    /// editor's folder where it is left out, or else the library inside the program
    #[arg(long, value_name = "FOLDER")]
    pub library: Option<PathBuf>,
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
    #[arg(required_unless_present = "kept", value_name = "PATH")]
    pub paths: Vec<PathBuf>,
    #[command(flatten)]
    pub tables: Tables,
    /// Keep the results and their history in this file, which geographic programs and SQLite open
    /// (GeoPackage); what has not changed since is not judged again, and a screening that was cut
    /// off goes on
    #[arg(long, value_name = "FILE.gpkg")]
    pub keep: Option<PathBuf>,
    /// In place of paths: tell what the last screening kept there, and judge nothing
    #[arg(long, value_name = "FILE.gpkg", conflicts_with_all = ["paths", "keep", "place", "on", "at"])]
    pub kept: Option<PathBuf>,
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

/// `start PLACE`
#[derive(Debug, Args)]
pub struct Start {
    /// The place, as a path of jurisdictions/: state/county/town
    #[arg(value_name = "PLACE")]
    pub place: String,
    /// The library to lay it down in; where the folder isn't there yet, the model's rules are laid down too
    #[arg(long, value_name = "FOLDER")]
    pub library: PathBuf,
    /// What the place is called
    #[arg(long, value_name = "TEXT")]
    pub title: String,
    /// Who answers for it
    #[arg(long, value_name = "TEXT")]
    pub authority: String,
    /// How they are reached
    #[arg(long, value_name = "TEXT")]
    pub contact: String,
    /// A topic of the model to adopt; may be given more than once
    #[arg(long, value_name = "TOPIC")]
    pub topic: Vec<String>,
    /// For permits from this date on: year-month-day; today where it is left out
    #[arg(long, value_name = "DATE")]
    pub from: Option<String>,
    /// The section of its code that adopts the topics; without it they are laid down as comments
    #[arg(long, value_name = "TEXT", requires = "because")]
    pub section: Option<String>,
    /// Why it adopts them
    #[arg(long, value_name = "TEXT", requires = "section")]
    pub because: Option<String>,
}

/// `compare ONE TWO`
#[derive(Debug, Args)]
#[command(
    after_help = "What is given twice is compared, the earlier first; what is given once counts for both sides.\n\nExit status: 0 nothing differs, 1 something does, 2 the input or the call could not be read."
)]
pub struct Compare {
    /// Two places, one place for both sides, or two records of a lot (files)
    #[arg(value_name = "PLACE|RECORD")]
    pub sides: Vec<String>,
    /// For permits of this date; may be given twice
    #[arg(long, value_name = "DATE")]
    pub on: Vec<String>,
    /// Another library than the one inside the program; may be given twice
    #[arg(long, value_name = "FOLDER")]
    pub library: Vec<PathBuf>,
    /// Also tell whose findings turn: records, or folders of them
    #[arg(long, value_name = "PATH")]
    pub records: Vec<PathBuf>,
    /// The form of the output
    #[arg(long = "as", value_name = "FORM", value_enum, default_value_t = Form::Text)]
    pub form: Form,
    /// Where to write it; written whole or not at all
    #[arg(long, value_name = "FILE")]
    pub to: Option<PathBuf>,
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

/// `publish PLACE --to DIR`
#[derive(Debug, Args)]
#[command(after_help = PUBLISH)]
pub struct Publish {
    /// The place, as a path of jurisdictions/
    #[arg(value_name = "PLACE")]
    pub place: String,
    /// The folder to write into; made if it isn't there
    #[arg(long, value_name = "DIR")]
    pub to: PathBuf,
    /// Sign with this private SSH key (OpenSSH's form; Ed25519, ECDSA or RSA)
    #[arg(long, value_name = "FILE")]
    pub key: Option<PathBuf>,
    /// Another library than the one inside the program: a folder with rules/, jurisdictions/ and shared/
    #[arg(long, value_name = "FOLDER")]
    pub library: Option<PathBuf>,
    /// The page shows what is in force on this date, and what is to come; today where it is left out
    #[arg(long, value_name = "DATE")]
    pub on: Option<String>,
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
    /// Another library than the one inside the program: a folder with rules/, jurisdictions/ and
    /// shared/, or a ruleset that a municipality published; a signature beside it (RULESET.sig) is
    /// verified
    #[arg(long, value_name = "PATH")]
    pub library: Option<PathBuf>,
    /// Of a published ruleset: whose signatures are taken (OpenSSH's allowed signers), in place of
    /// the signers that the program knows for that place
    #[arg(long, value_name = "FILE", requires = "library")]
    pub signers: Option<PathBuf>,
    /// Of a published ruleset: the signer's key was valid on this date; today where it is left out
    #[arg(long, value_name = "DATE", requires = "library")]
    pub valid_on: Option<String>,
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
        self.form.text_or_json()
    }
}

impl Compare {
    /// The form.
    pub fn text_or_json(&self) -> Result<TextOrJson, Failure> {
        self.form.text_or_json()
    }
}

impl Form {
    fn text_or_json(self) -> Result<TextOrJson, Failure> {
        match self {
            Form::Text => Ok(TextOrJson::Text),
            Form::Json => Ok(TextOrJson::Json),
            form @ (Form::Yaml | Form::Csv | Form::Sarif | Form::Geojson) => {
                Err(form.refused("`--as text` or `--as json`"))
            }
        }
    }
}
