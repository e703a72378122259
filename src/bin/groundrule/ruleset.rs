//! A published ruleset taken as the library: read, its signature verified, and what is to be said
//! of it.

use std::ffi::OsString;
use std::path::{Path, PathBuf};

use groundrule::finding::{Provenance, SignedBy, SignerList};
use groundrule::library::{self, EDITIONS, Opened, Problem, SIGNERS, Texts};
use groundrule::quantity::{Rational, date};
use groundrule::report::mistakes;
use groundrule::ruleset::{self, MOST_BYTES, Ruleset, Signer, text_around};
use groundrule::source::{Located, SourceId, Sources};
use miette::Diagnostic;

use crate::input::{self, Failure};
use crate::output;

/// Whose signatures are taken, and on which date.
#[derive(Debug, Default)]
pub struct Trust {
    /// A list of signers in place of the program's own.
    pub signers: Option<PathBuf>,
    /// The date on which a key must be valid; today where there is none.
    pub valid_on: Option<Rational>,
}

/// Reads, verifies and checks a published ruleset.
pub fn opened(file: &Path, trust: &Trust) -> Result<Opened, Failure> {
    let name = file.to_string_lossy().replace('\\', "/");
    let text = input::bounded(file, MOST_BYTES, "a ruleset")?;
    let mut sources = Sources::default();
    let id = sources.add(name.as_str(), text.as_str());
    let ruleset = ruleset::read(&sources, id).map_err(|error| mistake(&sources, id, error))?;
    let signed_by = signature(file, &text, &ruleset, trust)?;
    let mut opened = input::opened(&ruleset.texts)?;
    let mut notices = Vec::new();
    match &signed_by {
        Some(signed) if signed.signers == SignerList::Ruleset => notices.push(format!(
            "the list of signers came with the ruleset itself, so that the signature proves nothing yet: compare the key {} with the one that {} prints",
            signed.key, ruleset.place
        )),
        Some(_) => {}
        None => notices.push(unsigned(&ruleset, &opened.digest)),
    }
    notices.extend(superseded(&ruleset, &opened.digest)?);
    opened.provenance = Provenance { signed_by, notices };
    Ok(opened)
}

/// What is said of a ruleset without a signature.
fn unsigned(ruleset: &Ruleset, digest: &str) -> String {
    let place = &ruleset.place;
    let though = match text_around(place, SIGNERS, &library::embedded()) {
        Some((signing, _)) => format!(", though {signing} has keys to sign with"),
        None => String::new(),
    };
    format!(
        "the ruleset for {place} is unsigned{though}: compare its digest {digest} with the one that the municipality prints"
    )
}

/// Who signed, if there is a signature beside the file; one that is there must be right.
fn signature(
    file: &Path,
    text: &str,
    ruleset: &Ruleset,
    trust: &Trust,
) -> Result<Option<SignedBy>, Failure> {
    let beside = signature_file(file);
    if std::fs::symlink_metadata(&beside).is_err() {
        return match &trust.signers {
            None => Ok(None),
            Some(_) => Err(Failure::Option {
                what: format!("no signature in {}", beside.display()),
                mend: "`--signers` asks for one: fetch it beside the ruleset, or leave the option out to use the ruleset unsigned".to_owned(),
            }),
        };
    }
    let signature = input::bounded(&beside, MOST_SIGNATURE, "a signature")?;
    let (signers, list) = trusted(ruleset, trust)?;
    let on = trust.valid_on.unwrap_or_else(input::today);
    let mut sources = Sources::default();
    let id = sources.add(beside.to_string_lossy(), signature.as_str());
    let signer = ruleset::verify(text, &signature, &signers, on)
        .map_err(|error| mistake(&sources, id, error))?;
    Ok(Some(SignedBy {
        principal: signer.principal.clone(),
        key: ruleset::fingerprint(&signer.key),
        signers: list,
    }))
}

/// The largest signature, in bytes.
pub const MOST_SIGNATURE: usize = 64 << 10;

/// The signature's file beside a ruleset's.
pub fn signature_file(file: &Path) -> PathBuf {
    let mut name = OsString::from(file);
    name.push(".sig");
    PathBuf::from(name)
}

/// The signers named on the command line; else the program's own for the place; else those that
/// the ruleset brings.
fn trusted(ruleset: &Ruleset, trust: &Trust) -> Result<(Vec<Signer>, SignerList), Failure> {
    if let Some(file) = &trust.signers {
        let text = input::bounded(file, MOST_SIGNATURE * 4, "a list of signers")?;
        return Ok((listed(&file.to_string_lossy(), &text)?, SignerList::Given));
    }
    let own = library::embedded();
    let place = &ruleset.place;
    if let Some((of, text)) = text_around(place, SIGNERS, &own) {
        return Ok((listed(&named(of, SIGNERS), text)?, SignerList::Program));
    }
    match text_around(place, SIGNERS, &ruleset.texts) {
        Some((of, text)) => Ok((listed(&named(of, SIGNERS), text)?, SignerList::Ruleset)),
        None => Err(Failure::Option {
            what: format!("the ruleset for {place} is signed, but nobody says by whom it may be"),
            mend: "name a list of its signers with `--signers FILE`; ask the municipality for it"
                .to_owned(),
        }),
    }
}

fn named(place: &str, kind: &str) -> String {
    format!("jurisdictions/{place}/{kind}")
}

/// A list of signers, read.
pub fn listed(name: &str, text: &str) -> Result<Vec<Signer>, Failure> {
    let mut sources = Sources::default();
    let id = sources.add(name, text);
    ruleset::signers(&sources, id).map_err(|errors| mistakes_of(&sources, errors))
}

/// That the ruleset's own place, or the program's list for it, names it as superseded.
fn superseded(ruleset: &Ruleset, digest: &str) -> Result<Vec<String>, Failure> {
    let mut notices = Vec::new();
    for texts in [&ruleset.texts, &library::embedded()] {
        for edition in editions(&ruleset.place, texts)? {
            let until = date::show(edition.until);
            let notice = format!(
                "this edition of the ruleset for {} is superseded from {until} by {}",
                ruleset.place, edition.by
            );
            if edition.digest == digest && !notices.contains(&notice) {
                notices.push(notice);
            }
        }
    }
    Ok(notices)
}

/// The superseded editions that a place lists, or the nearest around it that lists any.
pub fn editions(place: &str, texts: &Texts) -> Result<Vec<ruleset::Superseded>, Failure> {
    let Some((of, text)) = text_around(place, EDITIONS, texts) else {
        return Ok(Vec::new());
    };
    let mut sources = Sources::default();
    let id = sources.add(named(of, EDITIONS), text);
    ruleset::editions(&sources, id).map_err(|errors| mistakes_of(&sources, errors))
}

/// A mistake in one text, as its reader is shown it.
pub fn mistake<E: Diagnostic + Send + Sync + 'static>(
    sources: &Sources,
    source: SourceId,
    error: E,
) -> Failure {
    mistakes_of(sources, vec![Located { source, error }])
}

fn mistakes_of<E: Diagnostic + Send + Sync + 'static>(
    sources: &Sources,
    errors: Vec<Located<E>>,
) -> Failure {
    Failure::Rendered(mistakes::render(
        sources,
        errors.into_iter().map(Problem::from).collect(),
        output::stderr_has_colour(),
        output::width(),
    ))
}
