//! `why RECORD RULE`: the whole computation of one rule on one record.

use groundrule::judge::{self, Describer, Explanation};
use groundrule::report::terminal;
use groundrule::screen::{Content, Screening, Submitted};
use groundrule::source::Sources;

use crate::args::{TextOrJson, Why};
use crate::input::{self, Failure};
use crate::output;

/// Explains each finding of the rule; the exit status is that of those findings alone.
pub fn run(why: &Why) -> Result<u8, Failure> {
    let opened = input::library(&why.common)?;
    let overrides = input::overrides(&why.common, &opened)?;
    let (name, content) = input::record(&why.record)?;
    let mut sources = Sources::default();
    let screening = Screening::new(&opened, &overrides, &[], None, &input::plan);
    let submitted = Submitted {
        name,
        content: Content::Whole(content),
    };
    let judged = screening
        .judged(&mut sources, &submitted)
        .map_err(|problems| input::rendered(&sources, problems))?;
    let describer = Describer::new(
        &opened.library,
        &judged.chosen.program,
        &opened.survey,
        &judged.record,
        &sources,
    );
    let explanations = judge::why(&describer, &opened.sources, &why.rule);
    if explanations.is_empty() {
        return Err(unknown_rule(why, &judged));
    }
    let findings: Vec<_> = explanations
        .iter()
        .map(|explanation| explanation.finding.clone())
        .collect();
    let style = terminal::Style {
        colour: output::stdout_has_colour(why.common.listing.to.as_deref()),
        width: output::width(),
    };
    let said = terminal::provenance(&opened.provenance, style);
    let text = match why.common.listing.text_or_json()? {
        TextOrJson::Text => terminal::explanations(&explanations, style) + &said,
        TextOrJson::Json => {
            // An explanation itself has no place for it.
            if !said.is_empty() {
                output::complain(&said);
            }
            lines(&explanations)
        }
    };
    output::write(&text, why.common.listing.to.as_deref())?;
    Ok(judge::exit_status(&findings))
}

fn lines(explanations: &[Explanation]) -> String {
    let lines = explanations.iter().map(|explanation| {
        let line = serde_json::to_string(explanation);
        line.expect("an explanation holds only what JSON can say") + "\n"
    });
    lines.collect()
}

fn unknown_rule(why: &Why, judged: &judge::Judged) -> Failure {
    if why.rule.starts_with("record.") {
        return Failure::Option {
            what: format!("`{}` is built in: no rule computes it", why.rule),
            mend: "`check` shows what it is about, with the readings or the permit".to_owned(),
        };
    }
    let mut known: Vec<&str> = judged
        .report
        .findings
        .iter()
        .flatten()
        .map(|finding| finding.rule.as_str())
        .collect();
    known.dedup();
    Failure::Option {
        what: format!("no rule `{}` is in force for this record", why.rule),
        mend: match input::nearest(&why.rule, &known) {
            Some(rule) => format!("the nearest that is: {rule}"),
            None => "no rule is in force for it".to_owned(),
        },
    }
}
