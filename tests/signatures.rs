//! Signatures of rulesets, in the form of OpenSSH (PROTOCOL.sshsig): those that stock `ssh-keygen`
//! made are taken, and whatever is wrong with one is told.
//!
//! `tests/reference/signatures.sh` holds the other way: stock `ssh-keygen` takes what we sign.

use groundrule::library::{Problem, embedded};
use groundrule::quantity::{Rational, date};
use groundrule::report::mistakes;
use groundrule::ruleset::{
    NAMESPACE, SignatureError, Signer, fingerprint, sign, signers, text_around, verify,
};
use groundrule::source::Sources;
use ssh_key::{PrivateKey, SshSig};

/// What `ssh-keygen` signed.
const SIGNED: &str = include_str!("ruleset/signed.txt");
const LIST: &str = include_str!("ruleset/signers");
const ED25519: &str = include_str!("ruleset/signed_ed25519.sig");
/// `ssh-keygen -lf tests/ruleset/clerk_ed25519`
const CLERK: &str = "SHA256:AJzPiTukRjvdm0IlhVfsi5bQRWNZxSEObY/C/q1X4nU";

fn listed(text: &str) -> Result<Vec<Signer>, String> {
    let mut sources = Sources::default();
    let id = sources.add("signers", text);
    signers(&sources, id).map_err(|errors| {
        let problems = errors.into_iter().map(Problem::from).collect();
        let shown = mistakes::render(&sources, problems, false, 80);
        let lines: Vec<&str> = shown.lines().map(str::trim_end).collect();
        lines.join("\n").trim_end().to_owned()
    })
}

fn list() -> Vec<Signer> {
    listed(LIST).expect("a list of signers")
}

fn on(date: &str) -> Rational {
    date::parse(date).expect("a date")
}

fn verified(text: &str, signature: &str, on_date: &str) -> Result<String, SignatureError> {
    let list = list();
    verify(text, signature, &list, on(on_date)).map(|signer| signer.principal.clone())
}

fn key(name: &str) -> PrivateKey {
    let text = match name {
        "ed25519" => include_str!("ruleset/clerk_ed25519"),
        "ecdsa" => include_str!("ruleset/clerk_ecdsa"),
        "rsa" => include_str!("ruleset/clerk_rsa"),
        "locked" => include_str!("ruleset/clerk_locked"),
        other => panic!("no key {other}"),
    };
    PrivateKey::from_openssh(text).expect("a private key")
}

#[test]
fn what_ssh_keygen_signed_is_taken() {
    for signature in [
        ED25519,
        include_str!("ruleset/signed_ecdsa.sig"),
        include_str!("ruleset/signed_rsa.sig"),
        include_str!("ruleset/signed_sha256.sig"),
    ] {
        assert_eq!(
            verified(SIGNED, signature, "2026-11-26"),
            Ok("clerk@velder-mills.example".to_owned())
        );
    }
}

#[test]
fn a_fingerprint_is_that_of_ssh_keygen() {
    assert_eq!(fingerprint(&list()[0].key), CLERK);
}

#[test]
fn what_is_signed_is_taken_whatever_kind_the_key_is_of() {
    for name in ["ed25519", "ecdsa", "rsa"] {
        let signature = sign(&key(name), "a ruleset").expect("a signature");
        assert!(signature.starts_with("-----BEGIN SSH SIGNATURE-----\n"));
        assert!(
            verified("a ruleset", &signature, "2026-11-26").is_ok(),
            "{name}"
        );
        let read = SshSig::from_pem(&signature).expect("a signature");
        assert_eq!(read.namespace(), "groundrule");
        assert_eq!(read.hash_alg(), ssh_key::HashAlg::Sha512);
        let public = key(name).public_key().clone();
        assert!(
            public.verify(NAMESPACE, b"a ruleset", &read).is_ok(),
            "{name}"
        );
    }
}

#[test]
fn the_same_key_signs_the_same_text_alike() {
    for name in ["ed25519", "rsa"] {
        let signed = || sign(&key(name), "a ruleset").expect("a signature");
        assert_eq!(signed(), signed(), "{name}");
    }
}

#[test]
fn a_locked_key_opens_with_its_passphrase_alone() {
    let locked = key("locked");
    assert!(locked.is_encrypted());
    assert!(locked.decrypt("mill race").is_ok());
    assert!(locked.decrypt("mill pond").is_err());
}

#[test]
fn a_text_that_was_changed_is_refused() {
    let wrong = Err(SignatureError::Wrong {
        principal: "clerk@velder-mills.example".to_owned(),
    });
    let changed = [
        SIGNED.replace("invented", "real"),
        SIGNED.trim_end().to_owned(),
        format!("{SIGNED}\n"),
        String::new(),
    ];
    for text in changed {
        assert_eq!(verified(&text, ED25519, "2026-11-26"), wrong, "{text}");
    }
}

#[test]
fn a_signature_for_something_else_is_refused() {
    let other = include_str!("ruleset/signed_other.sig");
    let found = "file".to_owned();
    assert_eq!(
        verified(SIGNED, other, "2026-11-26"),
        Err(SignatureError::Namespace { found })
    );
}

