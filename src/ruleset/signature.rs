//! Signatures over a ruleset file, in the form that `ssh-keygen -Y sign` and `-Y verify` speak
//! (OpenSSH, PROTOCOL.sshsig), by the SSH keys that people have.

use miette::Diagnostic;
use rsa::pkcs1v15::SigningKey;
use rsa::sha2::Sha512;
use rsa::signature::{SignatureEncoding, Signer as _};
use rsa::{BigUint, RsaPrivateKey};
use ssh_key::private::{KeypairData, RsaKeypair};
use ssh_key::{Algorithm, HashAlg, LineEnding, Mpint, PrivateKey, PublicKey, Signature, SshSig};
use thiserror::Error;

use super::signers::Signer;
use crate::quantity::{Rational, date};

/// What the signatures are for.
pub const NAMESPACE: &str = "groundrule";

/// Why a signature, or a key to sign with, is not taken.
#[derive(Debug, Clone, PartialEq, Eq, Error, Diagnostic)]
pub enum SignatureError {
    /// A file that holds no signature
    #[error("this is not an SSH signature ({reason})")]
    #[diagnostic(
        code(signature::form),
        help(
            "fetch the ruleset and its signature again; without the signature the ruleset is taken as unsigned"
        )
    )]
    Form {
        /// What the reader said.
        reason: String,
    },
    /// A signature over something else
    #[error("the signature is for `{found}`, not for `{NAMESPACE}`")]
    #[diagnostic(
        code(signature::namespace),
        help(
            "rulesets are signed with `groundrule publish … --key FILE`, or `ssh-keygen -Y sign -n {NAMESPACE} -f KEY ruleset`"
        )
    )]
    Namespace {
        /// What it is for.
        found: String,
    },
    /// A key of nobody in the list
    #[error("the signature is by the key {key}, which is not in the list of signers of this place")]
    #[diagnostic(
        code(signature::unknown_key),
        help(
            "don't use this ruleset before the municipality has told you that the key is its own; a list of signers with it is named with `--signers FILE`"
        )
    )]
    UnknownKey {
        /// The fingerprint.
        key: String,
    },
    /// A key for other things
    #[error("the key {key} of {principal} is not listed as one that signs rulesets")]
    #[diagnostic(
        code(signature::not_for_rulesets),
        help("its line in the list of signers allows other namespaces than `{NAMESPACE}`")
    )]
    NotForRulesets {
        /// The fingerprint.
        key: String,
        /// Whose.
        principal: String,
    },
    /// A key of another time
    #[error("the key {key} of {principal} signs {period}, and that is not so on {on}")]
    #[diagnostic(
        code(signature::not_valid_then),
        help(
            "take the municipality's latest edition; for one that was signed while the key was valid, name a date of that time with `--valid-on DATE`"
        )
    )]
    NotValidThen {
        /// The fingerprint.
        key: String,
        /// Whose.
        principal: String,
        /// When it signs.
        period: String,
        /// The date that was looked at.
        on: String,
    },
    /// A text that was changed after it was signed
    #[error("the signature by {principal} does not fit this ruleset: one of the two was changed")]
    #[diagnostic(
        code(signature::wrong),
        help("don't use it: fetch the ruleset and its signature again from the municipality")
    )]
    Wrong {
        /// Who would have signed.
        principal: String,
    },
    /// A private key in another form, or the public half of one
    #[error("this is not a private key in OpenSSH's form ({reason})")]
    #[diagnostic(
        code(signature::key),
        help(
            "name the private key, the file without `.pub`; an older form is rewritten by `ssh-keygen -p -f KEY`; a key on a token or in an agent signs the published file by `ssh-keygen -Y sign -n {NAMESPACE} -f KEY ruleset`"
        )
    )]
    Key {
        /// What the reader said.
        reason: String,
    },
    /// A key that this program can't sign with
    #[error("this program can't sign with a key of the kind {kind}")]
    #[diagnostic(
        code(signature::kind),
        help(
            "publish without `--key`, then sign the published file by `ssh-keygen -Y sign -n {NAMESPACE} -f KEY ruleset`, and publish once more"
        )
    )]
    Kind {
        /// Its kind.
        kind: String,
    },
}

/// The fingerprint of a key, as `ssh-keygen -l` prints it.
pub fn fingerprint(key: &PublicKey) -> String {
    key.fingerprint(HashAlg::Sha256).to_string()
}

