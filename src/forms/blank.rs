//! A record to fill in: every fact that the rules in force ask for, a comment a line, and what is
//! recorded already.
//!
//! Lists of which nothing is known are written as an empty key with a sample entry in comments:
//! left alone, they stay *not recorded*.

use std::fmt::Write;

use super::worksheet::{Asked, Asking, Template, Worksheet};
use crate::check::typed::Library;
use crate::quantity::Dimension;
use crate::record::tree::{Node, NodeKind};
use crate::record::{HEAD_KEYS, tolerance_names};
use crate::vocabulary::{Member, SITE, Thing, ThingId, Type, Vocabulary};

/// The column in which comments begin, where the line leaves room.
const COMMENT_COLUMN: usize = 34;
/// The longest words of a rule that a comment repeats.
const MOST_WORDS: usize = 90;

/// The record of a worksheet, as YAML.
///
/// `recorded` is the tree of the record that the worksheet was made with. What stands in it is
/// written as it was, where it was, whether or not a rule asks for it; its comments are not.
pub fn blank_record(
    library: &Library,
    asked: &Asked,
    worksheet: &Worksheet,
    recorded: Option<&Node>,
) -> String {
    let template = asked.template(&library.vocabulary);
    let mut page = Page {
        vocabulary: &library.vocabulary,
        askings: worksheet
            .holds
            .iter()
            .flat_map(|hold| &hold.people)
            .flat_map(|person| &person.readings)
            .collect(),
        text: String::new(),
    };
    page.head(worksheet, recorded);
    page.lot(&template, recorded);
    page.text
}

struct Page<'a> {
    vocabulary: &'a Vocabulary,
    askings: Vec<&'a Asking>,
    text: String,
}

/// Where a line stands: how deep, and whether it is a sample in comments.
#[derive(Clone, Copy)]
struct Margin {
    columns: usize,
    sample: bool,
}

impl Margin {
    const HEAD: Margin = Margin {
        columns: 0,
        sample: false,
    };

    fn deeper(self) -> Margin {
        Margin {
            columns: self.columns + 2,
            ..self
        }
    }

    fn as_sample(self) -> Margin {
        Margin {
            sample: true,
            ..self
        }
    }
}

