//! A proof for a person: a line a stage first, then what is to be mended, then what is to be looked
//! at.

use textwrap::{Options, WordSplitter, wrap};

use super::terminal::{OPEN, Page, SHORT, STRONG, Style, clause_words};
use crate::finding::{STANDING, Verdict};
use crate::prove::{Amendment, Changes, Force, OpenLimit, Proof, Suggestion, Unproved, Way};

/// A proof in words.
pub fn proof(proof: &Proof, style: Style) -> String {
    let mut page = Page::blank(style);
    let title = page.painted(&format!("Proof of {}", proof.of), STRONG);
    page.line(&title);
    page.line(&format!("  places as on {}", proof.on));
    page.line("");
    page.summary(proof);
    let (words, ansi) = match proof.proved {
        true => ("PROVED: the rules do what their cases say.", STRONG),
        false => ("NOT PROVED", SHORT),
    };
    let verdict = page.painted(words, ansi);
    page.line("");
    page.line(&verdict);
    page.line("");
    page.wrong(proof);
    page.lacking(proof);
    page.unproved(&proof.changes);
    page.suggestions(&proof.changes.suggestions);
    page.settled(proof);
    page.amendments(&proof.amendments);
    page.open_limits(&proof.open_limits);
    page.over_time(proof);
    page.never_decides(&proof.changes);
    page.paragraph(STANDING, style.width);
    page.line("");
    page.line(&format!(
        "groundrule {}, ruleset {}",
        env!("CARGO_PKG_VERSION"),
        &proof.ruleset[..proof.ruleset.len().min(DIGITS)]
    ));
    page.text
}

/// How many digits of a digest are shown.
const DIGITS: usize = 12;

/// `1 case`, `2 cases`.
fn counted(count: usize, one: &str, several: &str) -> String {
    match count {
        1 => format!("1 {one}"),
        _ => format!("{count} {several}"),
    }
}

