//! Mistakes in, text with the lines they stand in out.

use miette::{GraphicalReportHandler, GraphicalTheme, NamedSource};

use crate::finding::ReportedError;
use crate::library::Problem;
use crate::source::{Sources, is_hidden};

/// The longest line, in bytes, on which a label is drawn.
const LONGEST_LINE: usize = 60_000;

/// Every mistake with its lines, as its author is shown it.
pub fn render(sources: &Sources, problems: Vec<Problem>, colour: bool, width: usize) -> String {
    let theme = if colour {
        GraphicalTheme::unicode()
    } else {
        GraphicalTheme::unicode_nocolor()
    };
    let handler = GraphicalReportHandler::new_themed(theme)
        .with_width(width)
        .with_links(false);
    let mut text = String::new();
    for problem in problems {
        let source = sources.get(problem.source);
        if source.is_part || source.text.lines().any(|line| line.len() > LONGEST_LINE) {
            text.push_str(&plain(&source.name, &problem.reported(sources)));
            continue;
        }
        let named = NamedSource::new(&source.name, harmless(&source.text));
        let report = problem.diagnostic.with_source_code(named);
        if handler.render_report(&mut text, report.as_ref()).is_err() {
            text.push_str(&format!("{}: {report}\n", source.name));
        }
        text.push('\n');
    }
    text
}

/// A text with what a terminal would obey replaced, byte for byte, so that places stay places.
fn harmless(text: &str) -> String {
    let shown = |letter: char| match (letter, letter.len_utf8()) {
        ('\n' | '\r' | '\t', _) => letter,
        (hidden, 1) if is_hidden(hidden) => '?',
        (hidden, 2) if is_hidden(hidden) => '\u{BF}',
        (hidden, 3) if is_hidden(hidden) => '\u{FFFD}',
        (seen, _) => seen,
    };
    text.chars().map(shown).collect()
}

/// A mistake without the line it stands in.
pub fn plain(name: &str, told: &ReportedError) -> String {
    let line = told.line.map(|line| format!(":{line}")).unwrap_or_default();
    let cell = told.cell.as_ref().map(|cell| format!(" {cell}:"));
    let help = told.help.as_ref().map(|help| format!("  help: {help}\n"));
    format!(
        "{name}{line}:{} {}\n{}",
        cell.unwrap_or_default(),
        told.message,
        help.unwrap_or_default()
    )
}
