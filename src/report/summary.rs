//! The summary of an archive, for a person: what falls short first, what nobody could have known
//! last.

use super::terminal::{OPEN, Page, SHORT, STRONG, Style, harmless};
use crate::finding::{STANDING, Verdict};
use crate::kept::Kept;
use crate::screen::{RuleCount, Summary, Worst};

/// Says what was found in all records together, what was kept of it, and what was passed over.
pub fn summary(
    summary: &Summary,
    kept: Option<&Kept>,
    passed_over: Option<&str>,
    style: Style,
) -> String {
    let mut page = Page::blank(style);
    page.records(summary);
    page.worst(summary);
    page.rules(summary);
    page.lacks_the_same(summary);
    page.near(summary);
    page.places(summary);
    page.unread(summary);
    page.never_asked(summary);
    if let Some(kept) = kept {
        page.kept(kept);
    }
    if let Some(passed_over) = passed_over {
        page.prose(passed_over);
    }
    page.prose(STANDING);
    page.text
}

/// `1 record`, `2 records`
pub fn counted(count: usize, what: &str) -> String {
    match count {
        1 => format!("1 {what}"),
        count => format!("{count} {what}s"),
    }
}

impl Page<'_> {
    pub(super) fn heading(&mut self, title: &str, ansi: anstyle::Style) {
        let title = self.painted(title, ansi);
        self.line(&title);
        self.line("");
    }

    fn records(&mut self, summary: &Summary) {
        let of = |status: u8| summary.statuses.get(&status).copied().unwrap_or_default();
        let title = format!("{} screened", counted(summary.records, "record"));
        self.heading(&title, STRONG);
        for (status, words) in [
            (1, "fall short"),
            (3, "undecided, with nothing that falls short"),
            (2, "can't be read, or no rule is in force there"),
            (0, "in order at their stage"),
        ] {
            self.line(&format!("{:>9}  {words}", of(status)));
        }
        self.line("");
        let counts = Verdict::ALL.into_iter().map(|verdict| {
            let count = summary.verdicts.get(&verdict).copied();
            format!("{} {}", count.unwrap_or_default(), verdict.words())
        });
        let counts: Vec<String> = counts.collect();
        self.prose(&format!("Findings: {}.", counts.join(", ")));
        self.line("");
    }

    fn worst(&mut self, summary: &Summary) {
        if summary.worst.is_empty() {
            return;
        }
        let short = summary.statuses.get(&1).copied().unwrap_or_default();
        let title = match short > summary.worst.len() {
            true => format!("THE WORST {} OF THEM", summary.worst.len()),
            false => "THE WORST FIRST".to_owned(),
        };
        self.heading(&title, SHORT);
        for worst in &summary.worst {
            self.one_of_the_worst(worst);
        }
        self.line("");
    }

    fn one_of_the_worst(&mut self, worst: &Worst) {
        let record = self.painted(&format!("  {}", harmless(&worst.record)), STRONG);
        let count = match worst.falls_short {
            1 => "1 finding falls short".to_owned(),
            count => format!("{count} findings fall short"),
        };
        let apart = match worst.contradictions {
            0 => String::new(),
            1 => ", once because readings exclude each other".to_owned(),
            count => format!(", {count} times because readings exclude each other"),
        };
        self.line(&format!(
            "{record}  lot {}: {count}{apart}",
            harmless(&worst.lot)
        ));
        let found = match (&worst.measured, &worst.limit) {
            (Some(measured), Some(limit)) => format!("{measured} against {limit}"),
            (Some(measured), None) => measured.clone(),
            (None, _) => "what it asks is not so".to_owned(),
        };
        let share = worst.share.map(|share| format!(" ({})", percent(share)));
        let share = share.unwrap_or_default();
        self.labelled("worst", &format!("{}: {found}{share}", worst.rule));
        if !worst.hazards.is_empty() {
            let hazards: Vec<String> = worst
                .hazards
                .iter()
                .map(|hazard| hazard.replace('_', " "))
                .collect();
            self.labelled("hazard", &hazards.join(", "));
        }
    }

    fn rules(&mut self, summary: &Summary) {
        let mut rules: Vec<(&String, &RuleCount)> = summary.rules.iter().collect();
        rules.retain(|(_, count)| count.falls_short + count.undecided > 0);
        if rules.is_empty() {
            return;
        }
        rules.sort_by(|(_, one), (_, two)| {
            let by = |count: &RuleCount| (count.falls_short, count.undecided);
            by(two).cmp(&by(one))
        });
        self.heading("BY RULE (findings that are due)", STRONG);
        self.line("    short  undecided");
        let most = summary.setting.most;
        for (rule, count) in rules.iter().take(most) {
            let (short, undecided) = (count.falls_short, count.undecided);
            self.line(&format!("{short:>9}  {undecided:>9}  {rule}"));
        }
        self.left_out(rules.len(), most, "rule");
        self.line("");
    }

    fn lacks_the_same(&mut self, summary: &Summary) {
        let mut lacking: Vec<_> = summary.lacking.iter().collect();
        if lacking.is_empty() {
            return;
        }
        lacking.sort_by_key(|(_, one)| std::cmp::Reverse(one.records));
        self.heading("RECORDS THAT LACK THE SAME FACT", OPEN);
        let most = summary.setting.most;
        for (path, lacking) in lacking.iter().take(most) {
            self.line(&format!("{:>9}  {path}", lacking.records));
            self.labelled("such as", &lacking.first.join(", "));
        }
        self.left_out(lacking.len(), most, "fact");
        self.line("");
    }

    fn near(&mut self, summary: &Summary) {
        let Some(near) = summary.setting.near.filter(|_| summary.near_count > 0) else {
            return;
        };
        let title = format!("MET BY LESS THAN {} OF THE LIMIT", percent(near));
        self.heading(&format!("{title} ({})", summary.near_count), OPEN);
        for near in &summary.near {
            let at = match near.subject.as_str() {
                "" => String::new(),
                subject => format!(" at {subject}"),
            };
            let record = harmless(&near.record);
            self.line(&format!("  {record}  {}{at}", near.rule));
            let share = percent(near.share);
            let found = format!("{} against {} ({share})", near.measured, near.limit);
            self.labelled("found", &found);
        }
        self.left_out(summary.near_count, summary.near.len(), "finding");
        self.line("");
    }

    fn places(&mut self, summary: &Summary) {
        if summary.places.is_empty() {
            return;
        }
        self.heading("BY PLACE", STRONG);
        self.line("    short  undecided  in order");
        for (place, count) in &summary.places {
            self.line(&format!(
                "{:>9}  {:>9}  {:>8}  {place}",
                count.falls_short, count.undecided, count.in_order
            ));
        }
        self.line("");
    }

    fn unread(&mut self, summary: &Summary) {
        let count = summary.statuses.get(&2).copied().unwrap_or_default();
        if count == 0 {
            return;
        }
        self.heading(&format!("NOT READ ({count})"), SHORT);
        for unread in &summary.unread {
            let error = &unread.error;
            let cell = error.cell.as_ref().map(|cell| format!("{cell}: "));
            let line = error.line.map(|line| format!("line {line}: "));
            let at = cell.or(line).unwrap_or_default();
            self.line(&format!("  {}", harmless(&unread.record)));
            let others = match unread.others {
                0 => String::new(),
                count => format!(" (and {})", counted(count, "more error")),
            };
            self.labelled("error", &format!("{at}{}{others}", error.message));
            if let Some(help) = &error.help {
                self.labelled("mend", help);
            }
        }
        self.left_out(count, summary.unread.len(), "record");
        self.line("");
    }

    fn never_asked(&mut self, summary: &Summary) {
        if summary.never_asked.is_empty() {
            return;
        }
        let findings: usize = summary.rules.values().map(|count| count.never_asked).sum();
        self.heading("WHAT THE CARDS NEVER ASKED", STRONG);
        self.prose(&format!(
            "{} can't be decided for want of what no card of this archive ever had:",
            counted(findings, "finding")
        ));
        let mut asked: Vec<_> = summary.never_asked.iter().collect();
        asked.sort_by_key(|(_, records)| std::cmp::Reverse(**records));
        let most = summary.setting.most;
        let named = asked.iter().take(most).map(|(path, _)| path.as_str());
        let named: Vec<&str> = named.collect();
        self.prose(&format!("{}.", named.join(", ")));
        self.left_out(asked.len(), most, "fact");
        self.line("");
    }

    pub(super) fn prose(&mut self, prose: &str) {
        let width = self.style.width;
        self.paragraph(prose, width);
    }

    fn left_out(&mut self, all: usize, shown: usize, what: &str) {
        if all > shown {
            let left = all - shown;
            let what = if left == 1 {
                what.to_owned()
            } else {
                format!("{what}s")
            };
            self.line(&format!("  and {left} more {what}"));
        }
    }
}

/// A share in per cent, with two digits where it is small.
fn percent(share: f64) -> String {
    let percent = share * 100.0;
    let text = match percent.abs() {
        small if small < 10.0 => format!("{percent:.1}"),
        _ => format!("{percent:.0}"),
    };
    let short = text.strip_suffix(".0").unwrap_or(&text);
    format!("{short} %")
}