/// Signs a ruleset file; the key is already decrypted.
///
/// # Errors
///
/// A key that signs only elsewhere, on a token for instance.
pub fn sign(key: &PrivateKey, text: &str) -> Result<String, SignatureError> {
    let kind = |_| SignatureError::Kind {
        kind: key.algorithm().to_string(),
    };
    let signature = match key.key_data() {
        KeypairData::Rsa(pair) => signed_with_rsa(key, pair, text.as_bytes()),
        _ => key.sign(NAMESPACE, HashAlg::Sha512, text.as_bytes()),
    };
    signature
        .and_then(|signature| signature.to_pem(LineEnding::LF))
        .map_err(kind)
}

/// What [`PrivateKey::sign`] does, with both primes of the key.
fn signed_with_rsa(key: &PrivateKey, pair: &RsaKeypair, text: &[u8]) -> ssh_key::Result<SshSig> {
    let number = |written: &Mpint| {
        let bytes = written.as_positive_bytes().ok_or(ssh_key::Error::Crypto)?;
        Ok::<_, ssh_key::Error>(BigUint::from_bytes_be(bytes))
    };
    let primes = vec![number(&pair.private.p)?, number(&pair.private.q)?];
    let (n, e, d) = (&pair.public.n, &pair.public.e, &pair.private.d);
    let private = RsaPrivateKey::from_components(number(n)?, number(e)?, number(d)?, primes)
        .map_err(|_| ssh_key::Error::Crypto)?;
    let signed = SshSig::signed_data(NAMESPACE, HashAlg::Sha512, text)?;
    let signature = SigningKey::<Sha512>::new(private)
        .try_sign(&signed)
        .map_err(|_| ssh_key::Error::Crypto)?;
    let hash = Some(HashAlg::Sha512);
    let signature = Signature::new(Algorithm::Rsa { hash }, signature.to_vec())?;
    let public = key.public_key().key_data().clone();
    SshSig::new(public, NAMESPACE, HashAlg::Sha512, signature)
}

/// Who of some signers signed a ruleset file, if one who may did so, and does so on a date.
///
/// # Errors
///
/// A signature that is not there, not for rulesets, not by a signer, or not over this text.
pub fn verify<'a>(
    text: &str,
    signature: &str,
    signers: &'a [Signer],
    on: Rational,
) -> Result<&'a Signer, SignatureError> {
    let signature = parse(signature)?;
    if signature.namespace() != NAMESPACE {
        return Err(SignatureError::Namespace {
            found: signature.namespace().escape_debug().to_string(),
        });
    }
    let key = PublicKey::from(signature.public_key().clone());
    let known: Vec<&Signer> = signers
        .iter()
        .filter(|signer| signer.key.key_data() == key.key_data())
        .collect();
    let signer = chosen(&known, &key, on)?;
    let fits = !is_outdated(&signature.algorithm())
        && signer
            .key
            .verify(NAMESPACE, text.as_bytes(), &signature)
            .is_ok();
    if fits {
        Ok(signer)
    } else {
        Err(SignatureError::Wrong {
            principal: signer.principal.clone(),
        })
    }
}

/// A signature that is written in the one way there is, line breaks apart.
fn parse(text: &str) -> Result<SshSig, SignatureError> {
    let refused = |reason: String| SignatureError::Form { reason };
    let signature = SshSig::from_pem(text).map_err(|error| refused(error.to_string()))?;
    if signature.version() != SshSig::VERSION {
        return Err(refused(format!("of version {}", signature.version())));
    }
    let again = signature
        .to_pem(LineEnding::LF)
        .map_err(|error| refused(error.to_string()))?;
    let plain = |text: &str| text.split_whitespace().collect::<String>();
    if plain(&again) == plain(text) {
        Ok(signature)
    } else {
        Err(refused("it holds more than a signature".to_owned()))
    }
}

/// Of the lines that list a key, the one by which it signs rulesets on a date.
fn chosen<'a>(
    known: &[&'a Signer],
    key: &PublicKey,
    on: Rational,
) -> Result<&'a Signer, SignatureError> {
    let key = fingerprint(key);
    let Some(first) = known.first() else {
        return Err(SignatureError::UnknownKey { key });
    };
    let for_rulesets: Vec<&&Signer> = known
        .iter()
        .filter(|signer| signer.signs(NAMESPACE))
        .collect();
    let Some(listed) = for_rulesets.first() else {
        return Err(SignatureError::NotForRulesets {
            key,
            principal: first.principal.clone(),
        });
    };
    let valid = for_rulesets.iter().find(|signer| signer.is_valid_on(on));
    valid
        .map(|signer| **signer)
        .ok_or_else(|| SignatureError::NotValidThen {
            key,
            principal: listed.principal.clone(),
            period: listed.period(),
            on: date::show(on),
        })
}

/// RSA over SHA-1, which OpenSSH doesn't take for signatures over files either.
fn is_outdated(algorithm: &Algorithm) -> bool {
    matches!(algorithm, Algorithm::Rsa { hash: None })
}
