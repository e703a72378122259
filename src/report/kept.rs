//! What a screening left in its file, for a person: how much was judged again, and what turned
//! since the screening before.

use super::summary::counted;
use super::terminal::{Page, STRONG, harmless};
use crate::kept::{Kept, Since, Turned};

/// In a line, beside output that is not for a person.
pub fn line(kept: &Kept) -> String {
    let file = kept.file.display();
    let since = kept
        .since
        .as_ref()
        .map(|since| format!(" {}", turned(since)));
    format!(
        "Kept in {file}: {}{}",
        judged(kept),
        since.unwrap_or_default()
    )
}

/// How many records were judged.
fn judged(kept: &Kept) -> String {
    let went_on = match kept.went_on {
        0 => String::new(),
        count => format!(
            " A screening that was cut off went on, with {} of it done.",
            counted(count, "record")
        ),
    };
    let again = match kept.records - kept.judged {
        0 => String::new(),
        count => format!(" and {count} taken over, since nothing about them changed"),
    };
    let records = counted(kept.records, "record");
    format!("{records}: {} judged{again}.{went_on}", kept.judged)
}

/// What turned, in numbers.
fn turned(since: &Since) -> String {
    let day = since.began.get(..10).unwrap_or(&since.began);
    let otherwise = since.asked_otherwise.iter();
    let otherwise: String = otherwise.map(|how| format!(", {how}")).collect();
    let counts = since.counts.iter();
    let counts: Vec<String> = counts
        .map(|(turn, count)| format!("{count} {turn}"))
        .collect();
    let counts = match counts.is_empty() {
        true => "nothing turned".to_owned(),
        false => counts.join(", "),
    };
    format!("Since the screening before ({day}{otherwise}): {counts}.")
}

impl Page<'_> {
    pub(super) fn kept(&mut self, kept: &Kept) {
        let file = kept.file.display().to_string();
        self.heading(&format!("KEPT IN {}", harmless(&file)), STRONG);
        self.prose(&judged(kept));
        if let Some(since) = &kept.since {
            self.prose(&turned(since));
            for one in &since.first {
                self.turned(one);
            }
        }
        self.line("");
    }

    fn turned(&mut self, turned: &Turned) {
        let record = harmless(&turned.record);
        let Some(rule) = &turned.rule else {
            self.line(&format!("  {record}  {}", turned.turn));
            return;
        };
        let at = turned
            .subject
            .as_ref()
            .map(|subject| format!(" at {subject}"));
        let at = harmless(&at.unwrap_or_default());
        self.line(&format!("  {record}  {rule}{at}: {}", turned.turn));
        let said = |said: &Option<String>| said.clone().unwrap_or_else(|| "no value".to_owned());
        if turned.before.is_some() || turned.after.is_some() {
            let both = format!("{}; now {}", said(&turned.before), said(&turned.after));
            self.labelled("was", &both);
        }
    }
}