impl Page<'_> {
    /// `first` is the mark of an entry's first line, `- `.
    fn line(&mut self, margin: Margin, first: bool, content: &str, comment: &str) {
        let mut line = String::new();
        if margin.sample {
            line.push_str("# ");
        }
        let columns = match first {
            true => margin.columns - 2,
            false => margin.columns,
        };
        line.push_str(&" ".repeat(columns));
        if first {
            line.push_str("- ");
        }
        line.push_str(content);
        if !comment.is_empty() {
            let width = line.chars().count();
            let room = COMMENT_COLUMN.saturating_sub(width).max(1);
            let comment = comment.replace(['\n', '\r'], " ");
            let _ = write!(line, "{}# {comment}", " ".repeat(room));
        }
        self.text.push_str(&line);
        self.text.push('\n');
    }

    // The head.

    fn head(&mut self, worksheet: &Worksheet, recorded: Option<&Node>) {
        let places = worksheet.places.join(", ");
        self.text
            .push_str("# A record to fill in. What is left empty is not recorded. Every quantity carries its unit.\n");
        self.text.push_str(
            "# A list with nothing behind it may hold anything: take the `# ` from its sample and copy it for\n# each thing there is, or write `none`. A list that may go on ends in `- more`.\n",
        );
        self.text.push_str(&format!("# {}\n", worksheet.standing));
        if let Some(root) = recorded {
            for entry in root.entries().unwrap_or_default() {
                if HEAD_KEYS.contains(&&*entry.key.value) {
                    self.entry(Margin::HEAD, false, &entry.key.value, &entry.value, "");
                }
            }
            return;
        }
        self.line(Margin::HEAD, false, "record: 1", "the format");
        self.line(Margin::HEAD, false, "lot:", "which lot this is");
        self.line(Margin::HEAD, false, &format!("place: [ {places} ]"), "");
        self.line(Margin::HEAD, false, "permits:", "");
        let mut kinds: Vec<&str> = Vec::new();
        for permit in &worksheet.permits {
            if let Some(kind) = &permit.permit
                && !kinds.contains(&kind.as_str())
            {
                kinds.push(kind);
                let which = permit.which.as_deref().unwrap_or("issued");
                let content = format!("{kind}: {{ number: , {which}: {} }}", permit.on);
                self.line(Margin::HEAD.deeper(), false, &content, "");
            }
        }
        self.line(
            Margin::HEAD,
            false,
            "recorded: { by: , role: , date: }",
            "who, as what, on which day: 2026-04-18",
        );
        let holds: Vec<&str> = self
            .vocabulary
            .holds
            .iter()
            .map(|hold| hold.name.as_str())
            .collect();
        self.line(Margin::HEAD, false, "stage:", &holds.join(", "));
        let kinds = format!(
            "how far a reading may be off, by type: {{ length: 1/4 in, others: exact }}; types: {}",
            tolerance_names().collect::<Vec<_>>().join(", ")
        );
        self.line(Margin::HEAD, false, "tolerances:", &kinds);
        self.line(
            Margin::HEAD,
            false,
            "datum:",
            "what elevations are above, where there are any",
        );
    }

    // The lot.

    fn lot(&mut self, template: &Template, recorded: Option<&Node>) {
        let vocabulary = self.vocabulary;
        self.text.push('\n');
        let site = recorded.and_then(|root| root.get("site"));
        self.line(Margin::HEAD, false, "site:", "the lot itself");
        self.facts(Margin::HEAD.deeper(), false, template, "site", site);
        let thing = vocabulary.thing(SITE);
        for at in thing.list_ids() {
            let list = &thing.list(at).name;
            let written = recorded.and_then(|root| root.get(list));
            let inner = template.lists.iter().find(|(known, _)| *known == at);
            if inner.is_some() || written.is_some() {
                self.text.push('\n');
                self.list(
                    Margin::HEAD,
                    false,
                    thing,
                    list,
                    inner.map(|(_, inner)| inner),
                    written,
                    "",
                );
            }
        }
    }

    /// The facts of a thing, those recorded first and as they are; then those that are asked for.
    /// Says whether anything was written.
    fn facts(
        &mut self,
        margin: Margin,
        mut first: bool,
        template: &Template,
        path: &str,
        recorded: Option<&Node>,
    ) -> bool {
        let vocabulary = self.vocabulary;
        let thing = vocabulary.thing(template.thing);
        for entry in recorded.and_then(Node::entries).unwrap_or_default() {
            let name = &*entry.key.value;
            let is_list = matches!(thing.members.get(name), Some(Member::List(_)));
            if !is_list && !entry.value.is_empty() {
                let comment = match thing.fact_named(name) {
                    Some(_) => self
                        .asking(&format!("{path}.{name}"))
                        .map(|asking| comment(asking, false)),
                    None => None,
                };
                self.entry(
                    margin,
                    first,
                    name,
                    &entry.value,
                    &comment.unwrap_or_default(),
                );
                first = false;
            }
        }
        for fact in &template.facts {
            let known = thing.fact(*fact);
            let written = recorded.and_then(|node| node.get(&known.name));
            if written.is_none_or(Node::is_empty) {
                let asking = self.asking(&format!("{path}.{}", known.name));
                let comment = asking.map_or(known.meaning.clone(), |asking| comment(asking, true));
                let unit = example(vocabulary, known.kind);
                let comment = format!("{unit}{comment}");
                self.line(margin, first, &format!("{}:", known.name), &comment);
                first = false;
            }
        }
        first
    }

    fn asking(&self, path: &str) -> Option<&Asking> {
        let found = self.askings.iter().find(|asking| asking.path == path);
        found.copied()
    }

    #[expect(
        clippy::too_many_arguments,
        reason = "a list's two sides: what is asked, what is there"
    )]
    fn list(
        &mut self,
        margin: Margin,
        first: bool,
        owner: &Thing,
        name: &str,
        template: Option<&Template>,
        recorded: Option<&Node>,
        path: &str,
    ) {
        let Some(list) = owner.list_named(name) else {
            return;
        };
        let declared = owner.list(list);
        let path = match path {
            "" => name.to_owned(),
            _ => format!("{path}.{name}"),
        };
        let bare = Template::bare(declared.of);
        let template = template.unwrap_or(&bare);
        match recorded.map(|node| &node.kind) {
            Some(NodeKind::Sequence(elements)) => {
                self.line(margin, first, &format!("{name}:"), &declared.meaning);
                for element in elements {
                    self.element(margin.deeper(), template, &path, element);
                }
            }
            Some(NodeKind::Scalar(_)) => {
                let node = recorded.expect("the scalar was found in it");
                self.entry(margin, first, name, node, &declared.meaning);
            }
            Some(NodeKind::Empty | NodeKind::Mapping(_) | NodeKind::Unreadable) | None => {
                self.line(margin, first, &format!("{name}:"), &declared.meaning);
                self.sample(margin.deeper(), template, &path);
            }
        }
    }

    fn element(&mut self, margin: Margin, template: &Template, path: &str, element: &Node) {
        let NodeKind::Mapping(_) = element.kind else {
            let content = inline(element);
            return self.line(margin, true, &content, "");
        };
        let vocabulary = self.vocabulary;
        let thing = vocabulary.thing(template.thing);
        let mut first = self.facts(margin, true, template, path, Some(element));
        for at in thing.list_ids() {
            let list = &thing.list(at).name;
            let written = element.get(list);
            let inner = template.lists.iter().find(|(known, _)| *known == at);
            if inner.is_some() || written.is_some() {
                self.list(
                    margin,
                    first,
                    thing,
                    list,
                    inner.map(|(_, inner)| inner),
                    written,
                    path,
                );
                first = false;
            }
        }
        if first {
            self.line(margin, true, "{}", "nothing is recorded of it");
        }
    }

    /// An entry that shows what may be written, in comments.
    fn sample(&mut self, margin: Margin, template: &Template, path: &str) {
        let vocabulary = self.vocabulary;
        let margin = margin.as_sample();
        let mut first = true;
        // Only what stands at the left margin is referred to by others.
        if !path.contains('.') {
            self.line(margin, true, "id:", "its name on this lot");
            first = false;
        }
        first = self.facts(margin, first, template, path, None);
        let thing = vocabulary.thing(template.thing);
        for (at, inner) in &template.lists {
            let list = &thing.list(*at).name;
            self.list(margin, first, thing, list, Some(inner), None, path);
            first = false;
        }
    }

    /// A key and a value that stand in the record.
    fn entry(&mut self, margin: Margin, first: bool, key: &str, value: &Node, comment: &str) {
        let content = format!("{}: {}", quoted(key), inline(value));
        self.line(margin, first, content.trim_end(), comment);
    }
}

