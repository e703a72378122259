//! A place's rules as one page that needs nothing else: no server, no script, no other file.
//!
//! Every text is escaped, and characters that aren't seen are shown as such, since a ruleset may
//! come from a stranger. Style and script are named by their digests, so that no other runs.

mod marks;
mod rule;

use base64ct::{Base64, Encoding};
use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

use crate::finding::STANDING;
use crate::forms::{AuthorityEntry, Coming, OpenLimit, Published, PublishedTopic};
use crate::source::is_hidden;
use marks::{anchor, words};

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");

/// What the page says of the ruleset file beside it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Edition {
    /// Who signed it; none where nobody did.
    pub signed: Option<SignerLine>,
    /// Whose keys sign this place's rulesets, and when.
    pub signers: Vec<SignerLine>,
    /// The editions that are no longer the place's.
    pub superseded: Vec<SupersededLine>,
}

/// A signer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignerLine {
    /// Who.
    pub principal: String,
    /// The fingerprint of the key.
    pub key: String,
    /// When the key signs.
    pub period: String,
}

/// An edition that is no longer the place's.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SupersededLine {
    /// Its digest.
    pub digest: String,
    /// From when.
    pub until: String,
    /// By what.
    pub by: String,
}

/// What stands in the head of every page, by which an earlier page is known.
pub const MARK: &str = "<meta name=\"generator\" content=\"groundrule\">";

