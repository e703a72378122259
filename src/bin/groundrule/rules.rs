//! `rules [PLACE]` and `sources`: what is in force, where each limit came from, the documents
//! behind it.

use groundrule::check::typed::TopicId;
use groundrule::forms;
use groundrule::layers::{self, Dates};
use groundrule::library::Opened;
use groundrule::report::terminal::{self, Style};
use serde::Serialize;

use crate::args::{Listing, Rules, TextOrJson};
use crate::input::{self, Failure};
use crate::output;

/// Lists what is in force at a place on a date, or the whole model.
pub fn run(rules: &Rules) -> Result<u8, Failure> {
    let opened = input::library_of_listing(&rules.listing)?;
    if rules.facts {
        let covered = forms::coverage(&opened.library);
        return list(&opened, &covered, &rules.listing, terminal::coverage);
    }
    let on = input::on_or_today(rules.on.as_deref())?;
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
            let id = input::place(&opened, place)?;
            let standing = layers::in_force(&opened.library, &[id], &dates)
                .map_err(|errors| Failure::Rendered(input::told(&errors)))?;
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
    let text = match listing.text_or_json()? {
        TextOrJson::Text => words(entries, style) + &said,
        TextOrJson::Json => {
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