impl Template {
    /// Of a thing of which no rule asks anything.
    fn bare(thing: ThingId) -> Template {
        Template {
            thing,
            facts: Vec::new(),
            lists: Vec::new(),
        }
    }
}

/// What a line says of a fact: its meaning and how it is had; where it is still to be read, also
/// the labels it may have, what is asked of it and what it costs to miss it.
fn comment(asking: &Asking, is_open: bool) -> String {
    let mut parts = vec![match &asking.by {
        Some(by) => format!("{} ({by})", asking.meaning),
        None => asking.meaning.clone(),
    }];
    if is_open {
        if !asking.choices.is_empty() {
            parts.push(asking.choices.join(", "));
        }
        for ask in &asking.asks {
            match ask.words.chars().count() <= MOST_WORDS {
                true => parts.push(format!("{} [{}]", ask.words, ask.rule)),
                false => parts.push(format!("see {}", ask.rule)),
            }
        }
        if asking.until.is_some() {
            parts.push(format!("missed: {}", asking.missed));
        }
    }
    parts.join("; ")
}

/// An example of a value, before what it means.
fn example(vocabulary: &Vocabulary, kind: Type) -> String {
    let example = match kind {
        Type::Quantity(Dimension::LENGTH) => "as 2 ft 6 in: ",
        Type::Slope => "as 1/4 in/ft: ",
        Type::Point(point) => match point.name() {
            "date" => "as 2026-04-18: ",
            "temperature" => "as 6 degF: ",
            "chainage" => "as 38 ft, along the run: ",
            _ => "as 812.40 ft: ",
        },
        Type::YesNo => "yes or no: ",
        Type::Quantity(_) | Type::Text | Type::Reference | Type::Label(_) => "",
    };
    let is_unit_due = matches!(kind, Type::Quantity(dimension) if dimension != Dimension::NUMBER && dimension != Dimension::LENGTH);
    match is_unit_due {
        true => format!("{} with its unit: ", vocabulary.type_name(kind)),
        false => example.to_owned(),
    }
}

/// A value on one line, in flow style.
fn inline(node: &Node) -> String {
    match &node.kind {
        NodeKind::Empty | NodeKind::Unreadable => String::new(),
        NodeKind::Scalar(scalar) => quoted(&scalar.text),
        NodeKind::Sequence(elements) => {
            let elements: Vec<String> = elements.iter().map(inline).collect();
            format!("[ {} ]", elements.join(", "))
        }
        NodeKind::Mapping(entries) => {
            let entries = entries.iter();
            let entries: Vec<String> = entries
                .map(|entry| format!("{}: {}", quoted(&entry.key.value), inline(&entry.value)))
                .collect();
            match entries.is_empty() {
                true => "{}".to_owned(),
                false => format!("{{ {} }}", entries.join(", ")),
            }
        }
    }
}

/// A text bare where that is safe in YAML, else in the quotes of JSON, which YAML reads too.
fn quoted(text: &str) -> String {
    let is_plain =
        |character: char| character.is_alphanumeric() || " _./±%()+°×µΩ²³-".contains(character);
    let starts = text.chars().next().is_some_and(char::is_alphanumeric);
    let null = ["null", "Null", "NULL", "~"].contains(&text);
    if starts && !null && text.trim() == text && text.chars().all(is_plain) {
        text.to_owned()
    } else {
        serde_json::to_string(text).expect("a text can be said in JSON")
    }
}