impl Page<'_> {
    fn summary(&mut self, proof: &Proof) {
        let cases = &proof.cases;
        let run = counted(cases.run, "case", "cases");
        let expected = counted(cases.expectations, "verdict", "verdicts");
        let came_out = match cases.wrong.len() {
            0 => "all as expected".to_owned(),
            wrong => format!("{wrong} otherwise"),
        };
        self.labelled("cases", &format!("{run} with {expected}: {came_out}"));
        let lacking = match cases.lacking.len() {
            0 => "each rule has the cases that its form allows".to_owned(),
            lacking => format!("{} some case", counted(lacking, "rule lacks", "rules lack")),
        };
        self.labelled("rules", &lacking);
        let changes = &proof.changes;
        let mut words = vec![format!("{} noticed", changes.noticed)];
        if !changes.unproved.is_empty() {
            words.push(format!("{} unproved", changes.unproved.len()));
        }
        if !changes.never_decides.is_empty() {
            words.push(format!("{} never decide", changes.never_decides.len()));
        }
        let tried = counted(changes.tried, "is tried", "are tried");
        self.labelled("changes", &format!("{tried}: {}", words.join(", ")));
        let settled = match proof.settled.len() {
            0 => "no outcome is settled before anything is recorded".to_owned(),
            settled => format!(
                "{} settled before anything is recorded",
                counted(settled, "outcome is", "outcomes are")
            ),
        };
        self.labelled("settled", &settled);
        self.labelled("amended", &ways(&proof.amendments));
        let open = match proof.open_limits.len() {
            0 => "nothing is left to fill".to_owned(),
            open => format!("{} to fill", counted(open, "limit is", "limits are")),
        };
        self.labelled("open", &open);
        let times = match proof.over_time.len() {
            0 => "no gaps and no overlaps".to_owned(),
            times => format!("{} to look at", counted(times, "statement", "statements")),
        };
        self.labelled("dates", &times);
    }

    fn item(&mut self, name: &str, words: &str) {
        let options = Options::new(self.style.width)
            .initial_indent("  ")
            .subsequent_indent("      ")
            .break_words(false)
            .word_splitter(WordSplitter::NoHyphenation);
        for line in wrap(&format!("{name}  {words}"), options) {
            self.line(&line);
        }
    }

    fn wrong(&mut self, proof: &Proof) {
        let wrong = &proof.cases.wrong;
        if wrong.is_empty() {
            return;
        }
        self.section_title("CASES THAT COME OUT OTHERWISE", SHORT, wrong.len());
        for case in wrong {
            self.item(&case.rule, &case.case);
            self.labelled("at", &case.at.to_string());
            self.labelled("expected", &verdicts(&case.expected));
            self.labelled("found", &verdicts(&case.found));
        }
        self.line("");
    }

    fn lacking(&mut self, proof: &Proof) {
        let lacking = &proof.cases.lacking;
        if lacking.is_empty() {
            return;
        }
        self.section_title("RULES THAT LACK CASES", SHORT, lacking.len());
        for rule in lacking {
            self.item(&rule.rule, &rule.at.to_string());
            self.labelled("no case", &verdicts(&rule.verdicts));
        }
        self.line("");
    }

    fn unproved(&mut self, changes: &Changes) {
        if changes.unproved.is_empty() {
            return;
        }
        self.section_title("UNPROVED", SHORT, changes.unproved.len());
        self.paragraph(
            "Each of these was changed as told, and no case noticed.",
            self.style.width,
        );
        self.line("");
        for unproved in &changes.unproved {
            self.one_unproved(unproved);
        }
        self.line("");
    }

    fn one_unproved(&mut self, unproved: &Unproved) {
        self.item(
            &unproved.at.to_string(),
            &format!("{}: {} → {}", unproved.what, unproved.is, unproved.tried),
        );
        self.labelled("rules", &unproved.rules.join(", "));
        match (unproved.suggestion, &unproved.why_none) {
            (Some(at), _) => self.labelled("noticed", &format!("by suggested case {}", at + 1)),
            (None, Some(why)) => self.labelled("no case", why),
            (None, None) => {}
        }
    }

    fn suggestions(&mut self, suggestions: &[Suggestion]) {
        if suggestions.is_empty() {
            return;
        }
        self.section_title("SUGGESTED CASES", OPEN, suggestions.len());
        self.paragraph(
            "Each notices what is unproved above. Paste it at the end of its file if the verdict is the one that the clause means; mend the rule if it is not.",
            self.style.width,
        );
        for (at, suggestion) in suggestions.iter().enumerate() {
            self.line("");
            self.line(&format!("  {}, for {}:", at + 1, suggestion.file));
            self.line("");
            let is_first = |other: &Suggestion| other.file != suggestion.file;
            if let (Some(begins), true) =
                (&suggestion.begins, suggestions[..at].iter().all(is_first))
            {
                self.line("# a new file");
                begins.lines().for_each(|line| self.line(line));
            }
            for line in suggestion.yaml.lines() {
                self.line(line);
            }
        }
        self.line("");
    }

    fn settled(&mut self, proof: &Proof) {
        if proof.settled.is_empty() {
            return;
        }
        self.section_title(
            "SETTLED BEFORE ANYTHING IS RECORDED",
            SHORT,
            proof.settled.len(),
        );
        for settled in &proof.settled {
            let place = settled.place.as_ref();
            let at = place.map_or(String::new(), |place| format!(" at {place}"));
            self.item(&settled.rule, &format!("{}{at}", settled.outlook.words()));
            self.labelled("by", &settled.at.to_string());
        }
        self.line("");
    }

    fn amendments(&mut self, amendments: &[Amendment]) {
        if amendments.is_empty() {
            return;
        }
        self.section_title("WHAT PLACES CHANGE", OPEN, amendments.len());
        let mut place = "";
        for amendment in amendments {
            if amendment.place != place {
                place = &amendment.place;
                self.line(&format!("  {place}"));
            }
            let words = format!("{} ({})", amendment.change, amendment.at);
            let label = match amendment.way {
                Way::CannotTell => "unclear",
                Way::Loosens | Way::Tightens | Way::Rewords => amendment.way.words(),
            };
            self.labelled(label, &words);
            for force in &amendment.force {
                if let Some(words) = force.force.words() {
                    self.labelled("", &format!("from {} it {words}", force.from));
                }
            }
        }
        self.line("");
    }

    fn open_limits(&mut self, open: &[OpenLimit]) {
        if open.is_empty() {
            return;
        }
        self.section_title("LEFT TO THE PLACE", OPEN, open.len());
        self.paragraph(
            "Until the place fills these, the rules that use them only put the question to its authority.",
            self.style.width,
        );
        self.line("");
        for limit in open {
            let meaning = limit.meaning.as_deref().unwrap_or(&limit.expects);
            self.item(&limit.limit, &format!("{meaning} ({})", limit.place));
            self.labelled("rules", &limit.rules.join(", "));
            for clause in &limit.clauses {
                self.labelled("clause", &clause_words(clause));
            }
            self.labelled(
                "write",
                &format!("in {}, what is in < > filled:", limit.file),
            );
            self.line("");
            for line in limit.statement.lines() {
                self.line(line);
            }
            self.line("");
        }
    }

    fn over_time(&mut self, proof: &Proof) {
        if proof.over_time.is_empty() {
            return;
        }
        self.section_title("DATES TO LOOK AT", OPEN, proof.over_time.len());
        for entry in &proof.over_time {
            self.item(&entry.at.to_string(), &entry.what);
        }
        self.line("");
    }

    fn never_decides(&mut self, changes: &Changes) {
        let never = &changes.never_decides;
        if never.is_empty() {
            return;
        }
        self.section_title("WHAT NEVER DECIDES", OPEN, never.len());
        self.paragraph(
            "No complete record shows these changes, so that no case can. They stand as published.",
            self.style.width,
        );
        let mut whys: Vec<&str> = never.iter().map(|one| one.why.as_str()).collect();
        whys.sort_unstable();
        whys.dedup();
        for why in whys {
            self.line("");
            self.paragraph(&format!("  Since {why}:"), self.style.width);
            for one in never.iter().filter(|one| one.why == why) {
                let words = format!("{}: {} → {}", one.what, one.is, one.tried);
                self.item(&one.at.to_string(), &words);
            }
        }
        self.line("");
    }
}

