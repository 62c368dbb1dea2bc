//! Sign-offs: small files beside the record, each with the digest of its list, a person, a role and a meaning; with a key
//! of the shop also a detached Ed25519 signature (RFC 8032) of the file's bytes.

use super::{Files, MANIFEST, RecordError};
use crate::source::sha256;
use ed25519_dalek::pkcs8::{DecodePrivateKey, DecodePublicKey};
use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};
use serde::{Deserialize, Serialize};

/// How names of sign-offs begin.
const START: &str = "signoff-";
/// How they end.
const ENDING: &str = ".toml";

/// One sign-off.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SignOff {
    /// SHA-256 of the record's list.
    pub manifest_sha256: String,
    /// Who signs.
    pub name: String,
    /// In which role.
    pub role: String,
    /// What the signature means, such as `reviewed` or `approved for the first article`.
    pub meaning: String,
    /// The day, YYYY-MM-DD.
    pub date: String,
}

/// What a sign-off is worth.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SignOffState {
    /// It signs this record; nobody asked for a key.
    Stands,
    /// It signs this record, and its signature is by a key given.
    Signed,
    /// It has a signature that no key was given for.
    NotChecked,
    /// It does not hold, with the reason.
    Broken(String),
}

/// Public keys that sign-offs may be signed with.
#[derive(Clone, Debug, Default)]
pub struct Keys(Vec<VerifyingKey>);

impl Keys {
    /// Adds a public key, PEM of a `SubjectPublicKeyInfo` (RFC 8410).
    ///
    /// # Errors
    /// When the text holds no such key.
    pub fn add(&mut self, pem: &str) -> Result<(), RecordError> {
        let key = VerifyingKey::from_public_key_pem(pem);
        let key = key.map_err(|error| RecordError::Key(format!("no public Ed25519 key as PEM ({error})")))?;
        self.0.push(key);
        Ok(())
    }

    fn verify(&self, bytes: &[u8], signature: &Signature) -> bool {
        self.0.iter().any(|key| key.verify_strict(bytes, signature).is_ok())
    }
}

impl SignOff {
    /// The file.
    #[must_use]
    pub fn bytes(&self) -> Vec<u8> {
        // Five strings cannot fail to serialise.
        toml::to_string(self).unwrap_or_default().into_bytes()
    }

    /// A name for the file that is not `taken`: by role, and by number where one role signs more than once.
    #[must_use]
    pub fn file_name(&self, taken: impl Fn(&str) -> bool) -> String {
        let letter = |c: char| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' };
        let role: String = self.role.chars().map(letter).collect();
        let names = (1..).map(|number: u64| match number {
            1 => format!("{START}{role}{ENDING}"),
            more => format!("{START}{role}-{more}{ENDING}"),
        });
        names.into_iter().find(|name| !taken(name)).unwrap_or_default()
    }
}

/// The name of a sign-off's signature.
#[must_use]
pub fn signature_name(sign_off: &str) -> String {
    format!("{sign_off}.sig")
}

/// Whether a file of a record's folder is a sign-off or the signature of one.
#[must_use]
pub fn is_sign_off(path: &str, files: &Files) -> bool {
    let named = |path: &str| path.starts_with(START) && path.ends_with(ENDING) && !path.contains('/');
    let signed = |path: &str| path.strip_suffix(".sig").is_some_and(|of| named(of) && files.contains_key(of));
    named(path) || signed(path)
}

/// The signature of `bytes` by a private key, PEM of PKCS #8 (RFC 8410): its 64 bytes as they are.
///
/// # Errors
/// When the text holds no such key.
pub fn signed_with(pem: &str, bytes: &[u8]) -> Result<Vec<u8>, RecordError> {
    let key = SigningKey::from_pkcs8_pem(pem);
    let key = key.map_err(|error| RecordError::Key(format!("no private Ed25519 key as PEM of PKCS #8 ({error})")))?;
    Ok(key.sign(bytes).to_bytes().to_vec())
}

/// Every sign-off of a record by file name, with what it says where it can be read, and what it is worth. Where keys are
/// given, each has to be signed with one of them.
#[must_use]
pub fn sign_offs<'a>(files: &'a Files, keys: &Keys) -> Vec<(&'a str, Option<SignOff>, SignOffState)> {
    let manifest = files.get(MANIFEST).map(|bytes| sha256(bytes)).unwrap_or_default();
    let all = files.iter().filter(|(path, _)| path.ends_with(ENDING) && is_sign_off(path, files));
    all.map(|(path, bytes)| match read(bytes) {
        Ok(sign_off) if sign_off.manifest_sha256 != manifest => {
            let why = format!("it signs another list than this {MANIFEST}");
            (path.as_str(), Some(sign_off), SignOffState::Broken(why))
        }
        Ok(sign_off) => {
            let signature = files.get(&signature_name(path)).map(Vec::as_slice);
            (path.as_str(), Some(sign_off), state(bytes, signature, keys))
        }
        Err(why) => (path.as_str(), None, SignOffState::Broken(why)),
    })
    .collect()
}

fn read(bytes: &[u8]) -> Result<SignOff, String> {
    let text = std::str::from_utf8(bytes).map_err(|_| "it is no text".to_owned())?;
    toml::from_str(text).map_err(|error| format!("it is no sign-off: {}", error.message()))
}

fn state(bytes: &[u8], signature: Option<&[u8]>, keys: &Keys) -> SignOffState {
    let broken = |why: &str| SignOffState::Broken(why.to_owned());
    match signature {
        None if keys.0.is_empty() => SignOffState::Stands,
        None => broken("it has no signature"),
        Some(_) if keys.0.is_empty() => SignOffState::NotChecked,
        Some(signature) => match Signature::from_slice(signature) {
            Ok(signature) if keys.verify(bytes, &signature) => SignOffState::Signed,
            Ok(_) => broken("its signature is by none of the keys given, or it was changed after it was signed"),
            Err(_) => broken("its signature is not one of Ed25519"),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sign_off() -> SignOff {
        SignOff {
            manifest_sha256: sha256(b"list"),
            name: "A \"quoted\" name".to_owned(),
            role: "Process engineer".to_owned(),
            meaning: "approved".to_owned(),
            date: "2026-11-29".to_owned(),
        }
    }

    #[test]
    fn each_role_has_a_name_of_its_own_and_none_is_used_twice() {
        assert_eq!(sign_off().file_name(|_| false), "signoff-process-engineer.toml");
        assert_eq!(sign_off().file_name(|name| !name.contains('3')), "signoff-process-engineer-3.toml");
    }

    #[test]
    fn a_sign_off_holds_for_its_own_list_alone() {
        let mut files = Files::from([(MANIFEST.to_owned(), b"list".to_vec())]);
        files.insert("signoff-a.toml".to_owned(), sign_off().bytes());
        files.insert("signoff-b.toml".to_owned(), b"name = 1".to_vec());
        let states = |files: &Files| -> Vec<SignOffState> {
            sign_offs(files, &Keys::default()).into_iter().map(|(_, _, state)| state).collect()
        };
        assert_eq!(states(&files)[0], SignOffState::Stands);
        assert!(matches!(&states(&files)[1], SignOffState::Broken(why) if why.starts_with("it is no sign-off")));
        files.insert(MANIFEST.to_owned(), b"another".to_vec());
        assert!(matches!(&states(&files)[0], SignOffState::Broken(why) if why.contains("another list")));
    }
}
