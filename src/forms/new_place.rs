//! A place's first file, ready to edit: who answers, what could be adopted, what is to be set.

use std::fmt::Write;

use crate::check::typed::{Library, Limit, Owner, TopicId};

/// What is known of a place before it has rules.
#[derive(Debug, Clone)]
pub struct NewPlace<'a> {
    /// Its path in `jurisdictions/`, of plain names.
    pub path: &'a str,
    /// What it is called.
    pub title: &'a str,
    /// Who answers.
    pub authority: &'a str,
    /// How they are reached.
    pub contact: &'a str,
    /// The topics that it adopts.
    pub topics: &'a [TopicId],
    /// From permits of which date, as it is written.
    pub from: &'a str,
    /// Under which section and why; without these, nothing is adopted yet.
    pub adoption: Option<(&'a str, &'a str)>,
}

/// The file of rules of a new place. Texts must hold no quotes and no ends of lines.
pub fn new_place(library: &Library, place: &NewPlace<'_>) -> String {
    let leaf = place.path.rsplit('/').next().unwrap_or(place.path);
    let code = format!("{leaf}_code");
    let mut text = head(place, &code);
    text.push_str("\n# Topics. What is adopted is in force for permits from its date on.\n\n");
    let model = (0..library.topics.len()).map(TopicId::at);
    let model = model.filter(|topic| {
        let known = &library.topics[topic.index()];
        known.home.is_none() && known.permit.is_some()
    });
    for topic in model {
        let known = &library.topics[topic.index()];
        let adopted = place.topics.contains(&topic);
        let (section, because) = place.adoption.unwrap_or(("…", "…"));
        let mark = match adopted && place.adoption.is_some() {
            true => "",
            false => "# ",
        };
        let _ = write!(
            text,
            "# {}\n{mark}adopt {}\n{mark}  from {}   cite {code} \"{section}\"   because \"{because}\"\n\n",
            known.title, known.name, place.from
        );
    }
    text.push_str(&open_limits(library, place, &code));
    let _ = write!(
        text,
        "# Changes. State what the limit is now and what it becomes.\n\n# amend TOPIC.LIMIT : 24 in becomes 30 in\n#   from {}   cite {code} \"…\"   because \"…\"\n",
        place.from
    );
    text
}

fn head(place: &NewPlace<'_>, code: &str) -> String {
    format!(
        "# {title}: which rules it adopts, and what it changes in them.\n\nplace \"{title}\" {{\n  authority any \"{authority}\" \"{contact}\"\n}}\n\nsource {code} {{\n  title      \"{title} Code\"\n  publisher  \"{title}\"\n  edition    \"{from}\"\n  kind       local\n  binding    \"in {title}\"\n}}\n",
        title = place.title,
        authority = place.authority,
        contact = place.contact,
        from = place.from,
    )
}

/// The limits that the model leaves to the place, in the topics that it adopts.
fn open_limits(library: &Library, place: &NewPlace<'_>, code: &str) -> String {
    let of_topic = |limit: &&Limit| match limit.owner {
        Owner::Topic(topic) => place.topics.contains(&topic),
        Owner::Place(_) => false,
    };
    let open = library
        .limits
        .iter()
        .filter(|limit| limit.values.is_empty());
    let mut text = String::new();
    for limit in open.filter(of_topic) {
        if text.is_empty() {
            text.push_str("# Left to the place. What is not set is a question for the authority in every finding.\n\n");
        }
        let meaning = limit.meaning.as_deref().unwrap_or_default();
        let name = library.owned_name(limit.owner, &limit.name);
        let _ = write!(
            text,
            "# {meaning}\n# set {name} = …\n#   from {}   cite {code} \"…\"   because \"…\"\n\n",
            place.from
        );
    }
    text
}