fn verdicts(verdicts: &[Verdict]) -> String {
    let words: Vec<&str> = verdicts.iter().map(|verdict| verdict.words()).collect();
    match words.as_slice() {
        [] => "nothing: no rule of that name is in force there".to_owned(),
        words => words.join(", "),
    }
}

fn ways(amendments: &[Amendment]) -> String {
    if amendments.is_empty() {
        return "nothing".to_owned();
    }
    let mut words = Vec::new();
    for (way, one, several) in [
        (Way::Loosens, "loosens", "loosen"),
        (Way::Tightens, "tightens", "tighten"),
        (Way::Rewords, "rewords", "reword"),
        (Way::CannotTell, "can't be told", "can't be told"),
    ] {
        let count = amendments
            .iter()
            .filter(|amendment| amendment.way == way)
            .count();
        if count > 0 {
            words.push(counted(count, one, several));
        }
    }
    let stale = amendments
        .iter()
        .filter(|amendment| {
            amendment
                .force
                .iter()
                .any(|from| from.force == Force::Stale)
        })
        .count();
    if stale > 0 {
        words.push(counted(stale, "is stale", "are stale"));
    }
    let powerless = amendments
        .iter()
        .filter(|amendment| amendment.force.iter().any(|from| from.force.is_none()))
        .count();
    if powerless > 0 {
        words.push(counted(powerless, "has no force", "have no force"));
    }
    words.join(", ")
}
