//! Mistakes in, text with the lines they stand in out.

use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme, NamedSource};

use crate::finding::ReportedError;
use crate::library::Problem;
use crate::source::{SourceId, Sources, Span, is_hidden};

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
        if source.text.lines().any(|line| line.len() > LONGEST_LINE) {
            let told = reported(sources, &problem);
            text.push_str(&format!(
                "{}:{}: {}\n",
                source.name,
                told.line.unwrap_or(1),
                told.message
            ));
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

/// A mistake as it stands in JSON.
pub fn reported(sources: &Sources, problem: &Problem) -> ReportedError {
    let diagnostic: &dyn Diagnostic = problem.diagnostic.as_ref();
    let at = diagnostic
        .labels()
        .and_then(|mut labels| labels.next())
        .map(|label| position(sources, problem.source, label.offset()));
    ReportedError {
        code: diagnostic
            .code()
            .map_or_else(String::new, |code| code.to_string()),
        message: problem.diagnostic.to_string(),
        help: diagnostic.help().map(|help| help.to_string()),
        line: at.map(|at| at.line),
        column: at.map(|at| at.column),
    }
}

fn position(sources: &Sources, source: SourceId, offset: usize) -> crate::source::Position {
    let start = u32::try_from(offset.min(sources.get(source).text.len())).unwrap_or(0);
    sources.position(Span {
        source,
        start,
        end: start,
    })
}
