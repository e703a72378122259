//! `rules [PLACE]` and `sources`: what is in force, where each limit came from, the documents
//! behind it.

use groundrule::check::typed::TopicId;
use groundrule::forms;
use groundrule::layers::{self, Dates};
use groundrule::library::Opened;
use groundrule::quantity::Rational;
use groundrule::report::terminal::{self, Style};
use serde::Serialize;

use crate::args::{Form, Listing, Rules};
use crate::input::{self, Failure};
use crate::output;

/// Lists what is in force at a place on a date, or the whole model.
pub fn run(rules: &Rules) -> Result<u8, Failure> {
    let opened = input::library_of_listing(&rules.listing)?;
    if rules.facts {
        let covered = forms::coverage(&opened.library);
        return list(&opened, &covered, &rules.listing, terminal::coverage);
    }
    let on = on(rules)?;
    let entries = match &rules.place {
        None => {
            let library = &opened.library;
            let is_model = |topic: TopicId| library.topics[topic.index()].home.is_none();
            forms::rules(
                library,
                &layers::as_written(library, is_model, Some(on), on),
            )
        }
        Some(place) => {
            let dates = Dates::all_on(on);
            let id = opened
                .library
                .place_named(place)
                .ok_or_else(|| unknown_place(&opened, place))?;
            let standing = layers::in_force(&opened.library, &[id], &dates)
                .map_err(|errors| Failure::Rendered(errors[0].to_string()))?;
            forms::rules(&opened.library, &standing)
        }
    };
    list(&opened, &entries, &rules.listing, terminal::rules)
}

/// Lists the documents and the rules that stand on each.
pub fn sources(listing: &Listing) -> Result<u8, Failure> {
    let opened = input::library_of_listing(listing)?;
    let entries = forms::sources(&opened.library);
    list(&opened, &entries, listing, terminal::sources)
}

fn list<T: Serialize>(
    opened: &Opened,
    entries: &[T],
    listing: &Listing,
    words: impl Fn(&[T], Style) -> String,
) -> Result<u8, Failure> {
    let style = Style {
        colour: output::stdout_has_colour(listing.to.as_deref()),
        width: output::width(),
    };
    let said = terminal::provenance(&opened.provenance, style);
    let text = match listing.form {
        Form::Text => words(entries, style) + &said,
        Form::Json => {
            // The list itself has no place for it.
            if !said.is_empty() {
                output::complain(&said);
            }
            let line = serde_json::to_string(entries);
            line.expect("a listing holds only what JSON can say") + "\n"
        }
    };
    output::write(&text, listing.to.as_deref())?;
    Ok(0)
}

/// The date asked for, or today.
fn on(rules: &Rules) -> Result<Rational, Failure> {
    match &rules.on {
        Some(text) => input::date_option("--on", text),
        None => Ok(input::today()),
    }
}

pub fn unknown_place(opened: &Opened, place: &str) -> Failure {
    let known: Vec<&str> = opened
        .library
        .places
        .iter()
        .map(|place| place.path.as_str())
        .collect();
    Failure::Option {
        what: format!("no place `{place}` in this library"),
        mend: format!("its places: {}", known.join(", ")),
    }
}
