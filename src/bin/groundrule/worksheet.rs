//! `worksheet PLACE…`: what has to be read on a lot, on paper or as a record to fill in.

use groundrule::check::typed::PlaceId;
use groundrule::forms;
use groundrule::judge;
use groundrule::layers::{self, Dates, InForce, PermitDates};
use groundrule::library::Opened;
use groundrule::quantity::Rational;
use groundrule::record::error::Mistakes;
use groundrule::record::tree::Node;
use groundrule::record::yaml;
use groundrule::record::{Overrides, Record};
use groundrule::report::{terminal::Style, worksheet};
use groundrule::screen::{Content, Screening, Submitted};
use groundrule::source::Sources;
use groundrule::survey;

use crate::args::{Form, Worksheet};
use crate::input::{self, Failure};
use crate::output;

/// A record that is partly filled.
struct Partly {
    record: Record,
    tree: Option<Node<'static>>,
    sources: Sources,
}

/// Writes the worksheet of some places, or of a record's.
pub fn run(arguments: &Worksheet) -> Result<u8, Failure> {
    let opened = input::library_of_listing(&arguments.listing)?;
    let partly = match &arguments.record {
        Some(path) => Some(partly(&opened, path)?),
        None => None,
    };
    let places = places(&opened, arguments, partly.as_ref())?;
    let dates = dates(&opened, arguments, partly.as_ref())?;
    let in_force = layers::in_force(&opened.library, &places, &dates)
        .map_err(|errors| Failure::Rendered(input::told(&errors)))?;
    let in_force = up_to(&opened, arguments, in_force)?;
    let recorded = partly
        .as_ref()
        .map(|partly| (&partly.record, &partly.sources));
    let asked = forms::Asked::of(&opened.library, &opened.survey, &in_force);
    let sheet = forms::worksheet(
        &opened.library,
        &opened.survey,
        &in_force,
        &asked,
        &places,
        recorded,
    );
    let text = match arguments.listing.form {
        Form::Text => worksheet::worksheet(
            &sheet,
            Style {
                colour: output::stdout_has_colour(arguments.listing.to.as_deref()),
                width: output::width(),
            },
        ),
        Form::Json => {
            let line = serde_json::to_string(&sheet);
            line.expect("a worksheet holds only what JSON can say") + "\n"
        }
        Form::Yaml => {
            let tree = partly.as_ref().and_then(|partly| partly.tree.as_ref());
            forms::blank_record(&opened.library, &asked, &sheet, tree)
        }
        form @ (Form::Csv | Form::Sarif | Form::Geojson) => {
            return Err(form.refused("`--as text`, `--as json` or `--as yaml`"));
        }
    };
    output::write(&text, arguments.listing.to.as_deref())?;
    Ok(0)
}

fn partly(opened: &Opened, path: &std::path::Path) -> Result<Partly, Failure> {
    let (name, content) = input::record(path)?;
    let mut sources = Sources::default();
    let none = Overrides::default();
    let screening = Screening::new(opened, &none, &[], None, &input::plan);
    let submitted = Submitted {
        content: Content::Whole(content.clone()),
        name: name.clone(),
    };
    let (_, record) = screening
        .read(&mut sources, &submitted)
        .map_err(|problems| input::rendered(&sources, problems))?;
    let record = survey::complete(&opened.library.vocabulary, record);
    // The record was read from this text without a mistake.
    let id = sources.add(name.as_str(), content.as_str());
    let tree = yaml::parse(&sources, id, &mut Mistakes::default()).map(Node::into_owned);
    Ok(Partly {
        record,
        tree,
        sources,
    })
}

fn places(
    opened: &Opened,
    arguments: &Worksheet,
    partly: Option<&Partly>,
) -> Result<Vec<PlaceId>, Failure> {
    if let (true, Some(partly)) = (arguments.places.is_empty(), partly) {
        return judge::places(&opened.library, &partly.record, &partly.sources)
            .map_err(|errors| Failure::Rendered(input::told(&errors)));
    }
    let places = arguments.places.iter();
    places.map(|place| input::place(opened, place)).collect()
}

/// The dates given; else the record's, else one for every permit.
fn dates(
    opened: &Opened,
    arguments: &Worksheet,
    partly: Option<&Partly>,
) -> Result<Dates, Failure> {
    let on = match &arguments.on {
        Some(text) => Some(input::date_option("--on", text)?),
        None => None,
    };
    if arguments.permit.is_empty() {
        return Ok(match (on, partly) {
            (Some(on), _) => Dates::all_on(on),
            (None, Some(partly)) => judge::dates(&partly.record),
            (None, None) => Dates::all_on(input::today()),
        });
    }
    let recorded = on.unwrap_or_else(input::today);
    let permits = arguments.permit.iter();
    Ok(Dates {
        recorded,
        on: None,
        permits: permits
            .map(|written| permit(opened, written))
            .collect::<Result<_, _>>()?,
    })
}

/// `electrical=2026-03-19`: whatever date of the permit a place goes by, it is this one.
fn permit(opened: &Opened, written: &str) -> Result<PermitDates, Failure> {
    let vocabulary = &opened.library.vocabulary;
    let kinds: Vec<&str> = vocabulary
        .permits
        .iter()
        .map(|kind| kind.name.as_str())
        .collect();
    let (kind, date) = written.split_once('=').ok_or_else(|| Failure::Option {
        what: format!("--permit {written}: no date in it"),
        mend: "a permit is written KIND=DATE: --permit electrical=2026-03-19".to_owned(),
    })?;
    let kind = vocabulary.permit(kind).ok_or_else(|| Failure::Option {
        what: format!("--permit {written}: no kind of permit `{kind}`"),
        mend: format!("the kinds: {}", kinds.join(", ")),
    })?;
    let date: Option<Rational> = Some(input::date_option("--permit", date)?);
    Ok(PermitDates {
        kind,
        applied: date,
        issued: date,
        plan_approved: date,
        expires: None,
        span: None,
    })
}

/// Without the rules that are due only after a hold point.
fn up_to(opened: &Opened, arguments: &Worksheet, all: InForce) -> Result<InForce, Failure> {
    let Some(hold) = input::hold(opened, arguments.at.as_deref())? else {
        return Ok(all);
    };
    let library = &opened.library;
    let rules = all.rules.into_iter();
    Ok(InForce {
        rules: rules
            .filter(|rule| library.rules[rule.rule.index()].hold <= hold)
            .collect(),
        ..all
    })
}
