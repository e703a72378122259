//! A worksheet on paper: by hold point and person, a box and a line for each reading.

use super::terminal::{OPEN, Page, QUIET, STRONG, Style, clause_words, words};
use crate::forms::{Ask, Asking, Computed, HoldSheet, PersonSheet, Recorded, Worksheet};

/// The most rules that are named for which a fact settles something.
const MOST_NAMED: usize = 4;
/// Where a reading is written.
const BLANK: &str = "______________";

/// A worksheet for a person.
pub fn worksheet(worksheet: &Worksheet, style: Style) -> String {
    let mut page = Page::blank(style);
    head(&mut page, worksheet);
    for hold in &worksheet.holds {
        hold_sheet(&mut page, hold);
    }
    page.paragraph(&worksheet.standing, style.width);
    page.text
}

fn head(page: &mut Page<'_>, worksheet: &Worksheet) {
    let width = page.style.width;
    let title = page.painted("Worksheet", STRONG);
    let lot = match &worksheet.lot {
        Some(lot) => format!("lot {lot}, "),
        None => String::new(),
    };
    page.line(&format!("{title}  {lot}{}", worksheet.places.join(", ")));
    for permit in &worksheet.permits {
        let of = match &permit.permit {
            Some(kind) => match permit.which.as_deref() {
                Some(which) => format!("{} permit, {}", words(kind), words(which)),
                None => format!("{} permit of", words(kind)),
            },
            None => "precautions on".to_owned(),
        };
        let line = format!("{of} {}. {}", permit.on, permit.caution);
        page.labelled("", &line);
    }
    page.line("");
    page.paragraph(
        "What the rules in force ask to be read or seen, at the hold point by which it is due or after which it can no longer be seen.",
        width,
    );
    page.line("");
}

fn hold_sheet(page: &mut Page<'_>, hold: &HoldSheet) {
    let width = page.style.width;
    let title = page.painted(&words(&hold.hold).to_uppercase(), STRONG);
    page.line(&format!("{title}  {}", hold.title));
    page.line("");
    for caution in &hold.cautions {
        page.labelled("mind", caution);
    }
    if !hold.cautions.is_empty() {
        page.line("");
    }
    for person in &hold.people {
        person_sheet(page, person);
    }
    for question in &hold.questions {
        page.paragraph("  [ ] for the authority", width);
        page.labelled("ask", &question.question);
        page.labelled("rule", &question.rule);
        for clause in &question.clauses {
            page.labelled("clause", &clause_words(clause));
        }
    }
    page.line("");
}

fn person_sheet(page: &mut Page<'_>, person: &PersonSheet) {
    let title = person.title.as_deref().unwrap_or("Anyone");
    let title = page.painted(title, OPEN);
    page.line(&format!("  {title}"));
    page.line("");
    for computed in &person.computed {
        computation(page, computed);
    }
    for reading in &person.readings {
        asking(page, reading);
    }
    page.line("");
}

fn computation(page: &mut Page<'_>, computed: &Computed) {
    page.line(&format!("  [ ] {}", computed.of));
    ask(page, &computed.ask);
    page.labelled("from", &gathered(&computed.from));
}

fn ask(page: &mut Page<'_>, ask: &Ask) {
    page.labelled("asked", &ask_words(ask));
    for clause in &ask.clauses {
        page.labelled("clause", &clause_words(clause));
    }
}

fn asking(page: &mut Page<'_>, asking: &Asking) {
    let of = match asking.path.strip_prefix("site.") {
        Some(_) => String::new(),
        None => format!("{}: ", asking.thing),
    };
    let path = page.painted(&asking.path, QUIET);
    let is_filled = !asking.recorded.is_empty();
    let blank = if is_filled { "" } else { BLANK };
    page.line(&format!("  [ ] {of}{}  {blank}  {path}", asking.fact));
    let by = match &asking.by {
        Some(by) => format!("{} ({by})", asking.meaning),
        None => asking.meaning.clone(),
    };
    page.labelled("what", &by);
    if !asking.choices.is_empty() {
        page.labelled("one of", &asking.choices.join(", "));
    }
    for one in &asking.asks {
        ask(page, one);
    }
    if !asking.serves.is_empty() {
        page.labelled("serves", &served(&asking.serves));
    }
    if let Some(until) = &asking.until {
        page.labelled(
            "missed",
            &format!("after {}: {}", words(until), asking.missed),
        );
    }
    for recorded in &asking.recorded {
        page.labelled("recorded", &recorded_words(recorded));
    }
}

fn ask_words(ask: &Ask) -> String {
    let when = match ask.when.is_empty() {
        true => String::new(),
        false => format!(", where {}", ask.when.join(", and ")),
    };
    format!(
        "{}{when} [{}, {}]",
        ask.words,
        ask.rule,
        ask.obligation.words()
    )
}

fn served(rules: &[String]) -> String {
    let named = rules.iter().take(MOST_NAMED).cloned().collect::<Vec<_>>();
    let more = match rules.len().saturating_sub(MOST_NAMED) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    format!("{}{more}", named.join(", "))
}

/// Paths with what they have in common said once: `clearances (from, to, horizontal)`.
fn gathered(paths: &[String]) -> String {
    let mut lists: Vec<(&str, Vec<&str>)> = Vec::new();
    for path in paths {
        let (list, fact) = path.rsplit_once('.').unwrap_or(("site", path));
        match lists.iter_mut().find(|(known, _)| *known == list) {
            Some((_, facts)) => facts.push(fact),
            None => lists.push((list, vec![fact])),
        }
    }
    let lists = lists.iter();
    let lists: Vec<String> = lists
        .map(|(list, facts)| format!("{list} ({})", facts.join(", ")))
        .collect();
    lists.join("; ")
}

fn recorded_words(recorded: &Recorded) -> String {
    match recorded.values.is_empty() {
        true => format!("{}: {BLANK}", recorded.of),
        false => format!("{}: {}", recorded.of, recorded.values.join(", ")),
    }
}