#[test]
fn a_key_that_nobody_listed_is_refused() {
    let stranger = include_str!("ruleset/signed_stranger.sig");
    let told = verified(SIGNED, stranger, "2026-11-26");
    assert!(
        matches!(told, Err(SignatureError::UnknownKey { .. })),
        "{told:?}"
    );
    let nobody = verify(SIGNED, ED25519, &[], on("2026-11-26")).map(|_| ());
    let key = CLERK.to_owned();
    assert_eq!(nobody, Err(SignatureError::UnknownKey { key }));
}

#[test]
fn a_key_signs_from_its_first_day_until_the_day_before_its_last_date() {
    for (date, signs) in [
        ("2024-12-31", false),
        ("2025-01-01", true),
        ("2034-12-31", true),
        ("2035-01-01", false),
    ] {
        let told = verified(SIGNED, ED25519, date);
        assert_eq!(told.is_ok(), signs, "{date}: {told:?}");
        if let Err(error) = told {
            assert_eq!(
                error,
                SignatureError::NotValidThen {
                    key: CLERK.to_owned(),
                    principal: "clerk@velder-mills.example".to_owned(),
                    period: "from 2025-01-01 until 2035-01-01".to_owned(),
                    on: date.to_owned(),
                }
            );
        }
    }
}

#[test]
fn of_a_keys_lines_the_one_that_holds_counts() {
    let line = LIST.lines().nth(1).expect("the clerk's line");
    let ended = line.replace("20350101Z", "20260101");
    let again = line.replace("20250101", "20260601");
    let list = listed(&format!("{ended}\n{again}\n")).expect("a list");
    for (date, signs) in [
        ("2025-06-01", true),
        ("2026-03-01", false),
        ("2026-06-01", true),
    ] {
        let told = verify(SIGNED, ED25519, &list, on(date));
        assert_eq!(told.is_ok(), signs, "{date}");
    }
}

#[test]
fn a_key_that_is_listed_for_other_things_signs_no_ruleset() {
    let list = listed(&LIST.replace("groundrule,file", "git,file")).expect("a list");
    let told = verify(SIGNED, ED25519, &list, on("2026-11-26")).map(|_| ());
    assert!(
        matches!(told, Err(SignatureError::NotForRulesets { .. })),
        "{told:?}"
    );
}

#[test]
fn what_is_no_signature_is_refused() {
    for text in [
        "",
        "signed, the clerk",
        "-----BEGIN SSH SIGNATURE-----\nAAAA\n-----END SSH SIGNATURE-----\n",
        &ED25519[..120],
    ] {
        let told = verified(SIGNED, text, "2026-11-26");
        assert!(matches!(told, Err(SignatureError::Form { .. })), "{told:?}");
    }
}

#[test]
fn no_byte_of_a_signature_can_be_changed() {
    let at = ED25519.find("U1NIU0lH").expect("the first line");
    for place in at..ED25519.len() - 32 {
        let mut bytes = ED25519.as_bytes().to_vec();
        bytes[place] = match bytes[place] {
            b'\n' => continue,
            b'A' => b'B',
            _ => b'A',
        };
        let text = String::from_utf8(bytes).expect("plain letters");
        let told = verified(SIGNED, &text, "2026-11-26");
        assert!(told.is_err(), "byte {place}");
    }
}

#[test]
fn a_list_is_read_as_openssh_reads_it() {
    let key = LIST
        .lines()
        .nth(1)
        .and_then(|line| line.split_once(" ssh-ed25519 "))
        .map(|(_, rest)| format!("ssh-ed25519 {rest}"))
        .expect("the clerk's key");
    let text = format!(
        "# a comment\n\n\t*@town.example,!bad@town.example {key}\n\"the clerk\" namespaces=\"a,groundrule\",valid-after=202601011230 {key}\n"
    );
    let list = listed(&text).expect("a list");
    assert_eq!(list[0].principal, "*@town.example,!bad@town.example");
    assert!(list[0].signs("anything"));
    assert_eq!(list[1].principal, "the clerk");
    assert!(list[1].signs(NAMESPACE) && !list[1].signs("file"));
    assert!(!list[1].is_valid_on(on("2026-01-01")) && list[1].is_valid_on(on("2026-01-02")));
}

#[test]
fn a_line_that_names_no_signer_is_told_where_it_stands() {
    let key = "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAIBpLo7RMRlfb0dDrnWNSoGd7adlt+d02KaFKhHg2g+aX";
    let lines = [
        "clerk".to_owned(),
        "clerk ssh-ed25519 notakey".to_owned(),
        format!("clerk cert-authority {key}"),
        format!("clerk no-touch-required {key}"),
        format!("clerk valid-after=\"2026-01-01\" {key}"),
        format!("clerk valid-before=\"20261301\" {key}"),
        format!("clerk valid-before=\"202612312560\" {key}"),
        format!("\"\" {key}"),
        format!("cl\u{202E}erk {key}"),
    ];
    let told = listed(&lines.join("\n")).expect_err("nothing but mistakes");
    assert_eq!(
        told.matches("ruleset::signers").count(),
        lines.len(),
        "{told}"
    );
    insta::assert_snapshot!("signers", told);
}

#[test]
fn the_shipped_town_has_signers() {
    let texts = embedded();
    let place = "aldmoor/sarnfell/velder_mills";
    let (of, text) = text_around(place, "signers", &texts).expect("a list of signers");
    assert_eq!(of, place);
    let list = listed(text).expect("a list without mistakes");
    assert_eq!(fingerprint(&list[0].key), CLERK);
}