/// The page.
pub fn page(published: &Published, edition: &Edition) -> String {
    let markup = html! {
        (DOCTYPE)
        html lang="en" {
            (head(published))
            body {
                a class="skip" href="#rules" { "To the rules" }
                header class="top" { (title(published)) }
                div class="columns" {
                    nav aria-label="Contents" { (contents(published)) }
                    main {
                        (standing(published))
                        (open(&published.open))
                        (to_come(&published.to_come))
                        (rules(published))
                        (not_in_force(published))
                        (about(published, edition))
                    }
                }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    };
    let shown = |letter| match letter {
        '\n' | '\t' => letter,
        hidden if is_hidden(hidden) => '\u{FFFD}',
        seen => seen,
    };
    markup.into_string().chars().map(shown).collect::<String>() + "\n"
}

fn head(published: &Published) -> Markup {
    let digest = |text: &str| Base64::encode_string(&Sha256::digest(text));
    let policy = format!(
        "default-src 'none'; style-src 'sha256-{}'; script-src 'sha256-{}'; base-uri 'none'; form-action 'none'",
        digest(STYLE),
        digest(SCRIPT)
    );
    html! {
        head {
            meta charset="utf-8";
            meta http-equiv="Content-Security-Policy" content=(policy);
            (PreEscaped(MARK))
            meta name="viewport" content="width=device-width, initial-scale=1";
            meta name="color-scheme" content="light dark";
            meta name="referrer" content="no-referrer";
            title { (published.title) ": rules for pressure-sewer installations" }
            style { (PreEscaped(STYLE)) }
        }
    }
}

fn title(published: &Published) -> Markup {
    html! {
        p class="over" { "Rules for pressure-sewer installations" }
        h1 { (published.title) }
        p { "In force for permits dated " time datetime=(published.on) { (published.on) }
            "; what changes later stands under " a href="#to-come" { "To come" } "." }
        p class="digest" { "Ruleset " code { (published.digest) } }
    }
}

fn contents(published: &Published) -> Markup {
    html! {
        div class="search" hidden {
            label for="search" { "Search the rules" }
            input id="search" type="search" autocomplete="off" placeholder="cable, 300.5, before cover…";
            p id="found" role="status" {}
        }
        h2 { "Contents" }
        ul {
            li { a href="#standing" { "What this page is, and whom to ask" } }
            li { a href="#open" { "Left open: ask the authority" } }
            li { a href="#to-come" { "To come" } }
            li {
                a href="#rules" { "Rules in force" }
                ul {
                    @for topic in &published.topics {
                        li { a href={ "#" (anchor(&topic.topic)) } { (topic.title) } " "
                             span class="count" { (topic.rules.len()) } }
                    }
                }
            }
            li { a href="#not-in-force" { "Topics not in force here" } }
            li { a href="#about" { "The ruleset file, its digest and signature" } }
        }
    }
}

fn standing(published: &Published) -> Markup {
    html! {
        section id="standing" class="standing" {
            h2 { "What this page is" }
            p { strong { (STANDING) } }
            p { "Here stand the rules that it screens by. Verify each with the local authority before relying on it. The text that the authority adopted always governs." }
            (authorities(&published.authorities))
        }
    }
}

fn authorities(known: &[AuthorityEntry]) -> Markup {
    html! {
        @if known.is_empty() {
            p { "No authority is named for this place." }
        } @else {
            dl class="authorities" {
                @for authority in known {
                    div {
                        dt {
                            @match &authority.permit {
                                Some(permit) => { (words(permit)) " permits" }
                                None => { "anything else" }
                            }
                            span class="of" { " · " (authority.place) }
                        }
                        dd { (authority.name) ", " (authority.contact) }
                    }
                }
            }
        }
    }
}

fn open(limits: &[OpenLimit]) -> Markup {
    html! {
        section id="open" {
            h2 { "Left open: ask the authority" }
            @if limits.is_empty() {
                p { "Every limit of the rules in force has a value here." }
            } @else {
                p { "The model leaves these to the place, and nobody has set them. Until somebody does, the rules that need them can't be decided." }
                ul {
                    @for limit in limits {
                        li {
                            code { (limit.name) }
                            @if let Some(meaning) = &limit.meaning { ", " (meaning) }
                            " (needed by "
                            @for (at, rule) in limit.rules.iter().enumerate() {
                                @if at > 0 { ", " }
                                a href={ "#" (anchor(rule)) } { (rule) }
                            }
                            "). " (limit.caution)
                        }
                    }
                }
            }
        }
    }
}

fn to_come(coming: &[Coming]) -> Markup {
    html! {
        section id="to-come" {
            h2 { "To come" }
            @if coming.is_empty() { p { "No later change is written down yet." } }
            @for change in coming {
                h3 { "For permits dated from " time datetime=(change.from) { (change.from) } }
                @if !change.changed.is_empty() || !change.gone.is_empty() {
                    ul {
                        @for changed in &change.changed {
                            li {
                                a href={ "#" (anchor(&changed.rule)) } { (changed.rule) } ": "
                                code { (changed.limit.name) } " " (changed.was) " → "
                                strong { (changed.limit.value) }
                                (rule::way(&changed.limit))
                            }
                        }
                        @for (rule, title) in &change.gone {
                            li { "No longer in force: " code { (rule) } ", " (title) }
                        }
                    }
                }
                @for added in &change.added { (rule::article(added, Some(&change.from))) }
            }
        }
    }
}

fn rules(published: &Published) -> Markup {
    html! {
        section id="rules" {
            h2 { "Rules in force" }
            @if published.topics.is_empty() { p { "No rule is in force here on this date." } }
            @for topic in &published.topics { (one_topic(topic)) }
        }
    }
}

fn one_topic(topic: &PublishedTopic) -> Markup {
    html! {
        section class="topic" id=(anchor(&topic.topic)) {
            h3 { (topic.title) }
            p class="by" {
                @match &topic.permit {
                    Some(permit) => { "By the date of the " (words(permit)) " permit." }
                    None => { "By the date on which the work is recorded." }
                }
                @if topic.as_read { " Readings are taken as they read; tolerances are told beside the verdict." }
            }
            @for known in &topic.rules { (rule::article(known, None)) }
            @for table in &topic.tables { (rule::table(table)) }
        }
    }
}

fn not_in_force(published: &Published) -> Markup {
    html! {
        section id="not-in-force" {
            h2 { "Topics not in force here" }
            @if published.not_in_force.is_empty() { p { "Every topic of the model is in force." } }
            @else {
                p { "The model has rules on these, but no place adopts them here on this date, their precautions for people at work apart. Other law may still apply: ask." }
                ul { @for (name, title) in &published.not_in_force { li { (title) " (" code { (name) } ")" } } }
            }
        }
    }
}

fn about(published: &Published, edition: &Edition) -> Markup {
    html! {
        section id="about" {
            h2 { "The ruleset file" }
            p { a href="ruleset" { code { "ruleset" } } " beside this page holds these rules for "
                code { (published.place) } ". A record is checked by it with "
                code { "groundrule check RECORD --library ruleset" } "." }
            p { "Its rules have the digest " code class="long" { (published.digest) } ". "
                a href="digests.txt" { code { "digests.txt" } } " has the digests of all files, as "
                code { "sha256sum -c digests.txt" } " takes them." }
            (signature(edition))
            @if !edition.superseded.is_empty() {
                h3 { "Superseded editions" }
                ul {
                    @for known in &edition.superseded {
                        li { code class="long" { (known.digest) } " until "
                             time datetime=(known.until) { (known.until) } ", by " (known.by) }
                    }
                }
            }
            p class="made" { "Written by groundrule " (env!("CARGO_PKG_VERSION")) "." }
        }
    }
}

fn signature(edition: &Edition) -> Markup {
    html! {
        @match &edition.signed {
            None => p { "This edition is unsigned: compare the digest with the one in the minutes." },
            Some(signed) => {
                p { "Signed by " strong { (signed.principal) } " with the key "
                    code class="long" { (signed.key) } " (" a href="ruleset.sig" { code { "ruleset.sig" } }
                    "). Without this program it is verified by" }
                pre { "ssh-keygen -Y verify -f signers -I " (signed.principal) " -n groundrule -s ruleset.sig < ruleset" }
            }
        }
        @if !edition.signers.is_empty() {
            h3 { "Who signs for this place" }
            p { "The list itself is " a href="signers" { code { "signers" } } "." }
            ul {
                @for signer in &edition.signers {
                    li { (signer.principal) ", " code class="long" { (signer.key) } ", " (signer.period) }
                }
            }
        }
    }
}
